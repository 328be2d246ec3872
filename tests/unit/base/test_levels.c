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
  gn_levels_db(power, 1e-30, db, N);
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
  gn_levels_db(x, 1e-30, x, 9);
  const double want[] = {0, 10, -300, -300, 385.31839, INFINITY, NAN, -10, 3.0103};
  for (size_t i = 0; i < 5; i++) assert_near(x[i], want[i], 4e-5);
  assert_true(isinf(x[5]) && x[5] > 0 && isnan(x[6]));
  assert_near(x[7], -10, 1e-6);
  assert_near(x[8], want[8], 1e-6);
  gn_levels_db(x, 1, x, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(levels_are_ten_times_the_decimal_logarithm),
      cmocka_unit_test(levels_rise_with_the_power),
      cmocka_unit_test(the_ends_are_what_they_should_be),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
