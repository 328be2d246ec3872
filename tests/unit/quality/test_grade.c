// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "quality/parts.h"

#define N_BEATS 30

static void fill(girthline_beat *beats) {
  for (int i = 0; i < N_BEATS; i++)
    beats[i] = (girthline_beat){1.0 + 1.5 * i, 1.45 + 1.5 * i, 0.05f, 0.1f, 0.04f, 0.08f, 0.9f, 0.9f, 0};
}

static void each_rule_decides_its_grade(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  const struct {
    size_t n_beats;
    double usable_s, db, clipped;
    girthline_grade want;
    const char *words;
  } table[] = {
      {30, 46, 20, 0, GIRTHLINE_GOOD, " 20 dB"},         {0, 46, 20, 0, GIRTHLINE_UNUSABLE, "No heart beats"},
      {2, 46, 20, 0, GIRTHLINE_UNUSABLE, "Only 2 beats"}, {4, 46, 20, 0, GIRTHLINE_POOR, "Only 4 beats were found"},
      {7, 46, 20, 0, GIRTHLINE_FAIR, "Only 7 beats"},     {30, 46, 7, 0, GIRTHLINE_FAIR, "7.0 dB"},
      {30, 46, 3, 0, GIRTHLINE_POOR, "3.0 dB"},           {30, 30, 20, 0, GIRTHLINE_FAIR, "65 %"},
      {30, 20, 20, 0, GIRTHLINE_POOR, "43 %"},            {30, 2, 20, 0, GIRTHLINE_UNUSABLE, "2.0 s"},
      {30, 46, 20, 0.01, GIRTHLINE_FAIR, "1.00 %"},       {30, 46, 20, 0.05, GIRTHLINE_POOR, "5.00 %"},
      {1, 46, 20, 0, GIRTHLINE_UNUSABLE, "Only 1 beat was found with confidence; 3 are wanted."},
  };
  const girthline_limits limits = girthline_limits_default();
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    girthline_quality q = {.usable_s = table[i].usable_s, .heart_to_noise_db = table[i].db, .clipped_fraction = table[i].clipped};
    gn_quality_grade(&q, &limits.quality, beats, table[i].n_beats, 46);
    if (q.grade != table[i].want || !strstr(q.grade_reason, table[i].words)) fail_msg("row %zu: %d, %s", i, (int)q.grade, q.grade_reason);
    if (q.grade_names_level != (strstr(table[i].words, "dB") != NULL)) fail_msg("row %zu: %s", i, q.grade_reason);
  }
}

// On both sides of each limit: no sentence says that what was measured is what is wanted.
static void what_falls_short_is_told_as_less_than_is_wanted(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  const girthline_limits limits = girthline_limits_default();
  const struct { double usable_s, analysed_s, db, clipped; } near[] = {{9.96, 10, 20, 0}, {46, 57.6, 20, 0}, {46, 46, 9.96, 0}, {46, 46, 3.96, 0}, {46, 46, 20, 0.00104}};
  for (size_t i = 0; i < sizeof near / sizeof *near; i++)
    for (int step = -6; step <= 6; step++) {
      const double times = 1 + 0.001 * step;
      girthline_quality q = {.usable_s = near[i].usable_s * times, .heart_to_noise_db = near[i].db * times, .clipped_fraction = near[i].clipped * times};
      gn_quality_grade(&q, &limits.quality, beats, N_BEATS, near[i].analysed_s);
      double told = NAN, wanted = NAN;
      const char *at = strpbrk(q.grade_reason, "0123456789"), *then = strchr(q.grade_reason, ';');
      if (q.grade == GIRTHLINE_GOOD) continue;
      assert_true(at && then);
      told = strtod(at, NULL);
      wanted = strtod(strpbrk(then, "0123456789"), NULL);
      if (strstr(q.grade_reason, "clipped") ? told <= wanted : told >= wanted) fail_msg("%s", q.grade_reason);
    }
}

static void a_level_that_is_not_known_is_not_said(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  girthline_quality q = {.usable_s = 46, .heart_to_noise_db = NAN};
  const girthline_limits limits = girthline_limits_default();
  gn_quality_grade(&q, &limits.quality, beats, N_BEATS, 46);
  assert_int_equal(q.grade, GIRTHLINE_GOOD);
  assert_string_equal(q.grade_reason, "30 confident beats in 46 s that are not spoilt.");
  assert_false(q.grade_names_level);
}

// As everywhere else: whole decibels, from the one place that the report gives.
static void a_good_level_is_told_in_whole_decibels(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  girthline_quality q = {.usable_s = 46, .heart_to_noise_db = 26.46};
  const girthline_limits limits = girthline_limits_default();
  gn_quality_grade(&q, &limits.quality, beats, N_BEATS, 46);
  assert_string_equal(q.grade_reason, "30 confident beats in 46 s that are not spoilt, 27 dB over the noise.");
}

