// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"
#include "rhythm/parts.h"

enum { SLOWER_FROM = 2400, MOST = 6000 };
static const double PERIODS_S[2] = {5, 8};

// Intervals of about a second that swing by a tenth, with the first period up to the SLOWER_FROM-th and then with the second.
static gn_wave wave_through(size_t n) {
  double *onsets_s = test_calloc(n + 1, sizeof *onsets_s);
  for (size_t i = 0; i < n; i++) onsets_s[i + 1] = onsets_s[i] + 1 + 0.1 * sin(2 * 3.14159265358979 * onsets_s[i] / PERIODS_S[i >= SLOWER_FROM]);
  girthline_result *r = with_beats(onsets_s, n + 1, onsets_s[n] + 0.5);
  gn_series s = {0};
  gn_wave wave;
  assert_int_equal(gn_rhythm_intervals(r), 0);
  assert_int_equal(gn_rhythm_series_init(&s, r), 0);
  assert_int_equal(gn_rhythm_events(&s), 0);
  assert_int_equal(gn_rhythm_wave(&s, &wave), 0);
  gn_rhythm_series_clear(&s);
  girthline_result_free(r);
  test_free(onsets_s);
  return wave;
}

static void a_wave_has_its_period_and_amplitude(void **state) {
  (void)state;
  const gn_wave wave = wave_through(40);
  assert_near(wave.period_s, PERIODS_S[0], 0.15);
  assert_near(wave.amplitude, 0.1, 0.01);
  assert_true(wave.explained > 0.95 && wave.evidence > 20);
}

// Of an hour and forty minutes, the last hour of which breathes slower.
static void the_period_of_hours_is_that_of_most_of_them(void **state) {
  (void)state;
  assert_near(wave_through(SLOWER_FROM + SLOWER_FROM / 2).period_s, PERIODS_S[0], 0.15);
  assert_near(wave_through(MOST).period_s, PERIODS_S[1], 0.15);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_wave_has_its_period_and_amplitude),
      cmocka_unit_test(the_period_of_hours_is_that_of_most_of_them),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
