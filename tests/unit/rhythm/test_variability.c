// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"

#include "base/random.h"
#include "base/statistics.h"
#include "rhythm/parts.h"

// Three series whose measures follow by hand from the definitions: SDNN over N - 1, RMSSD and pNN50 over the number of
// differences (Task Force 1996, Eur Heart J 17:354), SD1 and SD2 from SDSD and SDNN (Brennan et al. 2001, IEEE TBME 48:1342).
typedef struct worked { const char *name; double ms[12]; size_t n; double mean_ms, bpm, sdnn, rmssd, pnn50, cv, sd1, sd2; } worked;
static const worked WORKED[] = {
    {"sinus", {1500, 1540, 1480, 1520, 1600, 1560, 1500, 1450, 1490, 1530}, 10, 1517.0, 39.5517, 42.9599, 51.7472, 33.33, 2.832, 38.7298, 46.8093},
    {"every fourth dropped", {1600, 1600, 1600, 3200, 1600, 1600, 1600, 3200, 1600, 1600, 1600, 3200}, 12, 2000, 30.00, 723.627, 1078.720, 45.45, 36.181, 792.694, 647.232},
    {"no pattern", {1210, 1780, 1350, 2240, 1120, 1660, 1930, 1270, 2050, 1430, 1590, 1180}, 12, 1567.5, 38.2775, 369.720, 642.644, 100, 23.587, 476.593, 215.048},
};

static void worked_series_come_out_as_by_hand(void **state) {
  (void)state;
  for (size_t k = 0; k < 3; k++) {
    const worked *w = &WORKED[k];
    girthline_result *r = with_intervals_ms(w->ms, w->n, 0.3);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, NAN), GIRTHLINE_OK);
    const girthline_rhythm *y = &r->rhythm;
    assert_int_equal(y->used_count, w->n);
    assert_near(1000 * y->mean_interval_s, w->mean_ms, 1e-6);
    assert_near(r->rate.mean_bpm, w->bpm, 5e-5);
    assert_near(y->sdnn_ms, w->sdnn, 5e-4);
    assert_near(y->rmssd_ms, w->rmssd, 5e-4);
    assert_near(y->pnn50_percent, w->pnn50, 5e-3);
    assert_near(y->interval_cv_percent, w->cv, 5e-4);
    assert_near(y->sd1_ms, w->sd1, 5e-4);
    assert_near(y->sd2_ms, w->sd2, 5e-4);
    assert_true(isnan(y->sample_entropy));
    assert_non_null(reason_of(r, "/rhythm/sample_entropy"));
    girthline_result_free(r);
  }
}

static void rmssd_does_not_tell_pauses_from_irregular_but_the_pattern_does(void **state) {
  (void)state;
  const girthline_pattern want[] = {GIRTHLINE_REGULAR, GIRTHLINE_PAUSES, GIRTHLINE_IRREGULAR};
  for (size_t k = 0; k < 3; k++) {
    girthline_result *r = with_intervals_ms(WORKED[k].ms, WORKED[k].n, 0.3);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, NAN), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, want[k]);
    girthline_result_free(r);
  }
}

// Reference examples of the R package pracma, function sample_entropy (https://rdrr.io/pkg/pracma/man/entropy.html): 61..65
// repeated ten times gives 0; sin(seq(1, 100, by = 0.2)), r = 0.2 SD over N - 1, gives 0.2359326.
static void sample_entropy_gives_the_published_values(void **state) {
  (void)state;
  double x[496];
  bool refused = false;
  for (size_t i = 0; i < 50; i++) x[i] = 61.0 + (double)(i % 5);
  assert_near(gn_rhythm_sample_entropy(x, NULL, 50, 0.2 * gn_sd(x, 50), &refused), 0, 1e-15);
  for (size_t i = 0; i < 496; i++) x[i] = sin(1 + 0.2 * (double)i);
  assert_near(gn_rhythm_sample_entropy(x, NULL, 496, 0.2 * gn_sd(x, 496), &refused), 0.2359326, 5e-8);
  assert_false(refused);
}

