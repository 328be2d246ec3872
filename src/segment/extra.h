// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Sounds besides S1 and S2: S3, S4, splits, clicks, and atrial sounds that stand alone in a pause.
#ifndef GN_SEGMENT_EXTRA_H
#define GN_SEGMENT_EXTRA_H

#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "segment/peaks.h"

typedef struct gn_extra gn_extra;

/// limits is copied; profile is kept.
gn_extra *gn_extra_new(const girthline_extra_limits *limits, const girthline_profile *profile);
void gn_extra_free(gn_extra *x); ///< accepts NULL

/// Collect from the beats of a window whose S1 lies in [from_s, to_s); beats holds their neighbours too. spoilt: spans that hide
/// the heart, time order.
girthline_status gn_extra_collect(gn_extra *x, const gn_peaks *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats,
                                  const girthline_span *spoilt, size_t n_spoilt);

/// Fill result->extras; *lone_s (owned by x): onsets of low sounds like S4 that no beat follows within 0.4 s.
girthline_status gn_extra_finish(gn_extra *x, girthline_result *result, const double **lone_s, size_t *n_lone);

/// Once the murmurs are known: an S3 or S4 within a murmur in the middle of diastole is taken out of result->extras, for it is part of that.
girthline_status gn_extra_leave_murmurs(girthline_result *result);

#endif
