// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/levels.h"

#include <float.h>
#include <stdint.h>
#include <string.h>

#include "base/wide.h"

static const double LN2 = 0.69314718055994530942;
static const uint64_t HALF_ROOT = 0x3fe6a09e667f3bcdu; // sqrt(1/2): z lies between it and its double
static const uint64_t ONE = 0x3ff0000000000000u, WHOLE = 0x4330000000000000u; // WHOLE | k is 2^52 + k
static const double ROUNDER = 0x1.8p52, LN2_HI = 6.93147180369123816490e-01, LN2_LO = 1.90821492927058770002e-10; // as in maths.c
static const double LEAST = -708; // e^-708 is a normal number still

// x = 2^k z, and ln z = 2 artanh f with f = (z - 1) / (z + 1), |f| <= 0.1716, by its series to f^15: remainder under 2e-14. No table and no
// branch, so that four may be worked out side by side.
enum { LANES = 4 };
typedef double lanes __attribute__((vector_size(LANES * sizeof(double))));
typedef uint64_t bits __attribute__((vector_size(LANES * sizeof(uint64_t))));

GN_WIDE_PART void to_logs(lanes *x) {
  const bits whole_x = (bits)*x;
  const bits k = (whole_x + (ONE - HALF_ROOT)) >> 52; // 1023 more than it is
  const lanes z = (lanes)(whole_x - ((k - 1023) << 52)), whole = (lanes)(WHOLE | k);
  const lanes f = (z - 1) / (z + 1), f2 = f * f, f4 = f2 * f2;
  const lanes low = (1 + f2 * (1.0 / 3)) + f4 * (1.0 / 5 + f2 * (1.0 / 7)), high = (1.0 / 9 + f2 * (1.0 / 11)) + f4 * (1.0 / 13 + f2 * (1.0 / 15));
  const lanes log = (whole - (0x1p52 + 1023)) * LN2 + 2 * f * (low + f4 * f4 * high);
  const bits finite = (bits)(*x <= DBL_MAX);
  *x = (lanes)(((bits)log & finite) | (whole_x & ~finite));
}

// x = k ln 2 + r, |r| <= 0.3466, and e^r by Taylor to r^13/13!: remainder under 5e-18. The rounder leaves k in the last bits.
GN_WIDE_PART void to_exps(lanes *x) {
  const lanes least = {LEAST, LEAST, LEAST, LEAST};
  const bits low = (bits)(*x < LEAST);
  const lanes y = (lanes)(((bits)*x & ~low) | ((bits)least & low)), shifted = y * (1 / LN2) + ROUNDER, k = shifted - ROUNDER;
  const lanes r = (y - k * LN2_HI) - k * LN2_LO, r2 = r * r, r4 = r2 * r2;
  const lanes a = (1 + r) + r2 * (1.0 / 2 + r * (1.0 / 6)), b = (1.0 / 24 + r * (1.0 / 120)) + r2 * (1.0 / 720 + r * (1.0 / 5040));
  const lanes c = (1.0 / 40320 + r * (1.0 / 362880)) + r2 * (1.0 / 3628800 + r * (1.0 / 39916800)), d = 1.0 / 479001600 + r * (1.0 / 6227020800);
  *x = ((a + r4 * b) + (r4 * r4) * (c + r4 * d)) * (lanes)(((bits)shifted + 1023) << 52);
}

// The same of floats, eight side by side, by the series to f^9: remainder under 1e-8 of a level.
static const uint32_t HALF_ROOT_F = 0x3f3504f3u, ONE_F = 0x3f800000u;
static const float DB_PER_HALF_NAT = 8.6858896380650366f, OCTAVE_DB = 3.01025390625f, OCTAVE_LO_DB = 4.6050389811952e-5f; // the former times k is exact
typedef uint32_t bits_f __attribute__((vector_size(sizeof(gn_eight))));
typedef int32_t wholes __attribute__((vector_size(sizeof(gn_eight))));

GN_WIDE_PART void to_levels(gn_eight *x) {
  const bits_f whole_x = (bits_f)*x, k = ((whole_x + (ONE_F - HALF_ROOT_F)) >> 23) - 127;
  const gn_eight z = (gn_eight)(whole_x - (k << 23)), octaves = __builtin_convertvector((wholes)k, gn_eight);
  const gn_eight f = (z - 1) / (z + 1), f2 = f * f, series = (1 + f2 * (1.0f / 3)) + f2 * f2 * (1.0f / 5 + f2 * (1.0f / 7 + f2 * (1.0f / 9)));
  const gn_eight db = octaves * OCTAVE_DB + (octaves * OCTAVE_LO_DB + DB_PER_HALF_NAT * f * series);
  const bits_f finite = (bits_f)(*x <= FLT_MAX);
  *x = (gn_eight)(((bits_f)db & finite) | (whole_x & ~finite));
}

// Of n numbers so many at once through one of them.
#define MANY(KIND, FROM, TO, CALL)                                                                                      \
  const size_t at_once = sizeof(KIND) / sizeof *(TO);                                                                   \
  size_t i = 0;                                                                                                         \
  KIND y = {0};                                                                                                         \
  for (; i + at_once <= n; i += at_once) {                                                                              \
    memcpy(&y, (FROM) + i, sizeof y);                                                                                   \
    CALL;                                                                                                               \
    memcpy((TO) + i, &y, sizeof y);                                                                                     \
  }                                                                                                                     \
  memcpy(&y, (FROM) + i, (n - i) * sizeof *(FROM));                                                                     \
  CALL;                                                                                                                 \
  memcpy((TO) + i, &y, (n - i) * sizeof *(TO));

GN_WIDE void gn_log_many(double *x, size_t n) { MANY(lanes, x, x, to_logs(&y)) }
GN_WIDE void gn_exp_many(double *x, size_t n) { MANY(lanes, x, x, to_exps(&y)) }
GN_WIDE void gn_levels_db(const float *power, float added, float *db, size_t n) { MANY(gn_eight, power, db, (y += added, to_levels(&y))) }
