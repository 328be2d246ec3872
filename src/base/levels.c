// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/levels.h"

#include <float.h>
#include <stdint.h>
#include <string.h>

#include "base/wide.h"

static const double LN2 = 0.69314718055994530942, DB_PER_NAT = 4.3429448190325182765;
static const uint64_t HALF_ROOT = 0x3fe6a09e667f3bcdu; // sqrt(1/2): z lies between it and its double
static const uint64_t ONE = 0x3ff0000000000000u, WHOLE = 0x4330000000000000u; // WHOLE | k is 2^52 + k

// x = 2^k z, and ln z = 2 artanh f with f = (z - 1) / (z + 1), |f| <= 0.1716, by its series to f^15: remainder under 2e-14. No table and no
// branch, so that a loop over it may be kept in vector registers.
GN_WIDE_PART double level_of(double x) {
  uint64_t bits, z_bits, k_bits;
  memcpy(&bits, &x, sizeof bits);
  const uint64_t k = (bits + (ONE - HALF_ROOT)) >> 52; // 1023 more than it is
  z_bits = bits - ((k - 1023) << 52);
  k_bits = WHOLE | k;
  double z, whole;
  memcpy(&z, &z_bits, sizeof z);
  memcpy(&whole, &k_bits, sizeof whole);
  const double f = (z - 1) / (z + 1), f2 = f * f, f4 = f2 * f2;
  const double low = (1 + f2 * (1.0 / 3)) + f4 * (1.0 / 5 + f2 * (1.0 / 7)), high = (1.0 / 9 + f2 * (1.0 / 11)) + f4 * (1.0 / 13 + f2 * (1.0 / 15));
  const double level = DB_PER_NAT * ((whole - (0x1p52 + 1023)) * LN2 + 2 * f * (low + f4 * f4 * high));
  return x <= DBL_MAX ? level : x;
}

GN_WIDE void gn_levels_db(const float *power, double added, float *db, size_t n) {
  for (size_t i = 0; i < n; i++) db[i] = (float)level_of((double)power[i] + added);
}
