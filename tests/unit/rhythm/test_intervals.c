// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"

static const double TEN[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10};

static size_t used_with(double from_s, double to_s, girthline_problem_kind kind) {
  girthline_result *r = with_beats(TEN, 10, 11);
  spoil(r, from_s, to_s, kind);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.n_intervals, 9);
  const size_t used = r->rhythm.used_count;
  girthline_result_free(r);
  return used;
}

static void no_interval_bridges_a_spoilt_span(void **state) {
  (void)state;
  assert_int_equal(used_with(3.2, 3.4, GIRTHLINE_HANDLING), 8);
  assert_int_equal(used_with(3.2, 4.4, GIRTHLINE_DROPOUT), 7);
  assert_int_equal(used_with(4.0, 4.1, GIRTHLINE_CLIPPING), 7); // touches the beat that two intervals share
  assert_int_equal(used_with(3.5, 4.0, GIRTHLINE_HANDLING), 7);
  assert_int_equal(used_with(0.1, 0.6, GIRTHLINE_HANDLING), 9);
}

static void breath_and_noise_hide_no_beat(void **state) {
  (void)state;
  assert_int_equal(used_with(3.2, 5.4, GIRTHLINE_BREATHING), 9);
  assert_int_equal(used_with(3.2, 5.4, GIRTHLINE_NOISE), 9);
}

static void a_long_pause_is_kept_but_a_sensor_off_the_skin_is_not(void **state) {
  (void)state;
  double onsets[12];
  for (size_t i = 0; i < 12; i++) onsets[i] = 1.5 * (double)i + (i > 5 ? 7 : 0);
  for (int off = 0; off < 2; off++) {
    girthline_result *r = with_beats(onsets, 12, 30);
    spoil(r, 8.2, off ? 18.4 : 15.8, GIRTHLINE_NO_HEART_SOUND);
    if (off) r->beats[6].s1_onset_s = 18.5, r->beats[7].s1_onset_s = 19.2;
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.n_pauses, off ? 0 : 1);
    if (!off) assert_near(r->rhythm.pauses[0].ratio, 8.5 / 1.5, 1e-9); // no upper limit
    girthline_result_free(r);
  }
}

// A beat says with what probability none was missed after it: 0.995 is enough where nothing is spoilt, 0.9999 where something is; a long
// silence hides beats whatever is said, a short one none.
static void a_spoilt_span_hides_a_beat_only_where_one_may_have_been(void **state) {
  (void)state;
  static const struct { girthline_problem_kind kind; double to_s; float unbroken; size_t used; } CASES[] = {
      {GIRTHLINE_BREATHING, 3.4, 0.996f, 9},   {GIRTHLINE_BREATHING, 3.4, 0.994f, 0}, {GIRTHLINE_HANDLING, 3.4, 0.999f, 8}, {GIRTHLINE_HANDLING, 3.4, 0.99995f, 9},
      {GIRTHLINE_CLIPPING, 3.4, 0.99995f, 9},  {GIRTHLINE_CLIPPING, 4.4, 0.999f, 7},  {GIRTHLINE_NO_HEART_SOUND, 13.3, 0.99995f, 2},
      {GIRTHLINE_NO_HEART_SOUND, 13.1, 0.999f, 9},
  };
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    girthline_result *r = with_beats(TEN, 10, 14);
    for (size_t i = 0; i < 10; i++) r->beats[i].unbroken = CASES[k].unbroken;
    spoil(r, 3.2, CASES[k].to_s, CASES[k].kind);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.used_count, CASES[k].used);
    girthline_result_free(r);
  }
}

// Spans come in order of their starts and may lie over one another: a long one that hides nothing, one that ended before, two in one interval.
static void of_several_spoilt_spans_each_counts_where_it_lies(void **state) {
  (void)state;
  const girthline_problem all[] = {{{0.2, 10.8}, GIRTHLINE_BREATHING}, {{1.2, 5.3}, GIRTHLINE_NO_HEART_SOUND}, {{3.2, 3.4}, GIRTHLINE_HANDLING},
                                   {{3.3, 3.35}, GIRTHLINE_NO_HEART_SOUND}, {{6.2, 8.3}, GIRTHLINE_DROPOUT}, {{7.2, 7.3}, GIRTHLINE_NOISE}};
  const bool used[] = {true, true, false, true, true, false, false, false, true};
  for (int sure = 0; sure < 2; sure++) {
    girthline_result *r = with_beats(TEN, 10, 11);
    r->quality.problems = gn_new(6, sizeof *r->quality.problems);
    memcpy(r->quality.problems, all, sizeof all);
    r->quality.n_problems = 6;
    for (size_t i = 0; sure && i < 10; i++) r->beats[i].unbroken = 0.99995f;
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    for (size_t i = 0; i < 9; i++) assert_int_equal(r->rhythm.intervals[i].used, sure || used[i]);
    girthline_result_free(r);
  }
}

// A pause of twice the usual interval is used where its beat says so surely, or says nothing (beats given by hand); the shorter ones stay.
static void what_is_long_as_a_pause_asks_for_more_than_other_intervals(void **state) {
  (void)state;
  static const struct { float unbroken; bool used; } CASES[] = {{0.999f, false}, {0.99995f, true}, {0, true}};
  double onsets[11];
  for (size_t i = 0; i < 11; i++) onsets[i] = 0.5 + 1.5 * (double)(i + (i > 5));
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    girthline_result *r = with_beats(onsets, 11, 18);
    for (size_t i = 0; i < 11; i++) r->beats[i].unbroken = CASES[k].unbroken;
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.used_count, CASES[k].used ? 10 : 9);
    assert_int_equal(r->rhythm.intervals[5].used, CASES[k].used);
    assert_int_equal(r->rhythm.n_pauses, CASES[k].used ? 1 : 0);
    girthline_result_free(r);
  }
  // It is the beat before the pause that is asked, also where a sound before it was missed.
  girthline_result *r = with_beats(onsets, 11, 18);
  for (size_t i = 0; i < 11; i++) r->beats[i].unbroken = i == 5 ? 0.999f : 0.99995f;
  r->beats[2].s1_onset_s = NAN;
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_false(r->rhythm.intervals[4].used);
  assert_near(r->rhythm.intervals[4].span.start_s, onsets[5], 0);
  assert_int_equal(r->rhythm.used_count, 7);
  girthline_result_free(r);
}

