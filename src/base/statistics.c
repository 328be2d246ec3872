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

// Of many the pivot is taken from a few, spread evenly, at a rank that leaves the k-th in the smaller part as a rule, and that part little
// more than what lies beyond it (after Floyd and Rivest 1975): an order statistic costs little more than a single pass.
enum { FEW = 16, MANY = 6 * FEW };

#define PIVOT(NAME, T)                                                                                                  \
  static size_t NAME(const T *x, size_t lo, size_t hi, size_t k) {                                                      \
    size_t place[FEW] = {0};                                                                                            \
    if (hi - lo < MANY) return lo + (hi - lo) / 2;                                                                      \
    for (size_t i = 0; i < FEW; i++) {                                                                                  \
      const size_t at = lo + (2 * i + 1) * (hi - lo) / (2 * FEW);                                                       \
      size_t to = i;                                                                                                    \
      for (; to > 0 && x[place[to - 1]] > x[at]; to--) place[to] = place[to - 1];                                       \
      place[to] = at;                                                                                                   \
    }                                                                                                                   \
    const size_t rank = (k - lo) * FEW / (hi - lo);                                                                     \
    if (2 * (k - lo) < hi - lo) return place[rank + 2];                                                                 \
    return place[rank > 2 ? rank - 2 : 0];                                                                              \
  }
PIVOT(pivot_double, double)
PIVOT(pivot_float, float)

// Hoare's selection with Lomuto's partition: afterwards x[k] is the k-th smallest and nothing after it is smaller. Where the pivot
// is the smallest, all that equal it are settled with it.
#define SELECT(NAME, PIVOT_OF, T)                                                                                       \
  static void NAME(T *x, size_t n, size_t k) {                                                                          \
    for (size_t lo = 0, hi = n; hi - lo > 1;) {                                                                         \
      const size_t middle = PIVOT_OF(x, lo, hi, k);                                                                     \
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
SELECT(select_double, pivot_double, double)
SELECT(select_float, pivot_float, float)

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

double gn_robust_sd(double *x, size_t n, double middle) {
  for (size_t i = 0; i < n; i++) x[i] = fabs(x[i] - middle);
  return 1.4826 * gn_median(x, n);
}

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
