// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/maths.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/maths_tables.h"

// ln 2 in two parts, the first exact in the products below (fdlibm's split).
static const double LN2_HI = 6.93147180369123816490e-01, LN2_LO = 1.90821492927058770002e-10;

static const double ROUNDER = 0x1.8p52;                    // added and taken away again: the nearest whole number is left
static const uint64_t FIRST_NODE = 0x3fe6c00000000000u; // 0.7109375

static double two_to(int k) {
  const uint64_t bits = (uint64_t)(1023 + k) << 52;
  double x;
  memcpy(&x, &bits, sizeof x);
  return x;
}

// 2^k sum, in two factors where 2^k alone is no normal number.
static double scaled(double sum, int k) {
  if (k < -1000) return sum * two_to(k + 200) * two_to(-200);
  return k > 1000 ? sum * two_to(k - 10) * two_to(10) : sum * two_to(k);
}

// x = (32 k + j) ln 2 / 32 + r, |r| <= 0.0109: e^x = 2^k 2^(j/32) e^r, and e^r by Taylor to r^6/6!: remainder under 4e-18.
double gn_exp(double x) {
  if (!(x <= 709.782)) return isnan(x) ? x : (double)INFINITY;
  if (x < -745.2) return 0;
  const double shifted = x * (32 / 0.69314718055994530942) + ROUNDER, steps = shifted - ROUNDER;
  const int n = (int)steps;
  const double r = (x - steps * (LN2_HI / 32)) - steps * (LN2_LO / 32), r2 = r * r;
  const double p = r + r2 * ((1.0 / 2 + r * (1.0 / 6)) + r2 * ((1.0 / 24 + r * (1.0 / 120)) + r2 * (1.0 / 720)));
  const double power = POWERS[n & 31];
  return scaled(power + power * p, (n - (n & 31)) / 32);
}

// What is not a positive normal number.
static double log_odd(double x) {
  if (isnan(x) || x < 0) return NAN;
  if (x == 0) return -INFINITY;
  return isinf(x) ? x : gn_log(x * 0x1p54) - 54 * 0.69314718055994530942;
}

// x = 2^k z, and z = node (1 + r), 0 <= r <= 1/64: the table has 1/node and log node; log(1 + r) by its series to r^8: remainder
// under 7e-18. 1 is a node, so that log 1 is 0.
double gn_log(double x) {
  if (!(x >= 0x1p-1022 && x <= DBL_MAX)) return log_odd(x);
  uint64_t bits;
  memcpy(&bits, &x, sizeof bits);
  const uint64_t over = bits - FIRST_NODE, row = over >> (52 - 6) & 63;
  const uint64_t exponent = over & 0xfff0000000000000u, z_bits = bits - exponent, node_bits = FIRST_NODE + (row << (52 - 6));
  double z, node;
  memcpy(&z, &z_bits, sizeof z);
  memcpy(&node, &node_bits, sizeof node);
  const double k = (double)((int)(bits >> 52) - (int)(z_bits >> 52)), r = (z - node) * NODES[row][0], r2 = r * r;
  const double log1p = r + r2 * ((-1.0 / 2 + r * (1.0 / 3)) + r2 * ((-1.0 / 4 + r * (1.0 / 5)) + r2 * ((-1.0 / 6 + r * (1.0 / 7)) + r2 * (-1.0 / 8))));
  return k * LN2_HI + (NODES[row][1] + (log1p + k * LN2_LO));
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

double gn_hann(size_t i, size_t n) { return 0.5 - 0.5 * gn_cos(2 * GN_PI * ((double)i + 0.5) / (double)n); }
