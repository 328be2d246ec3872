// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/statistics.h"

#include <math.h>

// Hoare's selection: afterwards x[k] is the k-th smallest and nothing after it is smaller.
#define SELECT(NAME, T)                                                                                                 \
  static void NAME(T *x, size_t n, size_t k) {                                                                          \
    size_t lo = 0, hi = n - 1;                                                                                          \
    while (lo < hi) {                                                                                                   \
      const T pivot = x[lo + (hi - lo) / 2];                                                                            \
      size_t i = lo, j = hi;                                                                                            \
      for (;;) {                                                                                                        \
        while (x[i] < pivot) i++;                                                                                       \
        while (x[j] > pivot) j--;                                                                                       \
        if (i >= j) break;                                                                                              \
        const T t = x[i];                                                                                               \
        x[i++] = x[j];                                                                                                  \
        x[j--] = t;                                                                                                     \
      }                                                                                                                 \
      if (k <= j) hi = j;                                                                                               \
      else lo = j + 1;                                                                                                  \
    }                                                                                                                   \
  }
SELECT(select_double, double)
SELECT(select_float, float)

double gn_quantile(double *x, size_t n, double q) {
  if (n == 0) return NAN;
  const double at = q <= 0 ? 0 : q >= 1 ? (double)(n - 1) : q * (double)(n - 1);
  const size_t k = (size_t)at;
  select_double(x, n, k);
  if (k + 1 >= n || at == (double)k) return x[k];
  double next = x[k + 1];
  for (size_t i = k + 2; i < n; i++)
    if (x[i] < next) next = x[i];
  return x[k] + (at - (double)k) * (next - x[k]);
}

float gn_quantile_f(float *x, size_t n, double q) {
  if (n == 0) return NAN;
  const double at = q <= 0 ? 0 : q >= 1 ? (double)(n - 1) : q * (double)(n - 1);
  const size_t k = (size_t)at;
  select_float(x, n, k);
  if (k + 1 >= n || at == (double)k) return x[k];
  float next = x[k + 1];
  for (size_t i = k + 2; i < n; i++)
    if (x[i] < next) next = x[i];
  return (float)((double)x[k] + (at - (double)k) * ((double)next - (double)x[k]));
}

double gn_median(double *x, size_t n) { return gn_quantile(x, n, 0.5); }

double gn_mean(const double *x, size_t n) {
  if (n == 0) return NAN;
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += x[i];
  return sum / (double)n;
}

double gn_sd(const double *x, size_t n) {
  if (n < 2) return NAN;
  const double mean = gn_mean(x, n);
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += (x[i] - mean) * (x[i] - mean);
  return sqrt(sum / (double)(n - 1));
}
