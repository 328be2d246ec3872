// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/statistics.h"
#include "rhythm/line.h"

// Two accounts of the logarithms of some intervals. Swaying: a drifting mean, a wave, and a small spread about them. Irregular: a mean, and a
// spread as wide as fibrillation's. What each does not know is summed over with what is known of hearts (a marginal likelihood), so that a wave
// pays for its freedom by itself, in six intervals as in forty: all is normal and linear but for the wave's period and the spreads, which are
// tried (Bretthorst 1988, Bayesian Spectrum Analysis and Parameter Estimation: from memory). All spreads are of natural logarithms.
static const double ABOUT_SPREADS[] = {0.015, 0.025, 0.04}; // about the wave: those of steady horses, 3 to 5 %, and less (Liege, ORBi 2268/293159)
static const double DEPTHS[] = {0.05, 0.10, 0.20};          // of sine and of cosine: breathing swings by some 10 %, in a dog by far more (choices)
static const double FREE_SPREADS[] = {0.14, 0.2, 0.28};     // fibrillation about 24 % (Tateno and Glass 2001)
enum { N_ABOUT = sizeof ABOUT_SPREADS / sizeof *ABOUT_SPREADS, N_DEPTHS = sizeof DEPTHS / sizeof *DEPTHS, N_FREE = sizeof FREE_SPREADS / sizeof *FREE_SPREADS };
#define MEAN_SPREAD 2.0   // of the mean about the median: so wide that it says nothing
#define DRIFT_SPREAD 0.04 // of the drift over half the stretch: a choice
#define SHORTEST_TURN 2.6 // intervals: a choice, with fewer any two make a wave
#define LONGEST_TURN 10.0 // intervals: six breaths a minute of a heart at 60; in a longer stretch a turn may be as long as it
#define TURN_STEP 1.06    // from one to the next: a quarter of a turn over forty of the shortest
#define STRAY_NATS (-4.9) // an interval that a wrong beat has made, left out: one in fifty, its logarithm anywhere within 2.7
#define STRAY_ONE_IN 4    // at most one in so many is left out
#define PLAIN_NATS 15.0   // with odds like these nothing needs to be left out

// Log-likelihood of n intervals under the first terms, each with a normal prior of its spread, and normal noise.
static double marginal(const gn_line_sums *sums, size_t n, int terms, const double prior[GN_LINE_TERMS], double noise, gn_line *likeliest) {
  const double v = noise * noise;
  double ridge[GN_LINE_TERMS], scale = 1;
  for (int j = 0; j < terms; j++) ridge[j] = v / (prior[j] * prior[j]), scale /= ridge[j];
  if (!gn_line_solve(sums, terms, ridge, likeliest)) return -INFINITY;
  return -0.5 * (likeliest->sse / v + gn_log(likeliest->det * scale)) - (double)n * gn_log(noise * sqrt(2 * GN_PI));
}

static double log_add(double a, double b) { return isinf(b) ? a : fmax(a, b) + gn_log(1 + gn_exp(-fabs(a - b))); }

// longest: turn, in intervals; best: the likeliest line.
static double swaying(const gn_stretch *w, double interval_s, double longest, gn_line *best) {
  double all = -1e300, most = -INFINITY;
  int n_turns = 0;
  for (double turn = SHORTEST_TURN; turn <= longest; turn *= TURN_STEP, n_turns++) {
    gn_line_sums sums;
    gn_line_sum(w, 1 / (turn * interval_s), &sums);
    for (int i = 0; i < N_DEPTHS * N_ABOUT; i++) {
      const double depth = DEPTHS[i / N_ABOUT], prior[GN_LINE_TERMS] = {MEAN_SPREAD, DRIFT_SPREAD, depth, depth};
      gn_line l;
      const double nats = marginal(&sums, w->n, GN_LINE_TERMS, prior, ABOUT_SPREADS[i % N_ABOUT], &l);
      all = log_add(all, nats);
      if (nats > most) most = nats, *best = l;
    }
  }
  return all - gn_log(n_turns * N_DEPTHS * N_ABOUT);
}

static double irregular(const gn_stretch *w) {
  const double prior[GN_LINE_TERMS] = {MEAN_SPREAD};
  gn_line_sums sums;
  gn_line mean;
  gn_line_sum(w, 0, &sums);
  double all = -1e300;
  for (int k = 0; k < N_FREE; k++) all = log_add(all, marginal(&sums, w->n, 1, prior, FREE_SPREADS[k], &mean));
  return all - gn_log(N_FREE);
}

// One wrong beat spoils the intervals beside it: those furthest from the wave are left out of w one after the other, for as many as pay.
static double odds(gn_stretch *w, double interval_s) {
  const double free_nats = irregular(w), longest = fmax(LONGEST_TURN, (double)w->n);
  const size_t fewest = w->n - w->n / STRAY_ONE_IN;
  gn_line l = {{0}, 0, 0, 0};
  double best = swaying(w, interval_s, longest, &l);
  for (int strays = 1; w->n > fewest && best - free_nats < PLAIN_NATS; strays++) {
    gn_line_drop_worst(w, &l);
    best = fmax(best, swaying(w, interval_s, longest, &l) + strays * STRAY_NATS);
  }
  return best - free_nats;
}

double gn_rhythm_sway_odds(const gn_series *s) {
  const size_t n_windows = (s->n + GN_STRETCH_N - 1) / GN_STRETCH_N;
  double sum = 0;
  for (size_t k = 0; k < n_windows; k++) {
    const size_t from = s->n * k / n_windows;
    gn_stretch w = {.n = s->n * (k + 1) / n_windows - from};
    for (size_t i = 0; i < w.n; i++) w.y[i] = s->len_s[from + i] / s->trend[from + i];
    const double middle_s = gn_median(w.y, w.n); // puts them in another order
    for (size_t i = 0; i < w.n; i++) {
      w.t[i] = s->start_s[from + i] + 0.5 * s->len_s[from + i];
      w.y[i] = gn_log(s->len_s[from + i] / s->trend[from + i] / middle_s);
    }
    sum += odds(&w, middle_s);
  }
  return sum;
}
