// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/maths.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

// ln 2 in two parts, the first exact in the products below (fdlibm's split).
static const double LN2_HI = 6.93147180369123816490e-01, LN2_LO = 1.90821492927058770002e-10;

static double two_to(int k) {
  const uint64_t bits = (uint64_t)(1023 + k) << 52;
  double x;
  memcpy(&x, &bits, sizeof x);
  return x;
}

double gn_exp(double x) {
  if (isnan(x)) return x;
  if (x > 709.782) return INFINITY;
  if (x < -745.2) return 0;
  const int k = (int)floor(x / 0.69314718055994530942 + 0.5);
  const double r = (x - k * LN2_HI) - k * LN2_LO;
  // Taylor to r^13/13!: |r| <= 0.3466, remainder under 4e-18.
  double sum = 1;
  for (int n = 13; n >= 1; n--) sum = 1 + sum * r / n;
  if (k < -1000) return sum * two_to(k + 200) * two_to(-200);
  return k > 1000 ? sum * two_to(k - 10) * two_to(10) : sum * two_to(k);
}

double gn_log(double x) {
  if (isnan(x) || x < 0) return NAN;
  if (x == 0) return -INFINITY;
  if (isinf(x)) return x;
  int k = 0;
  if (x < 0x1p-1022) {
    x *= 0x1p54;
    k = -54;
  }
  uint64_t bits;
  memcpy(&bits, &x, sizeof bits);
  k += (int)((bits >> 52) & 0x7ff) - 1023;
  bits = (bits & 0x000fffffffffffffu) | 0x3ff0000000000000u;
  double m;
  memcpy(&m, &bits, sizeof m);
  if (m > 1.41421356237309504880) {
    m *= 0.5;
    k++;
  }
  // log m = 2 atanh(s), s = (m - 1)/(m + 1), |s| <= 0.1716: series to s^21, remainder under 1e-18.
  const double s = (m - 1) / (m + 1), s2 = s * s;
  double sum = 0;
  for (int n = 21; n >= 3; n -= 2) sum = (sum + 1.0 / n) * s2;
  return k * LN2_HI + (2 * s + (2 * s * sum + k * LN2_LO));
}

double gn_log10(double x) { return gn_log(x) * 0.43429448190325182765; }
double gn_pow(double x, double y) { return gn_exp(y * gn_log(x)); }
double gn_db(double power_ratio) { return 10 * gn_log10(power_ratio); }
double gn_from_db(double db) { return gn_exp(db * 0.23025850929940456840); }

// Sine and cosine of |r| <= pi/4 by Taylor; remainders under 1e-17.
static double sin_near(double r) {
  const double r2 = r * r;
  double sum = 0;
  for (int n = 19; n >= 3; n -= 2) sum = (1 + sum) * -r2 / (n * (n - 1));
  return r + r * sum;
}

static double cos_near(double r) {
  const double r2 = r * r;
  double sum = 0;
  for (int n = 18; n >= 2; n -= 2) sum = (1 + sum) * -r2 / (n * (n - 1));
  return 1 + sum;
}

static double quarter(double x, long *q) {
  // pi/2 in three parts of 33 bits each (fdlibm): exact products for the quadrant numbers in range.
  static const double P1 = 1.57079632673412561417e+00, P2 = 6.07710050630396597660e-11, P3 = 2.02226624879595063154e-21;
  *q = (long)floor(x / (GN_PI / 2) + 0.5);
  const double k = (double)*q;
  return ((x - k * P1) - k * P2) - k * P3;
}

double gn_sin(double x) {
  long q;
  const double r = quarter(x, &q);
  switch (q & 3) {
  case 0: return sin_near(r);
  case 1: return cos_near(r);
  case 2: return -sin_near(r);
  default: return -cos_near(r);
  }
}

double gn_cos(double x) {
  long q;
  const double r = quarter(x, &q);
  switch (q & 3) {
  case 0: return cos_near(r);
  case 1: return -sin_near(r);
  case 2: return -cos_near(r);
  default: return sin_near(r);
  }
}

double gn_tan(double x) { return gn_sin(x) / gn_cos(x); }
