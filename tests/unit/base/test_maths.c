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

// A closed form, and its sum: half of the places.
static void a_hann_window_is_the_square_of_a_sine(void **state) {
  (void)state;
  static const size_t LENGTHS[] = {2, 7, 128};
  for (size_t k = 0; k < 3; k++) {
    const size_t n = LENGTHS[k];
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
      const double sine = sin(M_PI * ((double)i + 0.5) / (double)n);
      assert_near(gn_hann(i, n), sine * sine, 1e-14);
      sum += gn_hann(i, n);
    }
    assert_near(sum, (double)n / 2, 1e-12);
  }
}

// The C library's are the oracle: of one number and NaN the number, of two of them NaN.
static void the_smaller_and_the_larger_are_those_of_the_c_library(void **state) {
  (void)state;
  static const double VALUES[] = {-INFINITY, -2.5, 0, 1e-300, 7, INFINITY, NAN};
  const size_t n = sizeof VALUES / sizeof *VALUES;
  for (size_t i = 0; i < n * n; i++) {
    const double x = VALUES[i / n], y = VALUES[i % n], least = fmin(x, y), most = fmax(x, y);
    assert_true(isnan(least) ? isnan(gn_min(x, y)) && isnan(gn_min_f((float)x, (float)y)) : gn_min(x, y) == least && gn_min_f((float)x, (float)y) == (float)least);
    assert_true(isnan(most) ? isnan(gn_max(x, y)) && isnan(gn_max_f((float)x, (float)y)) : gn_max(x, y) == most && gn_max_f((float)x, (float)y) == (float)most);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(elementary_functions_agree_with_the_c_library),
      cmocka_unit_test(edges_are_defined),
      cmocka_unit_test(a_hann_window_is_the_square_of_a_sine),
      cmocka_unit_test(the_smaller_and_the_larger_are_those_of_the_c_library),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
