// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/dots.h"

#include <string.h>

#include "base/wide.h"

enum { LANES = 8, ALONGSIDE = GN_DOTS_ALONGSIDE };

// A sum is eight partial ones, of every eighth product. Neighbouring sums lie side by side in one row of numbers: what compilers make of
// arrays here they keep in memory, so the rows are of a vector type, which gcc and clang both know for any processor.
typedef float row __attribute__((vector_size(ALONGSIDE * sizeof(float))));

GN_WIDE_PART double total(const float *sum, float rest) {
  return (double)(((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7]))) + (double)rest;
}

GN_WIDE static void dots(const float *restrict x, size_t n, const float *restrict y, double *restrict out) {
  row sum[LANES] = {{0}}, rest = {0}, from;
  size_t i = 0;
  for (; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) {
      memcpy(&from, y + i + k, sizeof from);
      sum[k] += x[i + k] * from;
    }
  for (; i < n; i++) {
    memcpy(&from, y + i, sizeof from);
    rest += x[i] * from;
  }
  const row all = ((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7]));
  for (size_t j = 0; j < ALONGSIDE; j++) out[j] = (double)all[j] + (double)rest[j];
}

double gn_dot_f(const float *x, const float *y, size_t n) {
  float sum[LANES] = {0}, rest = 0;
  size_t i = 0;
  for (; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) sum[k] += x[i + k] * y[i + k];
  for (; i < n; i++) rest += x[i] * y[i];
  return total(sum, rest);
}

void gn_dots_f(const float *x, size_t n, const float *y, double *out, size_t n_out) {
  for (size_t j = 0; n_out >= ALONGSIDE && j < n_out; j += ALONGSIDE) {
    const size_t at = j + ALONGSIDE <= n_out ? j : n_out - ALONGSIDE; // the last ones overlap those before
    dots(x, n, y + at, out + at);
  }
  for (size_t j = 0; n_out < ALONGSIDE && j < n_out; j++) out[j] = gn_dot_f(x, y + j, n);
}
