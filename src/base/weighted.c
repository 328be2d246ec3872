// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/weighted.h"
#include "base/wide.h"

// Sums side by side: the order is fixed, and a compiler may keep them in vector registers without being allowed to change it.
enum { LANES = GN_WEIGHTED_LANES };

GN_WIDE float gn_weighted_squares_f(const float *restrict w, const float *restrict x, size_t n) {
  float sum[LANES] = {0};
  for (size_t i = 0; i < n; i += LANES)
    for (size_t k = 0; k < LANES; k++) sum[k] += w[i + k] * (x[i + k] * x[i + k]);
  return ((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7]));
}

GN_WIDE double gn_weighted_squares(const double *restrict w, const float *restrict x, size_t n) {
  double sum[LANES] = {0}, rest = 0;
  size_t i = 0;
  for (; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) sum[k] += w[i + k] * ((double)x[i + k] * (double)x[i + k]);
  for (; i < n; i++) rest += w[i] * ((double)x[i] * (double)x[i]);
  return (((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7]))) + rest;
}
