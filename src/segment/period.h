// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Cycle length through time: candidates from the windowed autocorrelation of the levels.
#ifndef GN_SEGMENT_PERIOD_H
#define GN_SEGMENT_PERIOD_H

#include <stddef.h>

#include "base/features.h"

#define GN_PERIOD_STEP 0.02 // logarithmic lag grid: 2 % a step (a choice: finer changes nothing)

/// The lag grid a species is looked for on. Lag j is first_s * exp(j * GN_PERIOD_STEP).
typedef struct gn_lags { double first_s; size_t n; } gn_lags;
gn_lags gn_lags_between(double shortest_s, double longest_s);
double gn_lags_s(const gn_lags *lags, double j); ///< lag at a (fractional) grid place, seconds

/// A path of the cycle length: one grid place a second.
typedef struct gn_period_path { float *place; size_t n; double salience; } gn_period_path;

typedef struct gn_period_settings {
  double window_s;      ///< stretch that is correlated with itself, seconds
  double step_cost;     ///< cost of moving one grid place between seconds, in units of salience
  size_t steps_most;    ///< grid places a second at the most
} gn_period_settings;

/// Up to n_paths paths, the most periodic first, each at least 8 % from the ones before; returns how many (0 when there is
/// no periodicity), -1 when memory is refused. The caller frees each place with gn_free.
int gn_period_find(const gn_features *f, const gn_lags *lags, const gn_period_settings *s, gn_period_path *paths, size_t n_paths);

#endif
