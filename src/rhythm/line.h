// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A line through some intervals: mean, slope, and a wave of a given frequency. Nothing outside src/rhythm/ includes it.
#ifndef GN_RHYTHM_LINE_H
#define GN_RHYTHM_LINE_H

#include <stdbool.h>
#include <stddef.h>

#define GN_STRETCH_N 40 ///< breathing drifts, so a wave is fitted to stretches of at most this many intervals, each with its own period
#define GN_LINE_TERMS 4 ///< mean, slope from -1 to 1 over the stretch, sine, cosine

/// Successive intervals: the middle of each, s, and its length in any unit.
typedef struct gn_stretch { double t[GN_STRETCH_N], y[GN_STRETCH_N]; size_t n; } gn_stretch;

/// Sums of products of the terms with one another (the lower triangle) and with the lengths.
typedef struct gn_line_sums { double a[GN_LINE_TERMS][GN_LINE_TERMS], b[GN_LINE_TERMS], yy, hz; } gn_line_sums;

typedef struct gn_line {
  double c[GN_LINE_TERMS]; ///< coefficients of the terms; those left out are 0
  double sse;              ///< sum of squares left over, ridge included
  double det;              ///< determinant of the normal equations, ridge included
  double hz;               ///< of the wave; 0: none
} gn_line;

void gn_line_sum(const gn_stretch *w, double hz, gn_line_sums *sums);

/// Least squares by the normal equations (Cholesky) with the first terms, 1 to 4. ridge: added to the squares of each coefficient, or NULL.
/// false where the terms cannot be told apart.
bool gn_line_solve(const gn_line_sums *sums, int terms, const double ridge[GN_LINE_TERMS], gn_line *out);

double gn_line_at(const gn_stretch *w, const gn_line *l, double t); ///< the line at a time

/// Leave out the interval that lies furthest from the line.
void gn_line_drop_worst(gn_stretch *w, const gn_line *l);

#endif
