// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A recording's sound, block by block: what girthline_analysis_push takes, for a caller that draws or plays it meanwhile.
#ifndef GIRTHLINE_READER_H
#define GIRTHLINE_READER_H

#include <stddef.h>

#include <girthline/api.h>
#include <girthline/result.h>
#include <girthline/status.h>

GIRTHLINE_API_BEGIN

typedef struct girthline_reader girthline_reader;

/// Open a file for one channel (1 = the first), or choose the one that carries the heart in its first minute (0): one channel, never a mix. On GIRTHLINE_OK
/// *out is owned by the caller. Errors: CANNOT_READ, NOT_AUDIO, LIMIT, NO_MEMORY; BAD_ARGUMENT: the recording has no such channel.
girthline_status girthline_reader_open_file(const char *path, int channel, girthline_reader **out, girthline_error *error);

/// The same for a whole audio file held in memory; name is used in messages (NULL: "recording"). data must outlive the reader.
girthline_status girthline_reader_open_memory(const void *data, size_t n_bytes, const char *name, int channel, girthline_reader **out, girthline_error *error);

/// Duration by the header, rate, channels, the channel taken, coding in words. Never NULL; lives as long as the reader.
const girthline_recording *girthline_reader_recording(const girthline_reader *reader);

/// The next n samples of that channel, full scale 1; *got < n only at the end. One that is not finite is given as 0.
girthline_status girthline_reader_read(girthline_reader *reader, float *samples, size_t n, size_t *got, girthline_error *error);

/// Go to a sample (0 = the first; beyond the end: the end). Works on every form: what cannot seek is read again from the start.
girthline_status girthline_reader_seek(girthline_reader *reader, size_t sample, girthline_error *error);

void girthline_reader_free(girthline_reader *reader); ///< accepts NULL

GIRTHLINE_API_END
#endif
