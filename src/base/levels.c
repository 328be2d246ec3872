// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/levels.h"

#include <float.h>
#include <stdint.h>

#include "base/wide.h"

static const double LN2 = 0.69314718055994530942, DB_PER_NAT = 4.3429448190325182765;
static const uint64_t HALF_ROOT = 0x3fe6a09e667f3bcdu; // sqrt(1/2): z lies between it and its double
static const uint64_t ONE = 0x3ff0000000000000u, WHOLE = 0x4330000000000000u; // WHOLE | k is 2^52 + k

// x = 2^k z, and ln z = 2 artanh f with f = (z - 1) / (z + 1), |f| <= 0.1716, by its series to f^15: remainder under 2e-14. No table and no
// branch, so that four may be worked out side by side.
enum { LANES = 4 };
typedef double lanes __attribute__((vector_size(LANES * sizeof(double))));
typedef uint64_t bits __attribute__((vector_size(LANES * sizeof(uint64_t))));

GN_WIDE_PART void to_levels(lanes *x) {
  const bits whole_x = (bits)*x;
  const bits k = (whole_x + (ONE - HALF_ROOT)) >> 52; // 1023 more than it is
  const lanes z = (lanes)(whole_x - ((k - 1023) << 52)), whole = (lanes)(WHOLE | k);
  const lanes f = (z - 1) / (z + 1), f2 = f * f, f4 = f2 * f2;
  const lanes low = (1 + f2 * (1.0 / 3)) + f4 * (1.0 / 5 + f2 * (1.0 / 7)), high = (1.0 / 9 + f2 * (1.0 / 11)) + f4 * (1.0 / 13 + f2 * (1.0 / 15));
  const lanes level = DB_PER_NAT * ((whole - (0x1p52 + 1023)) * LN2 + 2 * f * (low + f4 * f4 * high));
  const bits finite = (bits)(*x <= DBL_MAX);
  *x = (lanes)(((bits)level & finite) | (whole_x & ~finite));
}

GN_WIDE void gn_levels_db(const float *power, double added, float *db, size_t n) {
  size_t i = 0;
  for (; i + LANES <= n; i += LANES) {
    lanes x;
    for (size_t k = 0; k < LANES; k++) x[k] = (double)power[i + k] + added;
    to_levels(&x);
    for (size_t k = 0; k < LANES; k++) db[i + k] = (float)x[k];
  }
  for (; i < n; i++) {
    lanes x = {(double)power[i] + added};
    to_levels(&x);
    db[i] = (float)x[0];
  }
}
