// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"

#include "base/random.h"
#include "rhythm/parts.h"

static double odds_of(const double *ms, size_t n) {
  girthline_result *r = with_intervals_ms(ms, n, 0.2);
  gn_series s = {0};
  double odds;
  assert_int_equal(gn_rhythm_intervals(r), 0);
  assert_int_equal(gn_rhythm_series_init(&s, r), 0);
  for (size_t i = 0; i < s.n; i++) s.trend[i] = 1;
  assert_int_equal(gn_rhythm_events(&s), 0);
  assert_int_equal(gn_rhythm_steady_odds(&s, &odds), 0);
  gn_rhythm_series_clear(&s);
  girthline_result_free(r);
  return odds;
}

// Each of n equal intervals stands at the peak of both accounts' narrowest curve, of spread 0.02 and 0.14, and is a stray one in 2 of 100.
static void equal_intervals_have_the_odds_of_the_two_narrowest_curves(void **state) {
  (void)state;
  double ms[30];
  for (size_t i = 0; i < 30; i++) ms[i] = 1500;
  const double peak = 1 / sqrt(2 * 3.14159265358979), stray = 0.02 / 2.7;
  const double each = log(0.94 * peak / 0.02 + stray) - log(0.98 * peak / 0.14 + stray);
  assert_near(odds_of(ms, 10), 10 * each, 1e-6);
  assert_near(odds_of(ms, 30), 30 * each, 1e-6);
}

// Dropped beats, two and four at once too, and early beats, made up for or not, of an otherwise even heart.
static void single_events_of_an_even_heart_are_told_better_by_a_steady_one(void **state) {
  (void)state;
  const double dropped[] = {1500, 1520, 2990, 1480, 1510, 6050, 1500, 1490, 4480, 1500, 1510, 1500};
  const double early[] = {1500, 1520, 950, 2040, 1510, 1500, 1490, 1000, 1500, 1500, 1510, 1500};
  assert_true(odds_of(dropped, 12) > 8);
  assert_true(odds_of(early, 12) > 8);
  assert_int_equal(pattern_of(dropped, 12, 5), GIRTHLINE_PAUSES);
  assert_int_equal(pattern_of(early, 12, 5), GIRTHLINE_EARLY_BEATS);
}

// A compensatory pause: the two intervals around an early beat make two usual ones.
static void what_makes_up_for_the_early_beat_before_it_tells_for_one(void **state) {
  (void)state;
  double ms[] = {1500, 1510, 1490, 900, 2100, 1500, 1510, 1490, 1500, 1500, 1490, 1510};
  const double full = odds_of(ms, 12);
  ms[4] = 1850;
  assert_true(full > odds_of(ms, 12) + 1);
  ms[4] = 2400;
  assert_true(full > odds_of(ms, 12) + 1);
}

// The short intervals of these irregular hearts stand well off the spread of what is left, and some are followed as early beats are.
static void short_intervals_of_an_irregular_heart_are_no_early_beats(void **state) {
  (void)state;
  const double slow[] = {2140, 1560, 1860, 1160, 2070, 1990, 1380, 2380, 2120, 1810};
  const double donkey[] = {1510, 1480, 1220, 1600, 1340, 1630, 1570, 930, 1460, 1480, 1600, 1700, 1500};
  const double broad[] = {3180, 1760, 1830, 1390, 1900, 1050, 2650, 3530, 1540, 3500, 1880, 1730, 1500, 1260};
  assert_true(odds_of(slow, 10) < 4 && odds_of(donkey, 13) < 4 && odds_of(broad, 14) < 4);
  assert_int_equal(pattern_of(slow, 10, 5), GIRTHLINE_IRREGULAR);
  assert_int_equal(pattern_of(donkey, 13, 5), GIRTHLINE_IRREGULAR);
  assert_int_equal(pattern_of(broad, 14, 5), GIRTHLINE_IRREGULAR);
}

// Fibrillation's intervals spread about 24 % (Tateno and Glass 2001); here as the logarithm of a normal variable.
static void fibrillation_is_told_better_by_no_pattern(void **state) {
  (void)state;
  gn_random g = gn_random_of(31);
  double ms[25];
  int wrong = 0;
  for (int k = 0; k < 200; k++) {
    for (size_t i = 0; i < 25; i++) ms[i] = 1400 * exp(0.24 * gn_random_normal(&g));
    wrong += odds_of(ms, 25) > 4; // the usual limit
  }
  assert_true(wrong <= 4);
}

static void an_empty_series_has_no_odds_and_refused_memory_is_told(void **state) {
  (void)state;
  const girthline_rhythm_limits limits = {0};
  gn_series none = {.limits = &limits};
  double odds = 0;
  assert_int_equal(gn_rhythm_steady_odds(&none, &odds), 0);
  assert_true(isnan(odds));
  gn_memory_refuse(1);
  assert_int_equal(gn_rhythm_steady_odds(&none, &odds), -1);
  gn_memory_refuse(0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(equal_intervals_have_the_odds_of_the_two_narrowest_curves),
      cmocka_unit_test(single_events_of_an_even_heart_are_told_better_by_a_steady_one),
      cmocka_unit_test(what_makes_up_for_the_early_beat_before_it_tells_for_one),
      cmocka_unit_test(short_intervals_of_an_irregular_heart_are_no_early_beats),
      cmocka_unit_test(fibrillation_is_told_better_by_no_pattern),
      cmocka_unit_test(an_empty_series_has_no_odds_and_refused_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
