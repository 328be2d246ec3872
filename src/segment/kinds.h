// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Are the sounds that were taken for S1 and for S2 of two kinds, and each kind the same from beat to beat?
///
/// Each S1 of a clear heart is more like another S1 than like any S2. Where knocks sound like a heart, beats are made of one of its sounds and a
/// knock, or of two knocks, and both names have every kind of sound. And a valve closes much as it did a beat before, where a burst of noise never
/// comes twice.
#ifndef GN_SEGMENT_KINDS_H
#define GN_SEGMENT_KINDS_H

#include "segment/candidate.h"

typedef struct gn_kinds {
  double mixed_share; ///< of the sounds, those most like one that has the other name; 0 of few
  double likeness;    ///< how far a sound agrees with the one most like it, mean: -1 to 1
  double otherwise;   ///< 1 less how far one agrees with the next of its name, or the next but one, in the middle: that of S1 or S2, the lower; 0 of few
} gn_kinds;

/// Hold the account's sounds against each other as waveforms. At most 160 of them, spread over the window. mixed: measure the first two as well as the last. -1 when
/// memory is refused.
int gn_kinds_measure(const gn_hearing *h, gn_candidate *c, bool mixed, gn_kinds *out);

#endif
