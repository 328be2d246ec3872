// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "segment/timing.h"

enum { MOST_N = 40 };

// Beats 0.6 s apart whose second sounds lie at these shares of the interval, in turn; every_longer: so often one is twice as long (0: never).
static double uneven_of(size_t n_beats, const double share[2], size_t every_longer) {
  gn_beat_frames beats[MOST_N];
  gn_sound_times times[2 * MOST_N];
  memset(times, 0, sizeof times);
  double at_s = 1;
  for (size_t i = 0; i < n_beats; i++) {
    const double interval_s = every_longer && i % every_longer == every_longer - 1 ? 1.2 : 0.6;
    times[i].onset_s = at_s;
    times[n_beats + i].onset_s = at_s + 0.6 * share[i % 2];
    beats[i] = (gn_beat_frames){(long)floor(100 * at_s + 0.5), (long)floor(100 * (at_s + 0.3) + 0.5)};
    at_s += interval_s;
  }
  float wave = 0;
  const gn_features f = {.rate_hz = 100, .wave = &wave};
  const gn_hearing h = {.f = &f};
  gn_candidate c = {.beats = beats, .n_beats = n_beats, .times = times};
  double uneven = 0;
  assert_int_equal(gn_timing_uneven(&h, &c, &uneven), 0);
  return uneven;
}

static void second_sounds_are_as_far_from_the_middle_as_they_lie(void **state) {
  (void)state;
  assert_near(uneven_of(21, (const double[]){0.46, 0.46}, 0), 0.04, 1e-9);
  assert_near(uneven_of(21, (const double[]){0.55, 0.55}, 0), 0.05, 1e-9);
  assert_near(uneven_of(21, (const double[]){0.5, 0.5}, 0), 0, 1e-9);
}

// Of n that lie d to either side of their mean by turns the variance is d^2 n / (n - 1), the mean's standard error d / sqrt(n - 1): four are taken off.
static void what_chance_may_do_is_taken_off(void **state) {
  (void)state;
  assert_near(uneven_of(21, (const double[]){0.44, 0.48}, 0), 0.04 - 4 * 0.02 / sqrt(19), 1e-9);
  assert_true(uneven_of(11, (const double[]){0.42, 0.5}, 0) < 0);
}

// With a beat left out the second sound of the one before it would lie at a quarter.
static void intervals_unlike_the_usual_have_no_say(void **state) {
  (void)state;
  assert_near(uneven_of(21, (const double[]){0.5, 0.5}, 4), 0, 1e-9);
}

static void seven_intervals_are_too_few(void **state) {
  (void)state;
  assert_near(uneven_of(9, (const double[]){0.46, 0.46}, 0), 0.04, 1e-9);
  assert_true(isnan(uneven_of(8, (const double[]){0.46, 0.46}, 0)));
  assert_true(isnan(uneven_of(2, (const double[]){0.46, 0.46}, 0)));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(second_sounds_are_as_far_from_the_middle_as_they_lie),
      cmocka_unit_test(what_chance_may_do_is_taken_off),
      cmocka_unit_test(intervals_unlike_the_usual_have_no_say),
      cmocka_unit_test(seven_intervals_are_too_few),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
