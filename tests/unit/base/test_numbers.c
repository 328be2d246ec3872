// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>

#include "base/numbers.h"
#include "base/result.h"

// C17 7.12.9.6: round() takes halves away from zero. All of these are exact in binary.
static void halves_go_away_from_zero(void **state) {
  (void)state;
  assert_near(gn_rounded(12.25, 1), 12.3, 0);
  assert_near(gn_rounded(-12.25, 1), -12.3, 0);
  assert_near(gn_rounded(0.0625, 3), 0.063, 0);
  assert_near(gn_rounded(2.5, 0), 3, 0);
}

// 95.497 is 95.50 in a report's two places, and who reads that on says 96.
static void a_whole_number_is_that_of_the_places_given(void **state) {
  (void)state;
  assert_near(gn_whole(95.497, 2), 96, 0);
  assert_near(gn_whole(95.494, 2), 95, 0);
  assert_near(gn_whole(-7.46, 1), -8, 0);
  assert_near(gn_whole(8.5, 1), 9, 0); // printf's %.0f says 8
  assert_true(isnan(gn_whole((double)NAN, 1)));
}

static void minutes_are_given_as_they_were_and_one_is_one(void **state) {
  (void)state;
  static const struct {
    double minutes;
    const char *words;
  } OF[] = {{0, "0 minutes"}, {1, "1 minute"}, {0.996, "1 minute"}, {1.25, "1.25 minutes"}, {2.5, "2.5 minutes"}, {20, "20 minutes"}, {100000, "100000 minutes"}};
  char store[40];
  for (size_t i = 0; i < sizeof OF / sizeof *OF; i++) assert_string_equal(gn_numbers_minutes(OF[i].minutes, store), OF[i].words);
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

static void a_confidence_is_never_more_percent_than_it_is(void **state) {
  (void)state;
  static const struct {
    double confidence, percent;
    const char *before;
  } OF[] = {{(double)0.95f, 95, ""}, {0.57, 57, ""}, {0.5799, 58, ""}, {0.5794, 57, ""}, {0.99, 99, ""}, {0.991, 99, "over "}, {1, 99, "over "}, {0, 0, ""}};
  for (size_t i = 0; i < sizeof OF / sizeof *OF; i++) {
    double percent;
    assert_string_equal(gn_numbers_percent(OF[i].confidence, &percent), OF[i].before);
    assert_near(percent, OF[i].percent, 0); // (double)0.95f is 0.94999998808, and 100 * 0.57 is 56.99999999999999
  }
}

static void numbers_under_zero_get_a_true_minus_and_nothing_else_does(void **state) {
  (void)state;
  char text[96], small[8];
  gn_numbers_signed("-3 to -2.5 dB (-1), -0 and -0.5, well-known 2026-05-12, e-3", text, sizeof text);
  assert_string_equal(text, "\xE2\x88\x92" "3 to \xE2\x88\x92" "2.5 dB (\xE2\x88\x92" "1), 0 and \xE2\x88\x92" "0.5, well-known 2026-05-12, e-3");
  gn_numbers_signed("12345 -6", small, sizeof small); // no room for the sign: no part of it
  assert_string_equal(small, "12345 ");
  gn_numbers_signed("-1", small, 1);
  assert_string_equal(small, "");
}

// The number that a report tells decides, so that nobody reads "28, below 28 to 44" or "-6 dB, softer: under -6".
static void words_are_those_of_the_number_that_is_told(void **state) {
  (void)state;
  static const double RANGE[] = {28, 44};
  static const struct { double bpm; girthline_standing standing; const char *just; } RATES[] = {
      {27.994, GIRTHLINE_BELOW, "just "}, {27.996, GIRTHLINE_WITHIN, ""}, {28, GIRTHLINE_WITHIN, ""},     {27.4, GIRTHLINE_BELOW, ""},
      {44.004, GIRTHLINE_WITHIN, ""},     {44.006, GIRTHLINE_ABOVE, "just "}, {44.6, GIRTHLINE_ABOVE, ""}, {NAN, GIRTHLINE_STANDING_UNKNOWN, ""}};
  for (size_t i = 0; i < sizeof RATES / sizeof *RATES; i++) {
    assert_int_equal(gn_result_standing(RATES[i].bpm, RANGE), RATES[i].standing);
    assert_string_equal(gn_numbers_just(RATES[i].bpm, RANGE), RATES[i].just);
  }
  static const struct { double level_db; girthline_loudness loudness; } LEVELS[] = {
      {-6.06, GIRTHLINE_SOFTER}, {-6.04, GIRTHLINE_AS_LOUD}, {0, GIRTHLINE_AS_LOUD}, {6.04, GIRTHLINE_AS_LOUD}, {6.06, GIRTHLINE_LOUDER}, {NAN, GIRTHLINE_AS_LOUD}};
  for (size_t i = 0; i < sizeof LEVELS / sizeof *LEVELS; i++) assert_int_equal(gn_result_loudness(LEVELS[i].level_db), LEVELS[i].loudness);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(halves_go_away_from_zero),
      cmocka_unit_test(a_whole_number_is_that_of_the_places_given),
      cmocka_unit_test(minutes_are_given_as_they_were_and_one_is_one),
      cmocka_unit_test(a_confidence_is_never_more_percent_than_it_is),
      cmocka_unit_test(what_has_no_such_places_stays),
      cmocka_unit_test(words_are_those_of_the_number_that_is_told),
      cmocka_unit_test(numbers_under_zero_get_a_true_minus_and_nothing_else_does),
      cmocka_unit_test(a_thread_writes_points_and_gets_its_locale_back),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
