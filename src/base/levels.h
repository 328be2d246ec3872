// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Levels of many powers at once.
#ifndef GN_BASE_LEVELS_H
#define GN_BASE_LEVELS_H

#include <stddef.h>

/// db[i] = 10 log10(power[i] + added), error under 1e-12 dB before it is rounded to a float; the sum has to be above 1e-300. What is infinite
/// or NaN stays that. power and db may be the same. The same bits on every processor.
void gn_levels_db(const float *power, double added, float *db, size_t n);

#endif
