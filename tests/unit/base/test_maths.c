// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/maths.h"

// The C library's functions are the oracle: correct to the last place or nearly so on every platform it runs on.
static void elementary_functions_agree_with_the_c_library(void **state) {
  (void)state;
  for (int i = -7000; i <= 7000; i++) {
    const double x = i * 0.1;
    assert_near(gn_exp(x) / exp(x), 1, 2e-15);
    assert_near(gn_sin(x), sin(x), 1e-14);
    assert_near(gn_cos(x), cos(x), 1e-14);
    const double y = exp(x / 10);
    assert_near(gn_log(y), log(y), 3e-16 * fmax(1, fabs(log(y))));
  }
  for (int i = 1; i < 300000; i++) {
    const double x = i * 1e-5, y = 700 - i * 0.00466;
    assert_near(gn_log(x), log(x), 3e-16 * fmax(1, fabs(log(x))));
    assert_near(gn_exp(y) / exp(y), 1, 1e-15);
  }
  assert_true(gn_log(1) == 0 && gn_exp(0) == 1 && gn_db(1) == 0);
  assert_near(gn_tan(0.3), tan(0.3), 1e-15);
  assert_near(gn_log10(1000), 3, 1e-15);
  assert_near(gn_from_db(gn_db(0.3)), 0.3, 1e-15);
}

static void edges_are_defined(void **state) {
  (void)state;
  assert_true(isinf(gn_log(0)) && gn_log(0) < 0);
  assert_true(isnan(gn_log(-1)));
  assert_near(gn_exp(-800), 0, 0);
  assert_true(isinf(gn_exp(800)));
  assert_near(gn_log(1e-310) / log(1e-310), 1, 1e-15);
  assert_near(gn_exp(-700) / exp(-700), 1, 2e-15);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(elementary_functions_agree_with_the_c_library),
      cmocka_unit_test(edges_are_defined),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
