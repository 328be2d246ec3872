// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/statistics.h"

// numpy.quantile([1..8], q) of numpy 1.24, default method: 0.25 -> 2.75, 0.5 -> 4.5, 0.9 -> 7.3.
static void quantile_is_numpys_default(void **state) {
  (void)state;
  const double q[] = {0.25, 0.5, 0.9, 0, 1}, want[] = {2.75, 4.5, 7.3, 1, 8};
  for (int i = 0; i < 5; i++) {
    double x[] = {8, 3, 1, 6, 2, 7, 5, 4};
    assert_near(gn_quantile(x, 8, q[i]), want[i], 1e-12);
    float y[] = {8, 3, 1, 6, 2, 7, 5, 4};
    assert_near(gn_quantile_f(y, 8, q[i]), want[i], 1e-6);
  }
}

static void quantile_of_nothing_is_nan(void **state) {
  (void)state;
  double x[1] = {3};
  assert_true(isnan(gn_quantile(x, 0, 0.5)));
  assert_near(gn_quantile(x, 1, 0.3), 3, 0);
}

// The series A of the worked table: mean 1517.0 ms, SDNN (N - 1) 42.9599 ms (derived by hand from the definitions).
static void mean_and_sd_match_the_worked_series(void **state) {
  (void)state;
  const double a[] = {1500, 1540, 1480, 1520, 1600, 1560, 1500, 1450, 1490, 1530};
  assert_near(gn_mean(a, 10), 1517.0, 1e-9);
  assert_near(gn_sd(a, 10), 42.9599, 5e-5);
  assert_true(isnan(gn_sd(a, 1)));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(quantile_is_numpys_default),
      cmocka_unit_test(quantile_of_nothing_is_nan),
      cmocka_unit_test(mean_and_sd_match_the_worked_series),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
