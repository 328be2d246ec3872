// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Beats from sounds given by hand instead of decoded.
#ifndef GN_SEGMENT_GIVEN_H
#define GN_SEGMENT_GIVEN_H

#include <girthline/result.h>
#include <girthline/status.h>

/// Pair each S1 with the S2 that follows it before the next S1; an S2 alone makes a beat without S1. S3 and S4 are kept out of
/// the beats. Only onsets are known: peaks and offsets are NaN. Sets result->beats, sorted by time. Fails only when memory
/// is refused.
girthline_status gn_segment_given(girthline_result *result, const girthline_given_sound *given, size_t n_given);

#endif
