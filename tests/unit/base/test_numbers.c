// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>

#include "base/numbers.h"

// C17 7.12.9.6: round() takes halves away from zero. All of these are exact in binary.
static void halves_go_away_from_zero(void **state) {
  (void)state;
  assert_near(gn_rounded(12.25, 1), 12.3, 0);
  assert_near(gn_rounded(-12.25, 1), -12.3, 0);
  assert_near(gn_rounded(0.0625, 3), 0.063, 0);
  assert_near(gn_rounded(2.5, 0), 3, 0);
}

static void what_has_no_such_places_stays(void **state) {
  (void)state;
  assert_near(gn_rounded(123456789012.7, 0), 123456789012.7, 0); // beyond where a report rounds
  assert_true(isinf(gn_rounded((double)INFINITY, 2)));
  assert_true(isnan(gn_rounded((double)NAN, 1)));
}

static void a_thread_writes_points_and_gets_its_locale_back(void **state) {
  (void)state;
  char text[16];
  const locale_t before = uselocale((locale_t)0);
  {
    GN_PLAIN_NUMBERS;
    assert_true(uselocale((locale_t)0) != before);
    snprintf(text, sizeof text, "%.1f", 0.5);
    assert_string_equal(text, "0.5");
  }
  assert_true(uselocale((locale_t)0) == before);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(halves_go_away_from_zero),
      cmocka_unit_test(what_has_no_such_places_stays),
      cmocka_unit_test(a_thread_writes_points_and_gets_its_locale_back),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
