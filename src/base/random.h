// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Reproducible random numbers: the same seed gives the same numbers on every processor.
#ifndef GN_BASE_RANDOM_H
#define GN_BASE_RANDOM_H

#include <stdint.h>

/// splitmix64 (Steele, Lea and Flood 2014, OOPSLA, "Fast splittable pseudorandom number generators").
typedef struct gn_random { uint64_t state; } gn_random;

gn_random gn_random_of(uint64_t seed);
uint64_t gn_random_next(gn_random *r);
double gn_random_uniform(gn_random *r);              ///< [0, 1)
uint64_t gn_random_below(gn_random *r, uint64_t n);  ///< 0 .. n-1; n > 0
double gn_random_normal(gn_random *r);               ///< mean 0, SD 1

#endif