static void a_missed_beat_is_bridged_but_never_used(void **state) {
  (void)state;
  girthline_result *r = with_beats(TEN, 10, 11);
  r->beats[4].s1_onset_s = NAN;
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.n_intervals, 8);
  assert_int_equal(r->rhythm.used_count, 7);
  assert_false(r->rhythm.intervals[3].used);
  assert_near(r->rhythm.intervals[3].span.start_s, 4, 0);
  assert_near(r->rhythm.intervals[3].span.end_s, 6, 0);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_REGULAR);
  assert_int_equal(r->rhythm.n_pauses, 0);
  girthline_result_free(r);
}

static void a_beat_more_likely_wrong_than_right_bounds_no_interval(void **state) {
  (void)state;
  girthline_result *r = with_beats(TEN, 10, 11);
  r->beats[4].s1_onset_s = 4.6;
  r->beats[4].confidence = 0.4f;
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.used_count, 7);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_REGULAR);
  assert_int_equal(r->rhythm.n_early, 0);
  assert_near(r->rate.bpm, 60, 1e-9);
  girthline_result_free(r);
}

static void nothing_and_one_beat_are_undetermined_with_reasons(void **state) {
  (void)state;
  for (size_t n = 0; n <= 3; n++) {
    girthline_result *r = with_beats(TEN, n, 11);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, NAN), GIRTHLINE_OK);
    assert_true(isnan(r->rate.bpm) && isnan(r->rate.mean_bpm) && isnan(r->rate.settled_bpm));
    assert_int_equal(r->rhythm.pattern, GIRTHLINE_PATTERN_UNDETERMINED);
    static const char *const KEYS[] = {"/rate/bpm", "/rate/mean_bpm", "/rate/settled_bpm", "/rate/settled_from_s", "/rate/min_bpm", "/rate/max_bpm",
                                       "/rate/standing", "/rhythm/confidence", "/rhythm/sample_entropy", "/rhythm/onset_jitter_ms"};
    for (size_t k = 0; k < sizeof KEYS / sizeof *KEYS; k++) assert_non_null(reason_of(r, KEYS[k]));
    assert_string_equal(reason_of(r, "/rhythm/pattern"), r->rhythm.explanation);
    static const char *const HOW_MANY[] = {"No interval", "No interval", "Only 1 usable interval between", "Only 2 usable intervals between"};
    assert_non_null(strstr(reason_of(r, "/rate/bpm"), HOW_MANY[n]));
    assert_non_null(strstr(r->rhythm.explanation, HOW_MANY[n]));
    if (n < 2) assert_non_null(reason_of(r, "/rhythm/mean_interval_s"));
    if (n < 3) assert_non_null(reason_of(r, "/rhythm/sdnn_ms"));
    if (n < 3) assert_non_null(reason_of(r, "/rhythm/rmssd_ms"));
    girthline_result_free(r);
  }
}

static void all_sounds_missing_is_undetermined(void **state) {
  (void)state;
  girthline_result *r = with_beats(TEN, 10, 11);
  for (size_t i = 0; i < 10; i++) r->beats[i].s1_onset_s = NAN;
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.n_intervals, 0);
  assert_true(isnan(r->rate.bpm));
  girthline_result_free(r);
}

static void refused_memory_is_reported_wherever_it_strikes(void **state) {
  (void)state;
  double onsets[240];
  for (size_t i = 0; i < 240; i++) onsets[i] = 1.4 * (double)i + (i % 7 == 0 ? 0.05 : 0) + 1.4 * (double)(i / 5);
  size_t k = 1;
  girthline_status status = GIRTHLINE_NO_MEMORY;
  for (; status != GIRTHLINE_OK && k < 200; k++) {
    girthline_result *r = with_beats(onsets, 240, 420);
    gn_memory_refuse(k);
    status = gn_rhythm_run(r, NULL, 0, NAN);
    gn_memory_refuse(0);
    assert_true(status == GIRTHLINE_OK || status == GIRTHLINE_NO_MEMORY);
    girthline_result_free(r);
  }
  assert_true(status == GIRTHLINE_OK && k > 12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_interval_bridges_a_spoilt_span),
      cmocka_unit_test(breath_and_noise_hide_no_beat),
      cmocka_unit_test(a_long_pause_is_kept_but_a_sensor_off_the_skin_is_not),
      cmocka_unit_test(a_spoilt_span_hides_a_beat_only_where_one_may_have_been),
      cmocka_unit_test(of_several_spoilt_spans_each_counts_where_it_lies),
      cmocka_unit_test(what_is_long_as_a_pause_asks_for_more_than_other_intervals),
      cmocka_unit_test(a_missed_beat_is_bridged_but_never_used),
      cmocka_unit_test(a_beat_more_likely_wrong_than_right_bounds_no_interval),
      cmocka_unit_test(nothing_and_one_beat_are_undetermined_with_reasons),
      cmocka_unit_test(all_sounds_missing_is_undetermined),
      cmocka_unit_test(refused_memory_is_reported_wherever_it_strikes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
