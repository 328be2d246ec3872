// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"

#include "rhythm/parts.h"

// An early beat with another behind it, and one with a pause behind it: each is listed, the interval after the first one is no mere making up.
static void an_early_beat_hides_neither_the_next_one_nor_a_pause(void **state) {
  (void)state;
  double ms[40];
  for (size_t i = 0; i < 40; i++) ms[i] = 1500 + 15 * (double)(i % 3);
  ms[10] = 1050, ms[11] = 1080;
  ms[25] = 950, ms[26] = 2700;
  girthline_result *r = with_intervals_ms(ms, 40, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.n_early, 3);
  assert_near(r->rhythm.early[0].ratio, 0.69, 0.01);
  assert_near(r->rhythm.early[1].ratio, 0.71, 0.01);
  assert_int_equal(r->rhythm.n_pauses, 1);
  assert_near(r->rhythm.pauses[0].ratio, 1.78, 0.01);
  girthline_result_free(r);
}

// The pause after an ectopic beat makes up for it wholly, in part, or not at all, as the sinus node is reset or not (common practice, no source).
static void an_early_beat_may_be_made_up_for_in_part(void **state) {
  (void)state;
  double ms[21];
  for (size_t i = 0; i < 21; i++) ms[i] = 1700 + (i % 3 ? 8 : -12);
  ms[5] = 952, ms[6] = 2227; // 0.56 and 1.31 of the usual interval: 1.87 together
  ms[14] = 1100, ms[15] = 2290;
  girthline_result *r = with_intervals_ms(ms, 21, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_EARLY_BEATS);
  assert_int_equal(r->rhythm.n_early, 2);
  girthline_result_free(r);
}

// A beat that comes very early and is made up for wholly has an interval as long as a pause behind it, but no beat was dropped.
static void an_early_beat_made_up_for_is_no_dropped_beat(void **state) {
  (void)state;
  static const double RATIOS[] = {0.33, 0.35, 0.38};
  for (size_t k = 0; k < 3; k++)
    for (int dropped = 0; dropped < 2; dropped++) {
      double ms[40];
      for (size_t i = 0; i < 40; i++) ms[i] = 1600 + 12 * ((double)((i * 7) % 5) - 2);
      for (size_t i = 3; i + 1 < 40; i += dropped ? 40 : 9) ms[i] = 1600 * RATIOS[k], ms[i + 1] = 1600 * (2 - RATIOS[k]);
      for (size_t i = 8; dropped && i < 40; i += 9) ms[i] = 3200;
      girthline_result *r = with_intervals_ms(ms, 40, 0.2);
      assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
      assert_int_equal(r->rhythm.pattern, dropped ? GIRTHLINE_PAUSES : GIRTHLINE_EARLY_BEATS);
      assert_int_equal(r->rhythm.n_early, dropped ? 1 : 4);
      assert_int_equal(r->rhythm.n_pauses, dropped ? 5 : 4); // long intervals are listed all the same
      girthline_result_free(r);
    }
}

// Short and long intervals in turn: every second beat early, or dropped where the long one is two short ones; either differs from the usual one,
// which is neither, or the short one. Where they hardly differ the heart is even, by what they differ; between the two it is neither, and no irregular
// one, which repeats nothing.
static void every_second_beat_out_of_place_makes_no_even_heart(void **state) {
  (void)state;
  static const struct { double short_ms, long_ms; girthline_pattern pattern; size_t n_early, n_pauses; double ratio; const char *said; } CASES[] = {
      {500, 800, GIRTHLINE_EARLY_BEATS, 15, 0, 500 / 650.0, "in turn"},
      {900, 2250, GIRTHLINE_EARLY_BEATS, 15, 0, 900 / 1575.0, "in turn"},
      {800, 1600, GIRTHLINE_PAUSES, 0, 15, 2, "15 of 30"},
      {856, 1144, GIRTHLINE_PATTERN_UNDETERMINED, 3, 0, 0.85, "too little"}, // some of them
      {900, 1100, GIRTHLINE_PATTERN_UNDETERMINED, 0, 0, 0, "too little"},
      {1400, 1500, GIRTHLINE_REGULAR, 0, 0, 0, "spread 3."}};
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    double ms[30];
    for (size_t i = 0; i < 30; i++) ms[i] = (i % 2 ? CASES[k].long_ms : CASES[k].short_ms) + 4 * ((double)(i * 7 % 5) - 2);
    girthline_result *r = with_intervals_ms(ms, 30, 0.2);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, CASES[k].pattern);
    assert_int_equal(r->rhythm.n_early, CASES[k].n_early);
    assert_int_equal(r->rhythm.n_pauses, CASES[k].n_pauses);
    if (CASES[k].n_early) assert_near(r->rhythm.early[CASES[k].n_early / 2].ratio, CASES[k].ratio, 0.02);
    if (CASES[k].n_pauses) assert_near(r->rhythm.pauses[3].ratio, CASES[k].ratio, 0.03);
    assert_non_null(strstr(r->rhythm.explanation, CASES[k].said));
    const bool told = CASES[k].pattern != GIRTHLINE_PATTERN_UNDETERMINED;
    assert_int_equal(isfinite(r->rhythm.confidence), told);
    if (!told) assert_string_equal(reason_of(r, "/rhythm/pattern"), r->rhythm.explanation);
    girthline_result_free(r);
  }
}

