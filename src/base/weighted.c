// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/weighted.h"
#include "base/wide.h"

// Eight places of a sum side by side: the order is fixed, and a compiler may keep them in vector registers without being allowed to change it.
enum { LANES = GN_WEIGHTED_LANES, SUMS = GN_WEIGHTED_SUMS };

GN_WIDE void gn_weighted_squares(const float *const w[SUMS], const float *const x[SUMS], size_t n, float out[SUMS]) {
  gn_eight sum[SUMS];
  gn_row row[SUMS];
  for (size_t q = 0; q < SUMS; q++) sum[q] = (gn_eight){0};
  for (size_t i = 0; i < n; i += LANES)
    for (size_t q = 0; q < SUMS; q++) {
      const gn_eight a = *(const gn_eight *)(x[q] + i);
      sum[q] += *(const gn_eight *)(w[q] + i) * (a * a);
    }
  for (size_t q = 0; q < SUMS; q++) row[q] = gn_halves_added(&sum[q]);
  gn_turn_over(row);
  *(gn_row *)out = (row[0] + row[2]) + (row[1] + row[3]);
}
