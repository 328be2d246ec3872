// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Elementary functions that give the same bits on every processor. The C library picks its exp, log and sin by the
/// processor's abilities, and its results then differ in the last place; where a decision or a printed number hangs on
/// one, use these. sqrt is exact everywhere and needs none.
#ifndef GN_BASE_MATHS_H
#define GN_BASE_MATHS_H

#include <math.h>
#include <stddef.h>

#define GN_PI 3.14159265358979323846

double gn_exp(double x);   ///< 0 below -745, infinity above 709.78; relative error under 1e-15
double gn_log(double x);   ///< natural; -infinity at 0, NaN below; error under 2.3e-16 of max(1, |log x|)
double gn_log10(double x);
double gn_pow(double x, double y); ///< x > 0
double gn_db(double power_ratio);  ///< 10 log10
double gn_from_db(double db);      ///< power ratio of a level in dB
double gn_sin(double x);   ///< |x| up to 1e6; absolute error under 1e-10 at the ends, 1e-15 near 0
double gn_cos(double x);
double gn_tan(double x);
double gn_hann(size_t i, size_t n); ///< a Hann window of n places in the middle of place i: sin^2(pi (i + 1/2) / n)

/// fmin and fmax without a call of the C library, which would keep a loop out of the vector registers: of one number and NaN the number.
static inline double gn_min(double x, double y) { return x < y || isnan(y) ? x : y; }
static inline double gn_max(double x, double y) { return x > y || isnan(y) ? x : y; }
static inline float gn_min_f(float x, float y) { return x < y || isnan(y) ? x : y; }
static inline float gn_max_f(float x, float y) { return x > y || isnan(y) ? x : y; }

#endif
