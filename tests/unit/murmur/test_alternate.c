// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "analyse.h"

static const double FROM_S = 0.15, TO_S = 0.33, INTERVAL_S = 1.0, SYSTOLE_S = 0.35;
enum { BEATS = 24 };

// Beats so far before and after an even one, and noise in systole, at one level in every second beat and so much softer in the others.
static heart *alternating(double uneven_s, double level_db, double softer_db) {
  heart *h = heart_new(2000, BEATS, INTERVAL_S, SYSTOLE_S);
  for (size_t i = 0; i < h->n; i++) h->x[i] = 0;
  for (size_t i = 0; i < BEATS; i++) {
    girthline_beat *b = &h->beats[i];
    b->s1_onset_s += i % 2 ? uneven_s : 0;
    b->s2_onset_s += i % 2 ? uneven_s : 0;
    heart_tone(h, b->s1_onset_s, HEART_S1_S, 70, HEART_AMPLITUDE);
    heart_tone(h, b->s2_onset_s, HEART_S2_S, 80, 0.8 * HEART_AMPLITUDE);
    const double rms = sqrt(gn_from_db(level_db - (i % 2 ? softer_db : 0))) * h->s1_rms;
    heart_noise(h, b->s1_onset_s + FROM_S, TO_S - FROM_S, rms, 100 + i);
  }
  heart_noise(h, 0, 1e9, 0.0005, 1);
  return h;
}

static girthline_result *told(double uneven_s, double level_db, double softer_db, double breaths_per_min) {
  heart *h = alternating(uneven_s, level_db, softer_db);
  girthline_result *r = analyse_beside(h, NULL, 0, breaths_per_min);
  heart_free(h);
  return r;
}

static void expect(double uneven_s, double level_db, double softer_db, double breaths_per_min, girthline_tristate present) {
  girthline_result *r = told(uneven_s, level_db, softer_db, breaths_per_min);
  assert_int_equal(r->murmur.present, present);
  assert_int_equal(r->murmur.n_phases, present == GIRTHLINE_YES ? 1 : 0);
  girthline_result_free(r);
}

static void a_breath_in_and_out_on_every_second_beat_is_no_murmur(void **state) {
  (void)state;
  expect(0, -18, 8, NAN, GIRTHLINE_NO);
  expect(0, -18, 8, 30, GIRTHLINE_NO);
  expect(0, -18, 8, 28, GIRTHLINE_NO); // as near as breaths are counted
}

static void what_lies_alike_in_every_beat_is_one(void **state) {
  (void)state;
  expect(0, -18, 0, NAN, GIRTHLINE_YES);
  expect(0, -18, 0, 30, GIRTHLINE_YES);
}

static void what_alternates_at_no_breaths_pace_is_one(void **state) {
  (void)state;
  expect(0, -18, 8, 15, GIRTHLINE_YES);
  expect(0, -18, 8, 20, GIRTHLINE_YES);
  expect(0, -18, 8, 60, GIRTHLINE_YES);
}

static void what_alternates_with_the_filling_is_one(void **state) {
  (void)state;
  expect(0.2, -18, 8, NAN, GIRTHLINE_YES);
}

static void what_is_loud_is_told_whatever_its_course(void **state) {
  (void)state;
  expect(0, 0, 8, NAN, GIRTHLINE_YES);
}

static void such_a_breath_hides_a_murmur_as_loud(void **state) {
  (void)state;
  girthline_result *quiet = told(0, -90, 0, NAN), *breath = told(0, -15, 5, NAN);
  assert_true(quiet->murmur.detection_limit_db[0] < -22.5);
  assert_true(breath->murmur.detection_limit_db[0] > -22 && breath->murmur.detection_limit_db[0] < -14);
  girthline_result_free(quiet);
  girthline_result_free(breath);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_breath_in_and_out_on_every_second_beat_is_no_murmur),
      cmocka_unit_test(what_lies_alike_in_every_beat_is_one),
      cmocka_unit_test(what_alternates_at_no_breaths_pace_is_one),
      cmocka_unit_test(what_alternates_with_the_filling_is_one),
      cmocka_unit_test(what_is_loud_is_told_whatever_its_course),
      cmocka_unit_test(such_a_breath_hides_a_murmur_as_loud),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
