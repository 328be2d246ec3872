// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Weighted sums of squares: smoothed power. Summed in an order of their own that is the same on every processor.
#ifndef GN_BASE_WEIGHTED_H
#define GN_BASE_WEIGHTED_H

#include <stddef.h>

/// Samples a sum is taken over at a time.
#define GN_WEIGHTED_LANES 8

/// Sums that are taken at once: one waits for its own last step. They do not change one another.
#define GN_WEIGHTED_SUMS 4

/// Each the sum of w[i] x[i]^2 over n samples; n a multiple of GN_WEIGHTED_LANES.
void gn_weighted_squares(const float *const w[GN_WEIGHTED_SUMS], const float *const x[GN_WEIGHTED_SUMS], size_t n, float sum[GN_WEIGHTED_SUMS]);

#endif
