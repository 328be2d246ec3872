// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Order statistics and moments over small arrays.
#ifndef GN_BASE_STATISTICS_H
#define GN_BASE_STATISTICS_H

#include <stddef.h>

/// Quantile q (0..1) with linear interpolation between order statistics (Hyndman and Fan's type 7, as numpy's
/// default); reorders x. NaN when n == 0. x must hold no NaN.
double gn_quantile(double *x, size_t n, double q);
float gn_quantile_f(float *x, size_t n, double q); ///< the same for float; n below 2^31

/// The same of x that is sorted already.
float gn_quantile_sorted_f(const float *x, size_t n, double q);

enum { GN_ROWS_MOST = 128 };

/// gn_quantile_f of each column of n_rows rows, 1 to GN_ROWS_MOST of them, n floats each: many at once. The rows stay as they are; out: room for n.
void gn_quantiles_across(const float *const *rows, size_t n_rows, size_t n, double q, float *out);

double gn_smallest(const double *x, size_t n); ///< n at least 1; x should hold no NaN
float gn_smallest_f(const float *x, size_t n);

double gn_median(double *x, size_t n); ///< gn_quantile at 0.5; reorders x

/// 1.4826 times the median distance from `middle`: the SD of a normal variable about its median, whatever the outliers. Overwrites x;
/// NaN when n == 0.
double gn_robust_sd(double *x, size_t n, double middle);

double gn_mean(const double *x, size_t n); ///< NaN when n == 0
double gn_sd(const double *x, size_t n);   ///< divides by n - 1; NaN when n < 2
/// The square of the standard error of a mean, from the sum of n numbers (2 or more) and that of their squares.
double gn_variance_of_mean(double sum, double squares, double n);

#endif
