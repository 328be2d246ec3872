// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The smallest and the largest of many samples.
#ifndef GN_BASE_EXTREMES_H
#define GN_BASE_EXTREMES_H

#include <stddef.h>

/// What samples reach to either side.
typedef struct gn_swing { float low, high; } gn_swing;

/// Widens [*low, *high] so that it holds x[0] .. x[n - 1]; n may be 0. NaN samples are left out.
void gn_extremes(const float *x, size_t n, float *low, float *high);

#endif
