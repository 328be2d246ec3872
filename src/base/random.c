// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/random.h"

#include <math.h>

#include "base/maths.h"

gn_random gn_random_of(uint64_t seed) { return (gn_random){seed}; }

uint64_t gn_random_next(gn_random *r) {
  uint64_t z = (r->state += 0x9e3779b97f4a7c15u);
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

double gn_random_uniform(gn_random *r) { return (double)(gn_random_next(r) >> 11) * 0x1p-53; }

uint64_t gn_random_below(gn_random *r, uint64_t n) {
  return (uint64_t)(gn_random_uniform(r) * (double)n);
}

double gn_random_normal(gn_random *r) {
  // Marsaglia's polar method.
  for (;;) {
    const double u = 2 * gn_random_uniform(r) - 1, v = 2 * gn_random_uniform(r) - 1, s = u * u + v * v;
    if (s > 0 && s < 1) return u * sqrt(-2 * gn_log(s) / s);
  }
}
