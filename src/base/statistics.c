// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/statistics.h"

#include <math.h>

// Move what is CASE of x[to] .. x[hi - 1] to the front of it; to ends behind it. A number is moved whether it is or not, so that the
// processor has no branch to guess wrong.
#define GATHER(T, CASE)                                                                                                 \
  for (size_t i = to; i < hi; i++) {                                                                                    \
    const T t = x[i];                                                                                                   \
    x[i] = x[to];                                                                                                       \
    x[to] = t;                                                                                                          \
    to += CASE;                                                                                                         \
  }

// Hoare's selection with Lomuto's partition: afterwards x[k] is the k-th smallest and nothing after it is smaller. Where the pivot
// is the smallest, all that equal it are settled with it.
#define SELECT(NAME, T)                                                                                                 \
  static void NAME(T *x, size_t n, size_t k) {                                                                          \
    for (size_t lo = 0, hi = n; hi - lo > 1;) {                                                                         \
      const size_t middle = lo + (hi - lo) / 2;                                                                         \
      const T pivot = x[middle];                                                                                        \
      size_t to = lo + 1;                                                                                               \
      x[middle] = x[lo];                                                                                                \
      GATHER(T, t < pivot)                                                                                              \
      const size_t at = to - 1;                                                                                         \
      x[lo] = x[at];                                                                                                    \
      x[at] = pivot;                                                                                                    \
      if (at == lo) {                                                                                                   \
        GATHER(T, t == pivot)                                                                                           \
      }                                                                                                                 \
      if (k < at) hi = at;                                                                                              \
      else if (k < to) return;                                                                                          \
      else lo = to;                                                                                                     \
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

float gn_quantile_sorted_f(const float *x, size_t n, double q) {
  if (n == 0) return NAN;
  const double at = q <= 0 ? 0 : q >= 1 ? (double)(n - 1) : q * (double)(n - 1);
  const size_t k = (size_t)at;
  if (k + 1 >= n || at == (double)k) return x[k];
  return (float)((double)x[k] + (at - (double)k) * ((double)x[k + 1] - (double)x[k]));
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