// Closed form for independent normal values: -ln erf(k / 2) with r = k SD; k = 0.2 gives 2.1851.
static void sample_entropy_of_noise_is_its_closed_form(void **state) {
  (void)state;
  double x[2000];
  gn_random random = gn_random_of(7);
  for (size_t i = 0; i < 2000; i++) x[i] = gn_random_normal(&random);
  bool refused = false;
  assert_near(gn_rhythm_sample_entropy(x, NULL, 2000, 0.2, &refused), 2.1851, 0.12);
}

// The definition written out: every pair of templates of m + 1 values that lie in one run.
static double entropy_by_definition(const double *x, const bool *linked, size_t n, double r) {
  double a = 0, b = 0;
  for (size_t i = 0; i + 2 < n; i++)
    for (size_t k = i + 1; k + 2 < n; k++) {
      if (!linked[i + 1] || !linked[i + 2] || !linked[k + 1] || !linked[k + 2]) continue;
      const bool two = fabs(x[i] - x[k]) <= r && fabs(x[i + 1] - x[k + 1]) <= r;
      b += two;
      a += two && fabs(x[i + 2] - x[k + 2]) <= r;
    }
  return -log(a / b);
}

// Quarters are exact, so that many values lie exactly r apart; random walks and a r wider than all of them besides.
static void sample_entropy_counts_every_pair_once(void **state) {
  (void)state;
  enum { N = 400 };
  static const double R[] = {0, 0.25, 0.5, 1, 3, 100};
  double x[2][N];
  bool linked[N], refused = false;
  gn_random random = gn_random_of(22);
  for (size_t i = 0; i < N; i++) {
    x[0][i] = 0.25 * (double)gn_random_below(&random, 30);
    x[1][i] = (i ? x[1][i - 1] : 0) + gn_random_normal(&random);
    linked[i] = true;
  }
  for (size_t k = 0; k < sizeof R / sizeof *R; k++)
    for (size_t s = 0; s < 2; s++) {
      const double got = gn_rhythm_sample_entropy(x[s], NULL, N, R[k], &refused), want = entropy_by_definition(x[s], linked, N, R[k]);
      if (isfinite(want)) assert_near(got, want, 1e-12);
      else assert_true(isnan(got));
    }
  assert_false(refused);
}

static void sample_entropy_takes_no_template_over_a_gap(void **state) {
  (void)state;
  double x[300];
  bool linked[300], refused = false;
  gn_random random = gn_random_of(21);
  for (size_t i = 0; i < 300; i++) {
    x[i] = (double)gn_random_below(&random, 4);
    linked[i] = gn_random_below(&random, 6) > 0;
  }
  assert_near(gn_rhythm_sample_entropy(x, linked, 300, 0.5, &refused), entropy_by_definition(x, linked, 300, 0.5), 1e-12);
  for (size_t n = 0; n <= 3; n++) assert_true(isnan(gn_rhythm_sample_entropy(x, NULL, n, 5, &refused)));
  for (size_t i = 0; i < 300; i++) x[i] = i % 3 == 2 ? (double)(10 * i) : 0; // pairs come back and no run of three
  assert_true(isnan(gn_rhythm_sample_entropy(x, NULL, 300, 0.5, &refused)));
  assert_false(refused);
}

static void two_hundred_intervals_carry_an_entropy_and_one_fewer_do_not(void **state) {
  (void)state;
  double ms[200];
  gn_random random = gn_random_of(11);
  for (size_t i = 0; i < 200; i++) ms[i] = 1500 + 40 * gn_random_normal(&random);
  girthline_result *r = with_intervals_ms(ms, 200, 0);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 2), GIRTHLINE_OK);
  assert_near(r->rhythm.sample_entropy, 2.185, 0.7);
  girthline_result_free(r);
  r = with_intervals_ms(ms, 199, 0);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 2), GIRTHLINE_OK);
  assert_true(isnan(r->rhythm.sample_entropy));
  girthline_result_free(r);
}

