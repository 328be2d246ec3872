// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>

#include "base/maths.h"

// Contact raises the rate for about a minute (common practice, no source); the fall is tried with these time constants.
static const double TAUS_S[] = {3, 4.5, 6.5, 9, 13, 18, 25, 35};

typedef struct fit { double settled_s, slope_s, sse, sst; size_t n; } fit;

double gn_rhythm_fall_len_s(const gn_fall *f, double t_s) {
  return f->settled_s * (1 - f->depth * gn_exp(-(t_s - f->start_s) / f->tau_s));
}

// Least squares of length = settled + slope * exp(-(t - start) / tau) over the intervals whose ratio to `about` is in reach:
// pauses, early beats and missed beats must not bend the curve.
static fit fit_tau(const gn_series *s, const gn_fall *about, double tau_s, double lo, double hi) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
  for (size_t i = 0; i < s->n && s->start_s[i] - s->start_s[0] <= s->limits->fall_longest_s; i++) {
    const double ratio = s->len_s[i] / (about->tau_s > 0 ? gn_rhythm_fall_len_s(about, s->start_s[i]) : about->settled_s);
    if (ratio < lo || ratio > hi) continue;
    const double x = gn_exp(-(s->start_s[i] - s->start_s[0]) / tau_s), y = s->len_s[i];
    n++, sx += x, sy += y, sxx += x * x, sxy += x * y, syy += y * y;
  }
  fit f = {.n = (size_t)n};
  const double cxx = sxx - sx * sx / n, cxy = sxy - sx * sy / n;
  f.sst = syy - sy * sy / n;
  f.slope_s = cxx > 0 ? cxy / cxx : 0;
  f.settled_s = (sy - f.slope_s * sx) / n;
  f.sse = f.sst - f.slope_s * cxy;
  return f;
}

// Best of all time constants into *fall; returns the evidence for a fall.
static double best_fit(const gn_series *s, gn_fall *fall, double lo, double hi) {
  const gn_fall about = *fall;
  double best = -INFINITY, evidence = -INFINITY;
  for (size_t k = 0; k < sizeof TAUS_S / sizeof *TAUS_S; k++) {
    const fit f = fit_tau(s, &about, TAUS_S[k], lo, hi);
    if (f.n < (size_t)s->limits->fall_intervals_n || !(f.settled_s > 0) || f.slope_s >= 0) continue;
    const double floor = (double)f.n * 1e-8 * f.settled_s * f.settled_s; // a perfect fit is no more than near perfect
    const double gain = 0.5 * (double)f.n * gn_log((f.sst + floor) / (fmax(f.sse, 0) + floor));
    if (gain <= best) continue;
    best = gain;
    evidence = gain - s->limits->fall_price * gn_log((double)f.n);
    *fall = (gn_fall){false, s->start_s[0], f.settled_s, -f.slope_s / f.settled_s, TAUS_S[k]};
  }
  return evidence;
}

static double middle_s(const gn_series *s) {
  // The median without room of its own: the length that has as many below as above, by bisection on the value.
  double lo = 0, hi = 0;
  for (size_t i = 0; i < s->n; i++) hi = fmax(hi, s->len_s[i]);
  for (int k = 0; k < 40; k++) {
    const double mid = 0.5 * (lo + hi);
    size_t below = 0;
    for (size_t i = 0; i < s->n; i++) below += s->len_s[i] < mid;
    if (2 * below < s->n) lo = mid;
    else hi = mid;
  }
  return 0.5 * (lo + hi);
}

void gn_rhythm_fall(gn_series *s, gn_fall *fall) {
  const girthline_rhythm_limits *m = s->limits;
  *fall = (gn_fall){false, s->n ? s->start_s[0] : 0, 0, 0, 0};
  if (s->n < (size_t)s->limits->fall_intervals_n) return;
  fall->settled_s = middle_s(s);
  if (isinf(best_fit(s, fall, m->fall_within_low, m->fall_within_high))) return;
  const double evidence = best_fit(s, fall, m->fall_close_low, m->fall_close_high);
  const double end_s = fmin(s->start_s[s->n - 1], fall->start_s + s->limits->fall_longest_s);
  const double first = gn_rhythm_fall_len_s(fall, fall->start_s), last = gn_rhythm_fall_len_s(fall, end_s);
  fall->found = evidence > 0 && fall->depth < 0.6 && first > 0 && last / first >= 1 + m->fall_share;
  if (!fall->found) return;
  for (size_t i = 0; i < s->n; i++) s->trend[i] = gn_rhythm_fall_len_s(fall, s->start_s[i]) / fall->settled_s;
}
