// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Exact times of an account's sounds.
#ifndef GN_SEGMENT_TIMING_H
#define GN_SEGMENT_TIMING_H

#include "segment/candidate.h"
#include "segment/onset.h"

/// c->times, found where they are not known yet: of every beat's first sound, and behind those of every second. -1 when memory is refused.
int gn_timing_find(const gn_hearing *h, gn_candidate *c);

/// *uneven: how far from the middle of the interval the second sounds lie, of the interval, mean of the usual intervals less the standard errors that
/// chance may reach (four, a choice): 0 or less where they may lie midway, as of knocks in even steps; NaN of few. -1 when memory is refused.
int gn_timing_uneven(const gn_hearing *h, gn_candidate *c, double *uneven);

#endif
