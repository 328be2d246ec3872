// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/weighted.h"

// 1^2 + 2^2 + ... + n^2 = n (n + 1) (2 n + 1) / 6, with weights that are all 2; whole numbers are exact in any order.
static void sums_of_squares_are_the_closed_form(void **state) {
  (void)state;
  double w[100];
  float w_f[100], x[100];
  for (size_t i = 0; i < 100; i++) w[i] = 2, w_f[i] = 2, x[i] = (float)(i + 1);
  for (size_t n = 0; n <= 100; n++) {
    const double want = 2.0 * (double)(n * (n + 1) * (2 * n + 1)) / 6;
    assert_near(gn_weighted_squares(w, x, n), want, 0);
    if (n % GN_WEIGHTED_LANES == 0) assert_near(gn_weighted_squares_f(w_f, x, n), want, 0);
  }
}

static void each_weight_meets_its_own_sample(void **state) {
  (void)state;
  double w[40] = {0};
  float w_f[40] = {0}, x[40];
  for (size_t i = 0; i < 40; i++) x[i] = (float)i - 20;
  for (size_t i = 0; i < 40; i++) {
    w[i] = w_f[i] = 3;
    assert_near(gn_weighted_squares(w, x, 40), 3 * (double)x[i] * (double)x[i], 0);
    assert_near(gn_weighted_squares_f(w_f, x, 40), 3 * (double)x[i] * (double)x[i], 0);
    w[i] = w_f[i] = 0;
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sums_of_squares_are_the_closed_form),
      cmocka_unit_test(each_weight_meets_its_own_sample),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
