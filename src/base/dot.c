// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/dot.h"
#include "base/wide.h"

// Eight sums side by side: the order is fixed, and a compiler may keep them in vector registers.
GN_WIDE double gn_dot(const float *restrict x, const float *restrict y, size_t n) {
  enum { LANES = 8 };
  float sum[LANES] = {0}, rest = 0;
  size_t i = 0;
  for (; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) sum[k] += x[i + k] * y[i + k];
  for (; i < n; i++) rest += x[i] * y[i];
  return (double)(((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7]))) + (double)rest;
}
