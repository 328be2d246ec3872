// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The opened recording, shared by the files of this folder only.
#ifndef GN_AUDIO_INTERNAL_H
#define GN_AUDIO_INTERNAL_H

#include <sndfile.h>
#include <stdbool.h>

#include "audio/audio.h"
#include "audio/source.h"

enum { GN_AUDIO_BLOCK = 4096, GN_AUDIO_SHOWN = 400 }; ///< frames read at a time; room for a shown name

/// Some float files count in whole numbers of up to 32 bits (2.1e9). What lies beyond is damage, and its square would not fit a float.
#define GN_AUDIO_SAMPLE_MOST 1e10f

struct gn_audio {
  gn_source source;
  SNDFILE *file;
  SF_INFO info;
  girthline_recording recording;
  char shown[GN_AUDIO_SHOWN];
  short whole[16384];    ///< of 16 bits: read ahead
  size_t whole_at, n_whole; ///< of them: the next one, and all
  float *block;          ///< GN_AUDIO_BLOCK frames of all channels
  size_t channel;        ///< from 0
  size_t at, end;        ///< next frame; frames by the header (SIZE_MAX: not known)
  int64_t mpeg_most_n;   ///< the most samples that the frames can hold (gn_mpeg_mend)
  bool whole_numbers;    ///< integer coding: no sample can be NaN
  bool rereads;          ///< seeking is by reading again from the start
};

/// Read up to n frames, all channels, as they lie in the file; fewer only at the end.
size_t gn_audio_read_frames(gn_audio *audio, float *frames, size_t n);

#endif
