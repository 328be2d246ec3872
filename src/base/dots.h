// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Sums of products of one shape with a longer row, from every one of its samples on. Summed in an order of their own that is the same on
/// every processor.
#ifndef GN_BASE_DOTS_H
#define GN_BASE_DOTS_H

#include <stddef.h>

/// So many sums are worked out at a time: n_out costs as much as the next multiple of it.
#define GN_DOTS_ALONGSIDE 8

/// out[j] = the sum of x[i] y[j + i] over i < n, for j < n_out; y has n + n_out - 1 samples. In single precision.
void gn_dots_f(const float *x, size_t n, const float *y, double *out, size_t n_out);

double gn_dot_f(const float *x, const float *y, size_t n); ///< the one sum, to the same bits

#endif
