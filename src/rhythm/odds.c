// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

// Two accounts of one series. Steady: a usual interval with a small spread, out of which single beats come early or late. Irregular: every
// interval drawn for itself. Taking its short and long intervals away leaves an irregular series a small spread too, so that the spread of
// what is left cannot tell the two apart; what the odd ones cost can. All shares are choices, on simulated series.
static const double STEADY_SPREADS[] = {0.02, 0.03, 0.045, 0.06, 0.08}; // of the usual interval; healthy horses 3 to 5 % (Liege, ORBi 2268/293159)
static const double FREE_SPREADS[] = {0.14, 0.2, 0.28};                 // log; fibrillation about 24 % (Tateno and Glass 2001)
static const double EVENT_SHARES[] = {0.02, 0.14};                      // of all beats: single ones in a long series, or a pattern
enum { N_STEADY = sizeof STEADY_SPREADS / sizeof STEADY_SPREADS[0], N_FREE = sizeof FREE_SPREADS / sizeof FREE_SPREADS[0],
       N_SHARES = sizeof EVENT_SHARES / sizeof EVENT_SHARES[0] };

#define STRAY 0.02      // a beat missed or invented: any interval
#define EARLIEST 0.35   // times the usual: the range of early beats' intervals
#define HARDLY 0.85
#define AFTER_SPREAD 0.06 // of the interval that makes up for an early beat
#define PAUSE_SPREAD 0.10 // of one of two usual intervals
#define STRAY_LEAST 0.3   // times the usual: the range of stray intervals
#define STRAY_MOST 3.0
#define BARELY 1e-9       // density of what neither account knows

static double normal(double x, double mean, double spread) {
  const double z = (x - mean) / spread;
  return gn_exp(-0.5 * z * z) / (spread * 2.5066282746310002);
}

static double even(double x, double low, double high) { return x > low && x < high ? 1 / (high - low) : 0; }

// Density of the interval after an early beat: made up for in full, not at all, or in part.
static double after_early(double ratio, double early_ratio, double plain) {
  const double full = 2 - early_ratio;
  return 0.5 * normal(ratio, full, AFTER_SPREAD) + 0.25 * plain + 0.25 * even(ratio, 0.9, full + 0.05);
}

// With the shares of early beats and pauses that tell the series best: only how they are mixed hangs on them.
static double steady(const gn_series *s, double spread) {
  double sum[N_SHARES * N_SHARES] = {0}, best = -INFINITY;
  for (size_t i = 0; i < s->n; i++) {
    const double x = s->ratio[i], plain = normal(x, 1, spread), early = even(x, EARLIEST, HARDLY), stray = even(x, STRAY_LEAST, STRAY_MOST);
    if (i > 0 && s->linked[i] && s->ratio[i - 1] < HARDLY) {
      const double p = gn_log(0.8 * after_early(x, s->ratio[i - 1], plain) + 0.1 * early + 0.05 * plain + 0.05 * stray + BARELY);
      for (size_t k = 0; k < N_SHARES * N_SHARES; k++) sum[k] += p;
      continue;
    }
    const double pause = 0.7 * normal(x, 2, PAUSE_SPREAD) + 0.2 * normal(x, 3, 1.5 * PAUSE_SPREAD) + 0.1 * even(x, 1.6, 8);
    for (size_t k = 0; k < N_SHARES * N_SHARES; k++) {
      const double early_share = EVENT_SHARES[k / N_SHARES], pause_share = EVENT_SHARES[k % N_SHARES];
      const double p = (1 - early_share - pause_share - STRAY) * plain + early_share * early + pause_share * pause + STRAY * stray;
      sum[k] += gn_log(p + BARELY);
    }
  }
  for (size_t k = 0; k < N_SHARES * N_SHARES; k++) best = fmax(best, sum[k]);
  return best;
}

// log_ratio: logarithm of each interval over the median one.
static double irregular(const double *log_ratio, size_t n, double spread) {
  double sum = 0;
  for (size_t i = 0; i < n; i++) {
    const double ratio = gn_exp(log_ratio[i]);
    sum += gn_log((1 - STRAY) * normal(log_ratio[i], 0, spread) / ratio + STRAY * even(ratio, STRAY_LEAST, STRAY_MOST) + BARELY);
  }
  return sum;
}

int gn_rhythm_steady_odds(const gn_series *s, double *odds) {
  double *x = gn_new(2 * s->n, sizeof *x), best = -INFINITY, best_free = -INFINITY;
  if (!x) return -1;
  for (size_t i = 0; i < s->n; i++) x[i] = x[s->n + i] = gn_log(s->len_s[i] / s->trend[i]);
  const double middle = gn_median(x, s->n);
  for (size_t i = 0; i < s->n; i++) x[i] = x[s->n + i] - middle;
  for (size_t k = 0; k < N_STEADY; k++) best = fmax(best, steady(s, STEADY_SPREADS[k]));
  for (size_t k = 0; k < N_FREE; k++) best_free = fmax(best_free, irregular(x, s->n, FREE_SPREADS[k]));
  *odds = s->n ? best - best_free : (double)NAN;
  gn_free(x);
  return 0;
}
