// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "base/random.h"
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

static bool is_marked(const girthline_result *r, bool breathing, double start_s, double end_s) {
  bool is = false;
  for (size_t k = 0; k < r->quality.n_problems; k++) {
    const girthline_problem *x = &r->quality.problems[k];
    is |= (x->kind == GIRTHLINE_BREATHING) == breathing && x->span.start_s < end_s && x->span.end_s > start_s;
  }
  return is;
}

// Of even beats: how far clean ones go on from each, looked for among all marks; the longest and surest, less what a breath in it costs.
static girthline_span plainly_best(const girthline_result *r) {
  const girthline_quality_limits *m = &r->limits.quality;
  girthline_span best = {NAN, NAN};
  double most = -INFINITY;
  for (size_t first = 0; first < r->n_beats; first++) {
    const double start_s = r->beats[first].s1_onset_s;
    double end_s = start_s, confidence = 0;
    size_t n = 0;
    for (const girthline_beat *b = &r->beats[first]; b + 1 < r->beats + r->n_beats && b[1].s1_onset_s - start_s <= m->best_longest_s; b++, n++) {
      if ((double)b->confidence < m->best_confidence || is_marked(r, false, b->s1_onset_s - m->best_lead_s, b[1].s1_onset_s)) break;
      confidence += (double)b->confidence;
      end_s = b[1].s1_onset_s;
    }
    if (n < (size_t)m->best_beats_n) continue;
    const double worth = fmin(end_s - start_s, m->best_wanted_s) + confidence / (double)n - (is_marked(r, true, start_s, end_s) ? m->best_breath_cost_s : 0);
    if (worth <= most) continue;
    most = worth;
    best = (girthline_span){start_s - m->best_lead_s, end_s - m->best_tail_s};
  }
  return best;
}

// Up to five minutes of beats, some of them doubtful, and marks of which the long ones begin before short ones and end after them.
static void whatever_is_marked_no_span_is_better(void **state) {
  (void)state;
  enum { MANY = 200, ROUNDS = 1000, MARKS = 60 };
  static const girthline_problem_kind KINDS[] = {GIRTHLINE_HANDLING, GIRTHLINE_DROPOUT, GIRTHLINE_CLIPPING, GIRTHLINE_NOISE, GIRTHLINE_NO_HEART_SOUND, GIRTHLINE_BREATHING};
  girthline_beat beats[MANY];
  gn_random random = gn_random_of(3);
  int n_none = 0;
  for (int round = 0; round < ROUNDS; round++) {
    gn_quality_spans marks = {0};
    for (size_t i = 0; i < MANY; i++) {
      const double t = 1 + 1.5 * (double)i;
      beats[i] = (girthline_beat){t, t + 0.45, 0.05f, 0.1f, 0.04f, 0.08f, (float)(0.45 + 0.55 * gn_random_uniform(&random)), 0.9f, 0};
    }
    for (uint64_t k = gn_random_below(&random, MARKS); k-- > 0;) {
      const girthline_problem_kind kind = KINDS[gn_random_below(&random, sizeof KINDS / sizeof *KINDS)];
      const double start_s = 310 * gn_random_uniform(&random), longest_s = gn_random_below(&random, 5) ? 1 : 60;
      assert_int_equal(gn_quality_spans_add(&marks, kind, start_s, start_s + longest_s * gn_random_uniform(&random)), 0);
    }
    gn_quality_spans_sort(&marks);
    girthline_result r = result_of(beats, marks.items, marks.n);
    r.n_beats = (size_t)gn_random_below(&random, MANY + 1);
    const girthline_span best = gn_quality_best_span(&r), plain = plainly_best(&r);
    if (isnan(best.start_s) != isnan(plain.start_s) || fabs(best.start_s - plain.start_s) > 1e-9 || fabs(best.end_s - plain.end_s) > 1e-9)
      fail_msg("round %d: %g to %g s, not %g to %g", round, best.start_s, best.end_s, plain.start_s, plain.end_s);
    n_none += isnan(best.start_s);
    gn_quality_spans_clear(&marks);
  }
  assert_in_range(n_none, 1, ROUNDS / 2);
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
      cmocka_unit_test(whatever_is_marked_no_span_is_better),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
