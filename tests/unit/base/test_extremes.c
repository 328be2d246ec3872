// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/extremes.h"

// Every length up to several times the width that is taken at once, with the extreme at every place.
static void the_extremes_are_found_wherever_they_lie(void **state) {
  (void)state;
  float x[150] = {0};
  for (size_t n = 1; n < 150; n++)
    for (size_t at = 0; at < n; at++) {
      float low = 0.5f, high = 0.5f;
      x[at] = -3;
      x[n - 1 - at] = at == n - 1 - at ? -3 : 2;
      gn_extremes(x, n, &low, &high);
      assert_true(low == -3);
      assert_true(high == (at == n - 1 - at ? 0.5f : 2));
      x[at] = x[n - 1 - at] = 0;
    }
}

static void nothing_widens_nothing_and_what_is_not_a_number_is_left_out(void **state) {
  (void)state;
  float x[70], low = -1, high = 1;
  for (size_t i = 0; i < 70; i++) x[i] = NAN;
  gn_extremes(x, 0, &low, &high);
  gn_extremes(x, 70, &low, &high);
  assert_true(low == -1 && high == 1);
  x[40] = -INFINITY;
  x[69] = 5;
  gn_extremes(x, 70, &low, &high);
  assert_true(low == -INFINITY && high == 5);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_extremes_are_found_wherever_they_lie),
      cmocka_unit_test(nothing_widens_nothing_and_what_is_not_a_number_is_left_out),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
