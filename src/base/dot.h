// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Sum of products, in an order of its own that is the same on every processor.
#ifndef GN_BASE_DOT_H
#define GN_BASE_DOT_H

#include <stddef.h>

double gn_dot(const float *x, const float *y, size_t n);

/// The same with y from each of so many neighbouring places on, to the same bits; y holds n + n_places - 1 numbers.
void gn_dot_along(const float *x, const float *y, size_t n, double *out, size_t n_places);

#endif
