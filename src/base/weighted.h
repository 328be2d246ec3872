// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Weighted sums of squares: smoothed power. Summed in an order of their own that is the same on every processor.
#ifndef GN_BASE_WEIGHTED_H
#define GN_BASE_WEIGHTED_H

#include <stddef.h>

/// Samples a sum is taken over at a time.
#define GN_WEIGHTED_LANES 8

/// The sum of w[i] x[i]^2 over n samples; n a multiple of GN_WEIGHTED_LANES.
float gn_weighted_squares_f(const float *w, const float *x, size_t n);
double gn_weighted_squares(const double *w, const float *x, size_t n); ///< n as it comes

#endif
