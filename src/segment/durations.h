// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// How long systole and the interval from S1 to S1 last: tables of log probabilities per frame.
#ifndef GN_SEGMENT_DURATIONS_H
#define GN_SEGMENT_DURATIONS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/species.h>

#include "segment/model.h"
#include "segment/period.h"

#define GN_LONGEST_PERIODS 4.0   ///< an interval past this many local periods is a gap
#define GN_SHORTEST_PERIODS 0.35
#define GN_NEVER (-1e30f)        ///< log probability of what cannot be

/// What the durations hang on in a model.
typedef struct gn_spans_model {
  bool generic, pooled;
  double systole_log_offset, systole_sd, interval_sd, long_share, short_share;
} gn_spans_model;

/// Log probabilities per frame of systole and of the S1-to-S1 interval, for every place of the lag grid.
typedef struct gn_durations {
  gn_lags lags;
  double rate_hz;
  size_t most_interval_n, most_systole_n; ///< table widths, frames
  float *interval;  ///< lags.n rows: log p(interval = r frames)
  float *chance;    ///< lags.n rows: p(interval = r frames)
  float *survival;  ///< lags.n rows: p(interval > r frames)
  float *systole;   ///< lags.n rows: log p(systole = d frames)
  size_t *systole_from_n, *systole_to_n; ///< lags.n: the possible systoles, frames, both ends included
  float *systole_top; ///< lags.n: the most likely one's log p
  double *period_n, *log_period; ///< lags.n: the period in frames, and its logarithm
  double *log_n;    ///< ln r of every r frames up to the longest interval
  unsigned char *filled; ///< lags.n: rows that hold what made_for says
  gn_spans_model made_for;
} gn_durations;

/// Tables for a model and species; -1 when memory is refused. Clear with gn_durations_clear.
int gn_durations_init(gn_durations *d, const gn_lags *lags, double rate_hz, const girthline_profile *profile);
/// Bring the rows from one place of the grid to another up to the model; rows that already are stay.
void gn_durations_fill(gn_durations *d, const gn_model *m, const girthline_profile *profile, double least_place, double most_place);
void gn_durations_clear(gn_durations *d);

/// The probability of an interval of r frames by a model and the local period, frames; 0 of a gap.
double gn_durations_interval_chance(const gn_model *m, double period_n, double r);

/// The expected systole at an interval, seconds (without a recording's own offset).
double gn_systole_expected_s(const girthline_profile *profile, double interval_s);

#endif
