// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Are the sounds that were taken for S1 and for S2 of two kinds?
///
/// Each S1 of a clear heart is more like another S1 than like any S2. Where knocks sound like a heart, beats are made of one of its sounds and a
/// knock, or of two knocks, and both names have every kind of sound.
#ifndef GN_SEGMENT_KINDS_H
#define GN_SEGMENT_KINDS_H

#include "segment/candidate.h"

typedef struct gn_kinds {
  double mixed_share; ///< of the sounds, those most like one that has the other name; 0 of few
  double likeness;    ///< how far a sound agrees with the one most like it, mean: -1 to 1
} gn_kinds;

/// Hold the account's sounds against each other as waveforms. At most 160 of them, spread over the window. -1 when memory is refused.
int gn_kinds_measure(const gn_hearing *h, gn_candidate *c, gn_kinds *out);

#endif
