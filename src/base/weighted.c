// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/weighted.h"
#include "base/wide.h"

// Eight places of a sum side by side: the order is fixed, and a compiler may keep them in vector registers without being allowed to change it.
enum { LANES = GN_WEIGHTED_LANES, SUMS = GN_WEIGHTED_SUMS };
typedef float whole __attribute__((vector_size(LANES * sizeof(float)), aligned(sizeof(float)), may_alias));

GN_WIDE void gn_weighted_squares(const float *const w[SUMS], const float *const x[SUMS], size_t n, float out[SUMS]) {
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
