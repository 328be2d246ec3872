// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Exact times of an account's sounds.
#ifndef GN_SEGMENT_TIMING_H
#define GN_SEGMENT_TIMING_H

#include "segment/candidate.h"
#include "segment/onset.h"

/// Times of every beat's first and second sound; first and second have room for c->n_beats each. -1 when memory is refused.
int gn_timing_refine(const gn_hearing *h, const gn_candidate *c, gn_sound_times *first, gn_sound_times *second);

#endif