static void doubtful_beats_lower_the_grade(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  for (int i = 0; i < 10; i++) beats[i].confidence = 0.3f;
  girthline_quality q = {.usable_s = 46, .heart_to_noise_db = 20};
  const girthline_limits limits = girthline_limits_default();
  gn_quality_grade(&q, &limits.quality, beats, N_BEATS, 46);
  assert_int_equal(q.grade, GIRTHLINE_FAIR);
}

static girthline_result result_of(girthline_beat *beats, girthline_problem *problems, size_t n_problems) {
  girthline_result r;
  memset(&r, 0, sizeof r);
  r.limits = girthline_limits_default();
  r.beats = beats;
  r.n_beats = N_BEATS;
  r.rate.settled_bpm = 40;
  r.quality.problems = problems;
  r.quality.n_problems = n_problems;
  return r;
}

static void the_best_span_is_whole_beats_free_of_marks(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  girthline_problem problems[] = {{{8, 8.2}, GIRTHLINE_HANDLING}, {{15, 15.3}, GIRTHLINE_DROPOUT}, {{30, 31}, GIRTHLINE_HANDLING}};
  const girthline_result r = result_of(beats, problems, 3);
  const girthline_span best = gn_quality_best_span(&r);
  assert_true(best.start_s >= 15.3 && best.end_s <= 30);
  assert_true(best.end_s - best.start_s > 10 && best.end_s - best.start_s <= 12.1);
  const double beat = (best.start_s + 0.1 - 1.0) / 1.5, end = (best.end_s + 0.05 - 1.0) / 1.5;
  assert_near(beat, floor(beat + 0.5), 1e-9); // starts at an S1
  assert_near(end, floor(end + 0.5), 1e-9);   // ends before one
}

static void the_best_span_is_at_the_settled_rate(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  for (int i = 0; i < N_BEATS; i++) {
    const double t = i < 18 ? 1 + i : 1 + 18 + 1.5 * (i - 18); // 60 a minute, then 40
    beats[i].s1_onset_s = t;
    beats[i].s2_onset_s = t + 0.4;
  }
  const girthline_result r = result_of(beats, NULL, 0);
  assert_true(gn_quality_best_span(&r).start_s > 17);
}

// Six seconds without a pause, and twelve with one, which is no other rate.
static void a_pause_makes_no_other_rate(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  for (int i = 0; i < N_BEATS; i++) {
    const double t = 1 + 1.5 * i + (i > 10 ? 1.5 : 0);
    beats[i].s1_onset_s = t;
    beats[i].s2_onset_s = t + 0.4;
  }
  girthline_problem problems[] = {{{7.2, 7.3}, GIRTHLINE_HANDLING}, {{22, 100}, GIRTHLINE_HANDLING}};
  const girthline_result r = result_of(beats, problems, 2);
  const girthline_span best = gn_quality_best_span(&r);
  assert_true(best.start_s > 7 && best.end_s - best.start_s > 10);
}

// Without a settled rate the last beats stand for it: here a third of them all.
static void the_last_beats_stand_for_a_settled_rate_that_is_not_known(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  for (int i = 0; i < N_BEATS; i++) {
    const double t = i < 20 ? 1 + i : 1 + 20 + 1.5 * (i - 20); // 60 a minute, then 40
    beats[i].s1_onset_s = t;
    beats[i].s2_onset_s = t + 0.4;
  }
  girthline_result r = result_of(beats, NULL, 0);
  r.rate.settled_bpm = NAN;
  assert_true(gn_quality_best_span(&r).start_s > 19);
}

static void without_three_clean_beats_there_is_no_best_span(void **state) {
  (void)state;
  girthline_beat beats[N_BEATS];
  fill(beats);
  girthline_problem all = {{0, 100}, GIRTHLINE_HANDLING};
  girthline_result r = result_of(beats, &all, 1);
  assert_true(isnan(gn_quality_best_span(&r).start_s));
  r = result_of(beats, NULL, 0);
  r.n_beats = 0;
  assert_true(isnan(gn_quality_best_span(&r).start_s));
  r.n_beats = 3;
  assert_true(isnan(gn_quality_best_span(&r).start_s));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_rule_decides_its_grade),
      cmocka_unit_test(what_falls_short_is_told_as_less_than_is_wanted),
      cmocka_unit_test(a_level_that_is_not_known_is_not_said),
      cmocka_unit_test(a_good_level_is_told_in_whole_decibels), cmocka_unit_test(doubtful_beats_lower_the_grade),
      cmocka_unit_test(the_best_span_is_whole_beats_free_of_marks),
      cmocka_unit_test(the_best_span_is_at_the_settled_rate),
      cmocka_unit_test(a_pause_makes_no_other_rate),
      cmocka_unit_test(the_last_beats_stand_for_a_settled_rate_that_is_not_known),
      cmocka_unit_test(without_three_clean_beats_there_is_no_best_span),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
