// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Where a sound emerges from a murmur that runs into it: a heart sound repeats its waveform from beat to beat, a murmur is noise.
#ifndef GN_SEGMENT_EMERGE_H
#define GN_SEGMENT_EMERGE_H

#include <stddef.h>

#include "base/signal.h"

enum { GN_EMERGE_MOST_N = 48 }; ///< sounds

/// How much later than at their onsets sounds of one kind begin to repeat, seconds, where what lies there ahead of that is as strong and does not; 0
/// where it is not so, or cannot be told. n: at most GN_EMERGE_MOST_N onsets; NaN: none. next_s: from an onset to the next sound of the other
/// kind, usually; NaN where that is not known: far enough. -1 when memory is refused.
int gn_emerge_find(const gn_signal *window, const double *onset_s, size_t n, double next_s, double *late_s);

#endif
