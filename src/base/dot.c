// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/dot.h"
#include "base/wide.h"

enum { LANES = 8, PLACES = 4 };

// Eight sums side by side: the order is fixed, and a compiler may keep them in vector registers.
GN_WIDE double gn_dot(const float *restrict x, const float *restrict y, size_t n) {
  float sum[LANES] = {0}, rest = 0;
  size_t i = 0;
  for (; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) sum[k] += x[i + k] * y[i + k];
  for (; i < n; i++) rest += x[i] * y[i];
  return (double)(((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7]))) + (double)rest;
}

// Each sum in gn_dot's order; x is fetched once for all.
GN_WIDE_PART void dots(const float *restrict x, const float *restrict y, size_t n, double out[PLACES]) {
  gn_eight sum[PLACES] = {{0}};
  gn_row rest = {0}, row[PLACES];
  size_t i = 0;
  for (; i + LANES <= n; i += LANES) {
    const gn_eight a = *(const gn_eight *)(x + i);
    for (size_t q = 0; q < PLACES; q++) sum[q] += a * *(const gn_eight *)(y + i + q);
  }
  for (; i < n; i++) rest += x[i] * *(const gn_row *)(y + i);
  for (size_t q = 0; q < PLACES; q++) row[q] = gn_halves_added(&sum[q]);
  gn_turn_over(row);
  const gn_row whole = (row[0] + row[2]) + (row[1] + row[3]);
  for (size_t q = 0; q < PLACES; q++) out[q] = (double)whole[q] + (double)rest[q];
}

GN_WIDE void gn_dot_along(const float *restrict x, const float *restrict y, size_t n, double *restrict out, size_t n_places) {
  size_t q = 0;
  for (; q + PLACES <= n_places; q += PLACES) dots(x, y + q, n, out + q);
  for (; q < n_places; q++) out[q] = gn_dot(x, y + q, n);
}