// Hardly in turn but for two pairs: the short ones are as early as a beat is in a rhythm without a pattern.
static void hardly_in_turn_with_early_beats_among_them_is_irregular(void **state) {
  (void)state;
  for (int far = 0; far < 2; far++) {
    double ms[30];
    for (size_t i = 0; i < 30; i++) ms[i] = (i % 2 ? 1130 : 870) + 4 * ((double)(i * 7 % 5) - 2);
    ms[10] = ms[20] = far ? 660 : 740;
    ms[11] = ms[21] = far ? 1340 : 1260;
    girthline_result *r = with_intervals_ms(ms, 30, 0.2);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, far ? GIRTHLINE_IRREGULAR : GIRTHLINE_PATTERN_UNDETERMINED);
    girthline_result_free(r);
  }
}

static bool in_turn(const double *ms, size_t n) {
  girthline_result *r = with_intervals_ms(ms, n, 0.2);
  gn_series s = {0};
  assert_int_equal(gn_rhythm_intervals(r), 0);
  assert_int_equal(gn_rhythm_series_init(&s, r), 0);
  for (size_t i = 0; i < s.n; i++) s.trend[i] = 1;
  assert_int_equal(gn_rhythm_events(&s), 0);
  const bool found = s.alternates;
  gn_rhythm_series_clear(&s);
  girthline_result_free(r);
  return found;
}

// Long ones longer by 2 and by 4 %; each kind long and short in turn itself, by a fifth and by three tenths of what parts the two; seven and eight; of
// twenty with a neighbour on either side fifteen and seventeen.
static void intervals_come_in_turn_where_most_do_and_two_apart_are_alike(void **state) {
  (void)state;
  double ms[22];
  for (int k = 0; k < 2; k++) {
    for (size_t i = 0; i < 22; i++) ms[i] = i % 2 ? (k ? 1040 : 1020) : 1000;
    assert_int_equal(in_turn(ms, 22), k);
    for (size_t i = 0; i < 22; i++) ms[i] = (i % 2 ? 1300 : 1000) + (i / 2 % 2 ? (k ? 60 : 90) : 0);
    assert_int_equal(in_turn(ms, 22), k);
    for (size_t i = 0; i < 22; i++) ms[i] = i % 2 ? 1300 : 1000;
    assert_int_equal(in_turn(ms, k ? 8 : 7), k);
    for (size_t i = (size_t)(k ? 18 : 17); i < 22; i++) ms[i] = 1000;
    assert_int_equal(in_turn(ms, 22), k);
  }
}

// Of intervals drawn each for itself seven lie in turn by chance, but those two apart are no more alike than neighbours.
static void intervals_in_turn_by_chance_keep_their_usual_one(void **state) {
  (void)state;
  static const double MS[] = {900, 1700, 1200, 2300, 1000, 1400, 800, 1900, 1500, 2100};
  assert_int_equal(pattern_of(MS, 10, 3), GIRTHLINE_IRREGULAR);
}

// Nine such whose likes two apart happen to be alike: some stand out of a median that belongs to none of them, as no breath moves a heart.
static void intervals_far_apart_in_turn_by_chance_are_irregular(void **state) {
  (void)state;
  static const double MS[] = {1171, 2325, 1225, 2049, 1416, 1076, 1271, 1072, 1318};
  assert_true(in_turn(MS, 9));
  assert_int_equal(pattern_of(MS, 9, 3), GIRTHLINE_IRREGULAR);
}

// One in twenty is a pattern, one in more is a single event.
static void one_event_makes_a_pattern_in_up_to_twenty_intervals(void **state) {
  (void)state;
  static const double EVENTS[] = {0.7, 2};
  static const girthline_pattern PATTERNS[] = {GIRTHLINE_EARLY_BEATS, GIRTHLINE_PAUSES};
  for (int k = 0; k < 4; k++) {
    double ms[21];
    const size_t n = k < 2 ? 20 : 21;
    for (size_t i = 0; i < n; i++) ms[i] = i % 2 ? 1490 : 1510;
    ms[9] *= EVENTS[k % 2];
    girthline_result *r = with_intervals_ms(ms, n, 0.2);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, k < 2 ? PATTERNS[k] : GIRTHLINE_REGULAR);
    assert_int_equal(r->rhythm.n_early + r->rhythm.n_pauses, 1);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_early_beat_hides_neither_the_next_one_nor_a_pause),
      cmocka_unit_test(an_early_beat_may_be_made_up_for_in_part),
      cmocka_unit_test(an_early_beat_made_up_for_is_no_dropped_beat),
      cmocka_unit_test(every_second_beat_out_of_place_makes_no_even_heart),
      cmocka_unit_test(hardly_in_turn_with_early_beats_among_them_is_irregular),
      cmocka_unit_test(intervals_come_in_turn_where_most_do_and_two_apart_are_alike),
      cmocka_unit_test(intervals_in_turn_by_chance_keep_their_usual_one),
      cmocka_unit_test(intervals_far_apart_in_turn_by_chance_are_irregular),
      cmocka_unit_test(one_event_makes_a_pattern_in_up_to_twenty_intervals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
