// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/jitter.h"

#include <math.h>

#include "base/memory.h"
#include "base/statistics.h"

#define BEATS_LEAST 6
#define CONFIDENCE_LEAST 0.5f

// Take the straight line through (x, y) out of y.
static void remove_line(const double *x, double *y, size_t n) {
  const double mx = gn_mean(x, n), my = gn_mean(y, n);
  double sxx = 0, sxy = 0;
  for (size_t i = 0; i < n; i++) sxx += (x[i] - mx) * (x[i] - mx), sxy += (x[i] - mx) * (y[i] - my);
  const double slope = sxx > 0 ? sxy / sxx : 0;
  for (size_t i = 0; i < n; i++) y[i] -= my + slope * (x[i] - mx);
}

int gn_jitter_measure(const girthline_beat *beats, size_t n, double *jitter_ms) {
  *jitter_ms = NAN;
  double *interval = gn_new(2 * n, sizeof *interval);
  if (!interval) return -1;
  double *systole = interval + n;
  size_t m = 0;
  for (size_t i = 1; i < n; i++) {
    const double a = beats[i].s1_onset_s - beats[i - 1].s1_onset_s, b = beats[i].s2_onset_s - beats[i].s1_onset_s;
    if (isnan(a) || isnan(b) || beats[i].confidence < CONFIDENCE_LEAST) continue;
    interval[m] = a;
    systole[m++] = b;
  }
  if (m >= BEATS_LEAST) {
    remove_line(interval, systole, m);
    *jitter_ms = 1000 * gn_robust_sd(systole, m, 0);
  }
  gn_free(interval);
  return 0;
}
