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

#endif
