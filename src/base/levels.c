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
static const double ROUNDER = 0x1.8p52, LN2_HI = 6.93147180369123816490e-01, LN2_LO = 1.90821492927058770002e-10; // as in maths.c
static const double LEAST = -708; // e^-708 is a normal number still

// x = 2^k z, and ln z = 2 artanh f with f = (z - 1) / (z + 1), |f| <= 0.1716, by its series to f^15: remainder under 2e-14. No table and no
// branch, so that four may be worked out side by side.
enum { LANES = 4 };
typedef double lanes __attribute__((vector_size(LANES * sizeof(double))));
typedef uint64_t bits __attribute__((vector_size(LANES * sizeof(uint64_t))));

GN_WIDE_PART void to_logs(lanes *x, double scale) {
  const bits whole_x = (bits)*x;
  const bits k = (whole_x + (ONE - HALF_ROOT)) >> 52; // 1023 more than it is
  const lanes z = (lanes)(whole_x - ((k - 1023) << 52)), whole = (lanes)(WHOLE | k);
  const lanes f = (z - 1) / (z + 1), f2 = f * f, f4 = f2 * f2;
  const lanes low = (1 + f2 * (1.0 / 3)) + f4 * (1.0 / 5 + f2 * (1.0 / 7)), high = (1.0 / 9 + f2 * (1.0 / 11)) + f4 * (1.0 / 13 + f2 * (1.0 / 15));
  const lanes log = scale * ((whole - (0x1p52 + 1023)) * LN2 + 2 * f * (low + f4 * f4 * high));
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

// x[0] .. x[n - 1] through one of them.
#define MANY(CALL)                                                                                                      \
  size_t i = 0;                                                                                                         \
  lanes y = {0};                                                                                                        \
  for (; i + LANES <= n; i += LANES) {                                                                                  \
    memcpy(&y, x + i, sizeof y);                                                                                        \
    CALL;                                                                                                               \
    memcpy(x + i, &y, sizeof y);                                                                                        \
  }                                                                                                                     \
  memcpy(&y, x + i, (n - i) * sizeof *x);                                                                               \
  CALL;                                                                                                                 \
  memcpy(x + i, &y, (n - i) * sizeof *x);

GN_WIDE void gn_log_many(double *x, size_t n) { MANY(to_logs(&y, 1)) }
GN_WIDE void gn_exp_many(double *x, size_t n) { MANY(to_exps(&y)) }

GN_WIDE void gn_levels_db(const float *power, double added, float *db, size_t n) {
  size_t i = 0;
  for (; i + LANES <= n; i += LANES) {
    lanes x = {0};
    for (size_t k = 0; k < LANES; k++) x[k] = (double)power[i + k] + added;
    to_logs(&x, DB_PER_NAT);
    for (size_t k = 0; k < LANES; k++) db[i + k] = (float)x[k];
  }
  for (; i < n; i++) {
    lanes x = {(double)power[i] + added};
    to_logs(&x, DB_PER_NAT);
    db[i] = (float)x[0];
  }
}
