// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Beats -> intervals -> rate, variability, pattern.
#ifndef GN_RHYTHM_RHYTHM_H
#define GN_RHYTHM_RHYTHM_H

#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

/// Fill result->rate and result->rhythm from result->beats, result->quality.problems (handling, dropout and clipping
/// hide beats: no interval bridges one), result->extras, result->recording, result->settings and result->limits. lone_s: onsets of
/// sounds like S4 that stand alone, time order; one near to where a dropped beat's S4 belongs is told as the atria's.
/// onset_jitter_ms: what the onset finding alone adds to an interval's SD; NaN if unknown.
/// An explanation that stands there already is kept where no pattern can be given: it knows why there are no beats.
/// Every null gets its reason. Fails only when memory is refused.
girthline_status gn_rhythm_run(girthline_result *result, const double *lone_s, size_t n_lone, double onset_jitter_ms);

#endif
