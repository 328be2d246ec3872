// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include "segment/candidate.h"

enum { FRAMES = 9000, SYSTOLE = 45 };

// A heart whose intervals are these, in turn.
static gn_features heart_of(const long *intervals, size_t n_intervals) {
  gn_features f = hear_empty(FRAMES);
  gn_random r = gn_random_of(5);
  size_t i = 0;
  for (long at = 40; at < FRAMES; at += intervals[i++ % n_intervals]) {
    hear_bump(&f, at, 13, 16, 12);
    hear_bump(&f, at + SYSTOLE, 8, 10, 15);
  }
  for (size_t k = 0; k < FRAMES; k++)
    for (size_t b = 0; b < GN_N_BANDS; b++) f.level_db[b][k] = fmaxf(f.level_db[b][k], 3) + (float)gn_random_normal(&r);
  return f;
}

// How many accounts are heard of a window that goes on as the one before, which was the same.
static size_t accounts_of(const long *intervals, size_t n_intervals) {
  gn_features f = heart_of(intervals, n_intervals);
  const girthline_profile *profile = hear_profile(GIRTHLINE_HORSE);
  const gn_lags lags = gn_lags_between(60 / profile->possible_bpm[1], 60 / profile->possible_bpm[0]);
  gn_durations durations;
  gn_hearing h;
  assert_int_equal(gn_durations_init(&durations, &lags, 100, profile), 0);
  assert_int_equal(gn_hearing_init(&h, &f, profile, &durations), 0);
  assert_int_equal(gn_candidate_choose(&h, NULL), 0);
  assert_true(h.n > 0 && h.list[0].gain_per_beat >= GN_CLEAR_GAIN);
  const gn_carried carried = gn_candidate_carry(&h, 0);
  gn_candidate_drop(&h);
  assert_int_equal(gn_candidate_resume(&h, &carried), 0);
  const size_t n = h.n;
  gn_hearing_clear(&h);
  gn_durations_clear(&durations);
  gn_features_clear(&f);
  return n;
}

static void a_clear_even_heart_is_heard_with_its_period_alone(void **state) {
  (void)state;
  assert_int_equal(accounts_of((const long[]){150}, 1), 1);
}

static void a_beat_left_out_now_and_then_asks_for_no_account_without_a_period(void **state) {
  (void)state;
  assert_int_equal(accounts_of((const long[]){150, 150, 150, 150, 150, 150, 300}, 7), 1);
}

static void uneven_intervals_are_heard_without_a_period_too(void **state) {
  (void)state;
  assert_int_equal(accounts_of((const long[]){150, 190, 120, 210, 135, 165, 110, 200, 145}, 9), 2);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_clear_even_heart_is_heard_with_its_period_alone),
      cmocka_unit_test(a_beat_left_out_now_and_then_asks_for_no_account_without_a_period),
      cmocka_unit_test(uneven_intervals_are_heard_without_a_period_too),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
