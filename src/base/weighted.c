// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/weighted.h"
#include "base/wide.h"

// Eight places of a sum side by side: the order is fixed, and a compiler may keep them in vector registers without being allowed to change it.
enum { LANES = GN_WEIGHTED_LANES, HALF = LANES / 2, SUMS = GN_WEIGHTED_SUMS };
typedef float whole __attribute__((vector_size(LANES * sizeof(float)), aligned(sizeof(float)), may_alias));
typedef double half __attribute__((vector_size(HALF * sizeof(double)), aligned(sizeof(double)), may_alias));

GN_WIDE void gn_weighted_squares_f(const float *const w[SUMS], const float *const x[SUMS], size_t n, float out[SUMS]) {
  whole sum[SUMS];
  gn_row row[SUMS];
  for (size_t q = 0; q < SUMS; q++) sum[q] = (whole){0};
  for (size_t i = 0; i < n; i += LANES)
    for (size_t q = 0; q < SUMS; q++) {
      const whole a = *(const whole *)(x[q] + i);
      sum[q] += *(const whole *)(w[q] + i) * (a * a);
    }
  for (size_t q = 0; q < SUMS; q++) row[q] = *(const gn_row *)&sum[q] + *((const gn_row *)&sum[q] + 1);
  gn_turn_over(row);
  *(gn_row *)out = (row[0] + row[2]) + (row[1] + row[3]);
}

GN_WIDE_PART void add_half(half *sum, const double *w, const float *x) {
  const half a = {(double)x[0], (double)x[1], (double)x[2], (double)x[3]};
  *sum += *(const half *)w * (a * a);
}

GN_WIDE void gn_weighted_squares(const double *w, const float *const x[SUMS], size_t n, double out[SUMS]) {
  const size_t n_whole = n / LANES * LANES;
  half low[SUMS], high[SUMS];
  for (size_t q = 0; q < SUMS; q++) low[q] = high[q] = (half){0};
  for (size_t i = 0; i < n_whole; i += LANES)
    for (size_t q = 0; q < SUMS; q++) {
      add_half(&low[q], w + i, x[q] + i);
      add_half(&high[q], w + i + HALF, x[q] + i + HALF);
    }
  for (size_t q = 0; q < SUMS; q++) {
    const half s = low[q] + high[q];
    double rest = 0;
    for (size_t i = n_whole; i < n; i++) rest += w[i] * ((double)x[q][i] * (double)x[q][i]);
    out[q] = ((s[0] + s[2]) + (s[1] + s[3])) + rest;
  }
}
