// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <float.h>

#include "base/levels.h"
#include "base/maths.h"
#include "base/random.h"

enum { N = 4099 };

static void levels_are_ten_times_the_decimal_logarithm(void **state) {
  (void)state;
  static float power[N], db[N];
  gn_random r = gn_random_of(1);
  for (size_t i = 0; i < N; i++) power[i] = (float)gn_exp(60 * gn_random_uniform(&r) - 50);
  gn_levels_db(power, 1e-30f, db, N);
  for (size_t i = 0; i < N; i++) assert_near(db[i], 10 * log10((double)power[i] + 1e-30), 4e-6 * fmax(1, fabs((double)db[i]) / 30));
}

// Around powers of two and of their roots, where the parts of the formula meet.
static void levels_rise_with_the_power(void **state) {
  (void)state;
  float power[N], db[N];
  power[0] = 0.3f;
  for (size_t i = 1; i < N; i++) power[i] = nextafterf(power[i - 1] * (i % 64 ? 1 : 1.03f), FLT_MAX);
  gn_levels_db(power, 0, db, N);
  for (size_t i = 1; i < N; i++) assert_true(db[i] >= db[i - 1]);
  for (size_t i = 0; i < N; i++) assert_near(db[i], gn_db((double)power[i]), 4e-6);
}

static void the_ends_are_what_they_should_be(void **state) {
  (void)state;
  float x[] = {1, 10, 0, 1e-45f, FLT_MAX, INFINITY, NAN, 0.1f, 2};
  gn_levels_db(x, 1e-30f, x, 9);
  const double want[] = {0, 10, -300, -300, 385.31839, INFINITY, NAN, -10, 3.0103};
  for (size_t i = 0; i < 5; i++) assert_near(x[i], want[i], 4e-5);
  assert_true(isinf(x[5]) && x[5] > 0 && isnan(x[6]));
  assert_near(x[7], -10, 1e-6);
  assert_near(x[8], want[8], 1e-6);
  gn_levels_db(x, 1, x, 0);
}

static void logarithms_and_powers_of_many_are_those_of_one(void **state) {
  (void)state;
  static double x[N], y[N];
  gn_random r = gn_random_of(2);
  for (size_t i = 0; i < N; i++) x[i] = y[i] = 1400 * gn_random_uniform(&r) - 700;
  gn_exp_many(y, N);
  for (size_t i = 0; i < N; i++) assert_near(y[i] / exp(x[i]), 1, 1e-15);
  gn_log_many(y, N - 491);
  for (size_t i = 0; i < N - 491; i++) assert_near(y[i], x[i], 3e-14 + 4e-16 * fabs(x[i]));
  for (size_t i = N - 491; i < N; i++) assert_near(y[i] / exp(x[i]), 1, 1e-15); // nothing behind them is touched
  double ends[] = {0, 1, -708, -800, -INFINITY, NAN, 709};
  gn_exp_many(ends, 7);
  assert_true(ends[0] == 1);
  assert_near(ends[1], 2.718281828459045, 1e-15);
  for (size_t i = 2; i < 5; i++) assert_near(ends[i] / 3.307553003638408e-308, 1, 1e-12);
  assert_true(isnan(ends[5]));
  assert_near(ends[6] / exp(709), 1, 1e-15);
  double logs[] = {1, INFINITY, NAN, 1e-300, 2};
  gn_log_many(logs, 5);
  assert_true(logs[0] == 0 && isinf(logs[1]) && logs[1] > 0 && isnan(logs[2]));
  assert_near(logs[3], -690.7755278982137, 1e-12);
  assert_near(logs[4], 0.6931471805599453, 1e-14);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(levels_are_ten_times_the_decimal_logarithm),
      cmocka_unit_test(levels_rise_with_the_power),
      cmocka_unit_test(the_ends_are_what_they_should_be),
      cmocka_unit_test(logarithms_and_powers_of_many_are_those_of_one),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
