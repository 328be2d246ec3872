// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// From frames to milliseconds: every sound aligned with the recording's own average sound.
#ifndef GN_SEGMENT_ONSET_H
#define GN_SEGMENT_ONSET_H

#include "base/features.h"
#include "segment/model.h"

/// Times of one kind of sound in a window, seconds after the window's first frame. NaN where it could not be measured.
typedef struct gn_sound_times { double onset_s, peak_s, offset_s, agreement; } gn_sound_times;

/// Refine n sounds whose onsets are near frame[i] (LONG_MIN: absent). agreement: correlation with the average sound, -1..1. Fails (-1) only when
/// memory is refused.
int gn_onset_refine(const gn_features *f, const long *frame, size_t n, double sound_len_s, gn_sound_times *out);

#endif
