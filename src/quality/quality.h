// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What may be trusted: spoilt spans, background level, hum, breathing; and the grade that follows from them.
#ifndef GN_QUALITY_QUALITY_H
#define GN_QUALITY_QUALITY_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "base/signal.h"

typedef struct gn_quality gn_quality;

/// fs_hz: the recording's own rate; analysis_fs_hz: the rate of the windows.
gn_quality *gn_quality_new(const girthline_profile *profile, double fs_hz, double analysis_fs_hz);
void gn_quality_free(gn_quality *q); ///< accepts NULL

/// Samples at the recording's own rate, in order: finds clipping as flat runs at any level and digital dropouts.
girthline_status gn_quality_push(gn_quality *q, const float *samples, size_t n);

/// Mark what is spoilt in a window of the decimated recording (windows overlap; each starts no earlier than the one
/// before). *problems is owned by q and valid until the next call; it holds clipping and dropouts too; time order.
/// Which kinds hide the heart is told by gn_quality_hides.
girthline_status gn_quality_mark(gn_quality *q, const gn_signal *window, const girthline_problem **problems, size_t *n_problems);
bool gn_quality_hides(girthline_problem_kind kind); ///< handling, dropout, clipping

/// With the beats of a window known (those with S1 in [from_s, to_s)): measure heart against noise.
girthline_status gn_quality_measure(gn_quality *q, const gn_signal *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats);

/// Fill result->quality from all that was seen; result->beats and result->recording are complete.
girthline_status gn_quality_finish(gn_quality *q, girthline_result *result);

#endif