// An interval's SD of j from the onsets alone gives an RMSSD of sqrt(3) j, since its difference is 1, -2, 1 of onsets.
static void jitter_alone_gives_root_three_of_itself_and_nulls_what_lies_below_twice_that(void **state) {
  (void)state;
  double onsets[2000], len[1999];
  gn_random random = gn_random_of(3);
  for (size_t i = 0; i < 2000; i++) onsets[i] = 1.5 * (double)i + 0.010 / sqrt(2.0) * gn_random_normal(&random);
  for (size_t i = 0; i < 1999; i++) len[i] = onsets[i + 1] - onsets[i];
  assert_near(1000 * gn_sd(len, 1999), 10, 0.4);
  girthline_result *r = with_beats(onsets, 2000, 3001);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 10), GIRTHLINE_OK);
  assert_true(isnan(r->rhythm.rmssd_ms) && isnan(r->rhythm.sd1_ms));
  assert_non_null(reason_of(r, "/rhythm/rmssd_ms"));
  assert_non_null(reason_of(r, "/rhythm/sd1_ms"));
  assert_near(r->rhythm.onset_jitter_ms, 10, 0);
  girthline_result_free(r);
  r = with_beats(onsets, 2000, 3001);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, NAN), GIRTHLINE_OK);
  assert_near(r->rhythm.rmssd_ms, 10 * sqrt(3.0), 0.7);
  assert_non_null(reason_of(r, "/rhythm/onset_jitter_ms"));
  girthline_result_free(r);
}

// Lengths that step by d up and down have an RMSSD of d: the limit lies at 2 sqrt(3) = 3.46 times the jitter.
static void the_limit_lies_at_twice_root_three_of_the_jitter(void **state) {
  (void)state;
  for (int above = 0; above < 2; above++) {
    double ms[30];
    for (size_t i = 0; i < 30; i++) ms[i] = 1500 + (i % 2 ? above ? 35.5 : 33.5 : 0);
    girthline_result *r = with_intervals_ms(ms, 30, 0.1);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 10), GIRTHLINE_OK);
    assert_int_equal(isnan(r->rhythm.rmssd_ms), !above);
    assert_int_equal(isnan(r->rhythm.sd1_ms), !above);
    girthline_result_free(r);
  }
}

// Onsets that jitter by 20 ms (SD of an interval) part successive intervals by a normal variable of SD 34.64 ms, which is beyond 50 ms in
// erfc(50 / 34.64 / sqrt 2) = 14.9 % of cases; by 10 ms in 0.39 %. Under twice that the measure says nothing of the heart.
static void the_share_over_fifty_is_null_below_twice_what_jitter_gives(void **state) {
  (void)state;
  static const struct { double jitter_ms; int over_50; const char *why; } CASES[] = {
      {20, 29, "would give (15 %)."}, {20, 30, NULL}, {10, 0, "would give (under 1 %)."}, {10, 1, NULL}, {NAN, 0, NULL}};
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    double ms[101];
    for (int i = 0; i < 101; i++) ms[i] = 1500 + (i % 2 && i <= CASES[k].over_50 ? 60 : 0);
    for (int i = CASES[k].over_50; i < 101; i++) ms[i] = ms[CASES[k].over_50];
    girthline_result *r = with_intervals_ms(ms, 101, 0.3);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, CASES[k].jitter_ms), GIRTHLINE_OK);
    const char *why = reason_of(r, "/rhythm/pnn50_percent");
    if (CASES[k].why) assert_true(isnan(r->rhythm.pnn50_percent) && why && strstr(why, CASES[k].why));
    else {
      assert_near(r->rhythm.pnn50_percent, CASES[k].over_50, 1e-9);
      assert_null(why);
    }
    girthline_result_free(r);
  }
}

