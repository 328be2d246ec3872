// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <math.h>

#include "base/dot.h"

// 1 (n + 1) + 2 (n + 2) + ... + n (n + n) = n (n + 1) (5 n + 1) / 6; whole numbers are exact in any order, up to 2^24.
static void a_sum_of_products_is_the_closed_form(void **state) {
  (void)state;
  float x[100] = {0}, y[100] = {0};
  for (size_t n = 0; n <= 100; n++) {
    for (size_t i = 0; i < n; i++) x[i] = (float)(i + 1), y[i] = (float)(n + i + 1);
    assert_near(gn_dot(x, y, n), (double)(n * (n + 1) * (5 * n + 1)) / 6, 0);
  }
}

static void sums_from_neighbouring_places_on_are_those_taken_alone(void **state) {
  (void)state;
  float x[40], y[60];
  double out[20];
  for (size_t i = 0; i < 40; i++) x[i] = (float)sin(1.7 * (double)i);
  for (size_t i = 0; i < 60; i++) y[i] = (float)cos(0.3 * (double)(i * i));
  for (size_t n = 0; n <= 40; n++)
    for (size_t n_places = 0; n_places <= 20; n_places++) {
      gn_dot_along(x, y, n, out, n_places);
      for (size_t q = 0; q < n_places; q++) assert_near(out[q], gn_dot(x, y + q, n), 0);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_sum_of_products_is_the_closed_form),
                                     cmocka_unit_test(sums_from_neighbouring_places_on_are_those_taken_alone)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
