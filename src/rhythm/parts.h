// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the files of this stage share. Nothing outside src/rhythm/ and its tests includes it.
#ifndef GN_RHYTHM_PARTS_H
#define GN_RHYTHM_PARTS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>

#define GN_RHYTHM_NOISY_DB 6.5 ///< heart to noise, under which a beat may be missed or be noise (a choice: see pattern.c)

/// What an interval is, held against the usual interval around it.
typedef enum gn_interval_kind {
  GN_PLAIN = 0, ///< near the usual interval
  GN_PAUSE,     ///< 1.6 times the usual (a limit) or longer
  GN_SHORT,     ///< ends in an early beat
  GN_AFTER,     ///< follows an early beat
  GN_SPLIT      ///< one of two that together make one usual interval: the beat between them is doubtful
} gn_interval_kind;

/// The intervals with used == true, in time order; arrays of n.
typedef struct gn_series {
  const girthline_rhythm_limits *limits;
  size_t n;
  double *start_s, *len_s;
  double *trend;            ///< smooth fall of the rate after the start: expected length over the settled one; 1 without
  double *usual_s;          ///< the usual interval around this one
  double *ratio;            ///< len_s / usual_s
  double *swing;            ///< the interval that the wave gives there, times the usual; 1 without
  bool *linked;             ///< starts where the used interval before it ends
  float *confidence;        ///< the lower of its two beats'
  gn_interval_kind *kind;
  bool alternates;          ///< short and long ones come in turn, as where every second beat is early
} gn_series;

/// Fill result->rhythm.intervals and used_count from the beats. 0, or -1 when memory is refused.
int gn_rhythm_intervals(girthline_result *result);

/// The used intervals as a series. 0, or -1 when memory is refused (then *s is cleared).
int gn_rhythm_series_init(gn_series *s, const girthline_result *result);
void gn_rhythm_series_clear(gn_series *s); ///< accepts NULL

/// true for a span that hides beats.
bool gn_rhythm_hides(const girthline_rhythm_limits *limits, const girthline_problem *problem);

/// A smooth fall of the rate after the start: len(t) = settled_s * (1 - depth * exp(-(t - start) / tau_s)).
typedef struct gn_fall {
  bool found;
  double start_s, settled_s, depth, tau_s;
} gn_fall;

/// Find the fall and fill s->trend.
void gn_rhythm_fall(gn_series *s, gn_fall *fall);
double gn_rhythm_fall_len_s(const gn_fall *fall, double t_s); ///< the curve at a time

/// Fill s->alternates, s->usual_s, s->ratio and s->kind. 0, or -1 when memory is refused.
int gn_rhythm_events(gn_series *s);

/// Fill result->rhythm.pauses from the marked series. 0, or -1 when memory is refused.
int gn_rhythm_list_pauses(girthline_result *result, const gn_series *s, const double *lone_s, size_t n_lone);

/// Take what the wave makes long off result->rhythm.pauses; the pattern is known.
void gn_rhythm_sift_pauses(girthline_result *result, const gn_series *s);

/// Fill result->rhythm.early; the pattern is known. 0, or -1 when memory is refused.
int gn_rhythm_list_early(girthline_result *result, const gn_series *s);

/// Fill result->rate. 0, or -1 when memory is refused.
int gn_rhythm_rate(girthline_result *result, const gn_series *s, const gn_fall *fall);

/// Fill the measures of variability in result->rhythm. onset_jitter_ms: NaN if unknown. 0, or -1.
int gn_rhythm_variability(girthline_result *result, const gn_series *s, double onset_jitter_ms);

/// Sample entropy (Richman and Moorman 2000, Am J Physiol Heart 278:H2039) of x[n], m = 2, tolerance r (Chebyshev,
/// inclusive), n - m templates for both lengths. No template runs over a place where linked[i] is false (linked may be
/// NULL; linked[0] is not read). NaN when no pair matches or n < 4. *refused is set when memory was refused.
double gn_rhythm_sample_entropy(const double *x, const bool *linked, size_t n, double r, bool *refused);

/// A steady wave through the intervals.
typedef struct gn_wave {
  double amplitude;   ///< of the wave, share of the mean interval, root-mean-square over windows times sqrt 2
  double explained;   ///< share of the intervals' variance that the wave explains, 0..1
  double residual;    ///< SD of what it leaves, share of the mean interval
  double evidence;    ///< log-likelihood gained over "no wave", less the price of its parameters
  double period_s;    ///< median over windows
  double kept;        ///< share of intervals that entered
} gn_wave;

/// Fit it and fill s->swing. 0, or -1 when memory is refused.
int gn_rhythm_wave(gn_series *s, gn_wave *wave);

/// How much better a drifting mean with a wave tells the series than intervals that are each drawn for themselves, natural log of the ratio of
/// likelihoods, summed over stretches; 0 for an empty series.
double gn_rhythm_sway_odds(const gn_series *s);

/// How much better a usual interval with single beats out of place tells the series than intervals that are each drawn for
/// themselves: *odds, natural log of the ratio of likelihoods; NaN for an empty series. 0, or -1 when memory is refused.
int gn_rhythm_steady_odds(const gn_series *s, double *odds);

/// Fill result->rhythm.pattern, explanation and confidence; the pauses are listed. 0, or -1.
int gn_rhythm_pattern(girthline_result *result, gn_series *s, double onset_jitter_ms);

#endif
