// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Levels of many powers, and logarithms and powers of many numbers, at once: the same bits on every processor, but not those of maths.h.
#ifndef GN_BASE_LEVELS_H
#define GN_BASE_LEVELS_H

#include <stddef.h>

/// db[i] = 10 log10(power[i] + added), error under 4e-7 of it; the sum has to be above 1e-37. What is infinite or NaN stays that. power and db
/// may be the same.
void gn_levels_db(const float *power, float added, float *db, size_t n);

/// x[i] = ln x[i] in place, error under 3e-14 beside that of the last bits; x has to be above 1e-300. What is infinite or NaN stays that.
void gn_log_many(double *x, size_t n);

/// x[i] = e^x[i] in place, relative error under 1e-15, of x up to 709; under e^-708 it is that. NaN stays NaN.
void gn_exp_many(double *x, size_t n);

#endif