static void fifty_milliseconds_exactly_are_not_more_than_fifty(void **state) {
  (void)state;
  const double ms[] = {1000, 1050, 1000, 1050, 1101, 1050};
  girthline_result *r = with_intervals_ms(ms, 6, 0.1);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, NAN), GIRTHLINE_OK);
  assert_near(r->rhythm.pnn50_percent, 40, 1e-9); // 51 and 51 of five
  girthline_result_free(r);
}

static void no_difference_is_taken_across_a_gap(void **state) {
  (void)state;
  const double onsets[] = {1, 2, 3, 4, NAN, 6, 8, 10, 12};
  girthline_result *r = with_beats(onsets, 9, 13);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, NAN), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.used_count, 6);
  assert_near(r->rhythm.rmssd_ms, 0, 1e-9); // 1 1 1 | 2 2 2: the step of 1 s stands at the gap
  girthline_result_free(r);
}

// One interval on either side of a gap: no two follow one another.
static void without_two_intervals_that_follow_there_is_no_difference(void **state) {
  (void)state;
  const double onsets[] = {1, 2, NAN, 4, 5.2};
  girthline_result *r = with_beats(onsets, 5, 6);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, NAN), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.used_count, 2);
  assert_near(r->rhythm.sdnn_ms, 1000 * 0.2 / sqrt(2), 1e-6);
  assert_true(isnan(r->rhythm.rmssd_ms) && isnan(r->rhythm.pnn50_percent) && isnan(r->rhythm.sd1_ms));
  assert_non_null(reason_of(r, "/rhythm/rmssd_ms"));
  assert_non_null(reason_of(r, "/rhythm/pnn50_percent"));
  assert_non_null(reason_of(r, "/rhythm/sd1_ms"));
  girthline_result_free(r);
}

static void a_jitter_that_is_no_spread_is_not_known(void **state) {
  (void)state;
  static const double JITTER_MS[] = {NAN, -1, INFINITY, 0, 2.5};
  const double onsets[] = {1, 2, 3.1, 4, 5.2, 6};
  for (size_t i = 0; i < 5; i++) {
    girthline_result *r = with_beats(onsets, 6, 7);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, JITTER_MS[i]), GIRTHLINE_OK);
    assert_int_equal(reason_of(r, "/rhythm/onset_jitter_ms") != NULL, i < 3);
    if (i < 3) assert_true(isnan(r->rhythm.onset_jitter_ms));
    else assert_near(r->rhythm.onset_jitter_ms, JITTER_MS[i], 0);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(worked_series_come_out_as_by_hand),
      cmocka_unit_test(rmssd_does_not_tell_pauses_from_irregular_but_the_pattern_does),
      cmocka_unit_test(sample_entropy_gives_the_published_values),
      cmocka_unit_test(sample_entropy_of_noise_is_its_closed_form),
      cmocka_unit_test(sample_entropy_counts_every_pair_once),
      cmocka_unit_test(sample_entropy_takes_no_template_over_a_gap),
      cmocka_unit_test(two_hundred_intervals_carry_an_entropy_and_one_fewer_do_not),
      cmocka_unit_test(jitter_alone_gives_root_three_of_itself_and_nulls_what_lies_below_twice_that),
      cmocka_unit_test(the_limit_lies_at_twice_root_three_of_the_jitter),
      cmocka_unit_test(the_share_over_fifty_is_null_below_twice_what_jitter_gives),
      cmocka_unit_test(fifty_milliseconds_exactly_are_not_more_than_fifty),
      cmocka_unit_test(no_difference_is_taken_across_a_gap),
      cmocka_unit_test(without_two_intervals_that_follow_there_is_no_difference),
      cmocka_unit_test(a_jitter_that_is_no_spread_is_not_known),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
