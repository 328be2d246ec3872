// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A recording, opened: any form libsndfile reads, with guards for the damaged ones, as mono blocks of one channel.
#ifndef GN_AUDIO_AUDIO_H
#define GN_AUDIO_AUDIO_H

#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "base/file.h"

#define GN_AUDIO_LOWEST_HZ 1000.0    ///< sample rates that are read: the range promised
#define GN_AUDIO_HIGHEST_HZ 192000.0

typedef struct gn_audio gn_audio;

/// Open a file. Errors: CANNOT_READ (missing, a folder, no permission), NOT_AUDIO (empty, not audio, a form that is not
/// read, impossible header), LIMIT. Every text names the file and the remedy.
girthline_status gn_audio_open_path(const char *path, gn_audio **out, girthline_error *error);

/// The same for a whole file in memory; data must outlive the object.
girthline_status gn_audio_open_memory(const void *data, size_t n_bytes, const char *name, gn_audio **out, girthline_error *error);

void gn_audio_close(gn_audio *audio); ///< accepts NULL

/// From now on somebody sees the file's bytes, each once and in order, those read before too; the rest once gn_audio_show_rest asks for
/// it (CANNOT_READ). Not for a file in memory. taker is the caller's to keep.
void gn_audio_show(gn_audio *audio, const gn_file_taker *taker);
girthline_status gn_audio_show_rest(gn_audio *audio, girthline_error *error);

/// Facts from the header: duration_s by the header (mended where it was wrong; the frames really read decide in the
/// end), rate, channels, encoding in words, recorded_at, repaired. channel_used is 0 until chosen.
const girthline_recording *gn_audio_recording(const gn_audio *audio);

/// Choose the channel whose 30 to 120 Hz envelope beats most clearly over the first minute of a part (one channel, never a mix), from a
/// frame on to another (SIZE_MAX: the end), and go to where it begins. With one channel nothing is read.
girthline_status gn_audio_choose_channel(gn_audio *audio, size_t first, size_t end, girthline_error *error);
void gn_audio_take_channel(gn_audio *audio, int channel); ///< from 1, of those there are: what is read next is its samples

/// Up to n samples of the chosen channel at the recording's own rate; *got < n only at the end. A sample that is not
/// finite, or beyond 1e10, is given as 0; other float samples beyond full scale stay as they are.
girthline_status gn_audio_read(gn_audio *audio, float *samples, size_t n, size_t *got, girthline_error *error);

/// Go to a frame (0 = the first). Works on every form: what cannot seek is read again from the start.
girthline_status gn_audio_seek(gn_audio *audio, size_t frame, girthline_error *error);

const char *gn_audio_name(const gn_audio *audio); ///< as sentences name it: in UTF-8, shortened where it is long

#endif
