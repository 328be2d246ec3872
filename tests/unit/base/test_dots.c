// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/dots.h"

// Row i of the longer one is i + 1, the shape is all 2: 2 ((j + 1) + ... + (j + n)) = n (2 j + n + 1); whole numbers are exact in any order.
static void sums_of_products_are_the_closed_form(void **state) {
  (void)state;
  float x[40], y[80];
  double out[41];
  for (size_t i = 0; i < 40; i++) x[i] = 2;
  for (size_t i = 0; i < 80; i++) y[i] = (float)(i + 1);
  for (size_t n = 0; n <= 40; n++)
    for (size_t n_out = 0; n_out <= 40; n_out++) {
      for (size_t j = 0; j <= 40; j++) out[j] = -1;
      gn_dots_f(x, n, y, out, n_out);
      for (size_t j = 0; j < n_out; j++) assert_near(out[j], (double)(n * (2 * j + n + 1)), 0);
      for (size_t j = n_out; j <= 40; j++) assert_near(out[j], -1, 0);
    }
}

static void each_is_the_one_sum_to_the_same_bits(void **state) {
  (void)state;
  float x[61], y[100];
  double out[40];
  for (size_t i = 0; i < 100; i++) y[i] = 1.0f / (float)(i + 3) - 0.02f * (float)(i % 7);
  for (size_t i = 0; i < 61; i++) x[i] = 0.1f * (float)(i % 11) - 0.37f;
  for (size_t n_out = 1; n_out <= 40; n_out++) {
    gn_dots_f(x, 61, y, out, n_out);
    for (size_t j = 0; j < n_out; j++) assert_near(out[j], gn_dot_f(x, y + j, 61), 0);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sums_of_products_are_the_closed_form),
      cmocka_unit_test(each_is_the_one_sum_to_the_same_bits),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
