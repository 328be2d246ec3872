// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"

#include "base/random.h"
#include "rhythm/parts.h"

static double odds_of(const double *ms, size_t n) {
  girthline_result *r = with_intervals_ms(ms, n, 0.2);
  gn_series s = {0};
  assert_int_equal(gn_rhythm_intervals(r), 0);
  assert_int_equal(gn_rhythm_series_init(&s, r), 0);
  const double odds = gn_rhythm_sway_odds(&s);
  gn_rhythm_series_clear(&s);
  girthline_result_free(r);
  return odds;
}

// Intervals that swing by a tenth, five to a turn, and spread a little.
static void breathe(double *ms, size_t n, double spread, gn_random *g) {
  double t_ms = 0;
  for (size_t i = 0; i < n; t_ms += ms[i++]) ms[i] = 1000 * (1 + 0.1 * sin(2 * 3.14159265358979 * t_ms / 5000)) * (1 + spread * gn_random_normal(g));
}

// Fibrillation's intervals spread about 24 % (Tateno and Glass 2001); here as the logarithm of a normal variable.
static void fibrillate(double *ms, size_t n, gn_random *g) {
  for (size_t i = 0; i < n; i++) ms[i] = 1000 * exp(0.24 * gn_random_normal(g));
}

static double density(double variance) { return 1 / sqrt(2 * 3.14159265358979 * variance); }

// One interval lies at its own median, its middle where the drift and the sine are nothing and the cosine is one: each account gives it the density of a
// normal variable whose variance is the sum of those of its mean (2), its cosine (the depth) and its spread, and means that over what it tries.
static void one_interval_has_the_odds_of_two_normal_densities(void **state) {
  (void)state;
  static const double DEPTHS[] = {0.05, 0.1, 0.2}, ABOUT[] = {0.015, 0.025, 0.04}, FREE[] = {0.14, 0.2, 0.28};
  double sways = 0, unbound = 0;
  for (size_t i = 0; i < 9; i++) sways += density(4 + DEPTHS[i / 3] * DEPTHS[i / 3] + ABOUT[i % 3] * ABOUT[i % 3]) / 9;
  for (size_t i = 0; i < 3; i++) unbound += density(4 + FREE[i] * FREE[i]) / 3;
  assert_near(odds_of((const double[]){1500}, 1), log(sways / unbound), 1e-9);
}

static void eight_intervals_tell_breathing_from_fibrillation(void **state) {
  (void)state;
  gn_random g = gn_random_of(5);
  double ms[8];
  int breathing = 0, fibrillating = 0;
  for (int k = 0; k < 400; k++) {
    breathe(ms, 8, 0.01, &g);
    breathing += odds_of(ms, 8) > 0;
    fibrillate(ms, 8, &g);
    fibrillating += odds_of(ms, 8) > 0;
  }
  assert_true(breathing == 400);
  assert_true(fibrillating <= 20);
}

// A beat that was missed, and one that came in its place: neither is the wave's.
static void a_wrong_beat_is_left_out_of_the_wave(void **state) {
  (void)state;
  gn_random g = gn_random_of(6);
  double ms[20];
  breathe(ms, 20, 0.01, &g);
  const double whole = odds_of(ms, 20);
  ms[7] *= 2;
  assert_true(whole > 15 && odds_of(ms, 20) > 10);
  ms[12] *= 0.6, ms[13] *= 1.4;
  assert_true(odds_of(ms, 20) > 5);
}

// Forty intervals are a stretch; a second that is like the first says as much again.
static void stretches_add_up(void **state) {
  (void)state;
  gn_random g = gn_random_of(7);
  double ms[80];
  breathe(ms, 40, 0.01, &g);
  memcpy(ms + 40, ms, 40 * sizeof *ms);
  assert_near(odds_of(ms, 80), 2 * odds_of(ms, 40), 1e-6);
  assert_near(odds_of(ms, 0), 0, 0);
}

// Of 200 fibrillating hearts of six to nine intervals.
static void few_intervals_of_an_irregular_heart_make_no_breathing(void **state) {
  (void)state;
  gn_random g = gn_random_of(8);
  double ms[9];
  int cyclic = 0;
  for (size_t k = 0; k < 200; k++) {
    fibrillate(ms, 6 + k % 4, &g);
    girthline_result *r = with_intervals_ms(ms, 6 + k % 4, 0.2);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
    cyclic += r->rhythm.pattern == GIRTHLINE_CYCLIC;
    girthline_result_free(r);
  }
  assert_true(cyclic <= 10);
}

// Slower than breathing mostly is: twelve and fourteen intervals to a turn, of hearts whose rate swings by a fifth.
static void a_slow_wave_is_cyclic_too(void **state) {
  (void)state;
  gn_random g = gn_random_of(9);
  double ms[60];
  for (int turn_n = 12; turn_n <= 14; turn_n += 2)
    for (int k = 0; k < 20; k++) {
      double t_ms = 300 * k;
      for (size_t i = 0; i < 60; t_ms += ms[i++]) ms[i] = 1000 * (1 + 0.2 * sin(2 * 3.14159265358979 * t_ms / (1000 * turn_n))) * (1 + 0.02 * gn_random_normal(&g));
      girthline_result *r = with_intervals_ms(ms, 60, 0.2);
      assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
      assert_int_equal(r->rhythm.pattern, GIRTHLINE_CYCLIC);
      girthline_result_free(r);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_interval_has_the_odds_of_two_normal_densities),
      cmocka_unit_test(eight_intervals_tell_breathing_from_fibrillation),
      cmocka_unit_test(a_wrong_beat_is_left_out_of_the_wave),
      cmocka_unit_test(stretches_add_up),
      cmocka_unit_test(few_intervals_of_an_irregular_heart_make_no_breathing),
      cmocka_unit_test(a_slow_wave_is_cyclic_too),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
