// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <math.h>

#include <jansson.h>

#include "clinic/compare_inside.h"

// A report whose i-th interval is len_s[i % n_len]; one after the other from 0 on.
static json_t *made(const double *len_s, size_t n_len, size_t n) {
  json_t *list = json_array();
  double at = 0;
  for (size_t i = 0; i < n; i++) {
    json_array_append_new(list, json_pack("{s:f,s:f,s:b}", "start_s", at, "end_s", at + len_s[i % n_len], "used", 1));
    at += len_s[i % n_len];
  }
  return json_pack("{s:{s:o}}", "rhythm", "intervals", list);
}

static void an_even_heart_does_not_wander(void **state) {
  (void)state;
  json_t *report = made((double[]){1.5}, 1, 40);
  const gn_wander w = gn_compare_wander(report);
  assert_near(w.rate_bpm, 0, 1e-6);
  assert_near(w.interval_s, 0, 1e-8);
  assert_int_equal(w.n_intervals, 40);
  json_decref(report);
}

// Two windows, one of ten intervals of 1.5 s and one of fifteen of 1 s: rates 40 and 60, whose standard deviation is 20 / sqrt 2.
static void the_rate_wanders_as_its_windows_differ(void **state) {
  (void)state;
  double len_s[25];
  for (int i = 0; i < 25; i++) len_s[i] = i < 10 ? 1.5 : 1.0;
  json_t *report = made(len_s, 25, 25);
  const gn_wander w = gn_compare_wander(report);
  assert_near(w.rate_bpm, 20 / sqrt(2), 1e-9);
  assert_near(w.interval_s, 0.5 / sqrt(2), 1e-9);
  json_decref(report);
}

// Alternating 1.4 and 1.6 s: within a window the mean stays near 1.5, so the spread of the whole is the larger one.
static void a_spread_within_windows_counts_as_that_of_the_whole(void **state) {
  (void)state;
  json_t *report = made((double[]){1.4, 1.6}, 2, 40);
  const double sd_s = 0.1 * sqrt(40.0 / 39);
  assert_near(gn_compare_wander(report).rate_bpm, sqrt(acos(-1.0) / 2) * sd_s / sqrt(40) * 60 / 2.25, 1e-9);
  json_decref(report);
}

static void too_few_intervals_have_no_spread(void **state) {
  (void)state;
  json_t *report = made((double[]){1.5}, 1, 7);
  assert_true(isnan(gn_compare_wander(report).rate_bpm));
  assert_true(isnan(gn_compare_wander(NULL).rate_bpm));
  assert_true(isnan(gn_compare_spread_of_sd(30, 7)));
  assert_true(isnan(gn_compare_spread_of_sd(30, NAN)));
  assert_true(isnan(gn_compare_spread_of_sd(NAN, 30)));
  json_decref(report);
}

static void equal_sides_give_the_repeatability_coefficient(void **state) {
  (void)state;
  assert_near(gn_compare_both(2, 2), 1.96 * sqrt(2) * 2, 1e-12);
  assert_true(isnan(gn_compare_both(NAN, 2)));
}

// A known simulation: SDNN and RMSSD of many recordings of n independent normal intervals spread as the formulas say.
static double uniform(uint64_t *seed) {
  *seed = *seed * 6364136223846793005u + 1442695040888963407u;
  return ((double)(*seed >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(uint64_t *seed) { return sqrt(-2 * log(uniform(seed))) * cos(2 * acos(-1.0) * uniform(seed)); }

enum { N_INTERVALS = 30, N_RECORDINGS = 20000 };
static void spreads_of_sdnn_and_rmssd_are_those_of_a_simulation(void **state) {
  (void)state;
  uint64_t seed = 20260301;
  double sums[4] = {0};
  for (int r = 0; r < N_RECORDINGS; r++) {
    double x[N_INTERVALS], sum = 0, squares = 0, steps = 0;
    for (int i = 0; i < N_INTERVALS; i++) {
      x[i] = normal(&seed);
      sum += x[i];
      squares += x[i] * x[i];
      if (i) steps += (x[i] - x[i - 1]) * (x[i] - x[i - 1]);
    }
    const double sdnn = sqrt((squares - sum * sum / N_INTERVALS) / (N_INTERVALS - 1)), rmssd = sqrt(steps / (N_INTERVALS - 1));
    sums[0] += sdnn;
    sums[1] += sdnn * sdnn;
    sums[2] += rmssd;
    sums[3] += rmssd * rmssd;
  }
  for (int k = 0; k < 4; k++) sums[k] /= N_RECORDINGS;
  const double sd_of_sdnn = sqrt(sums[1] - sums[0] * sums[0]), sd_of_rmssd = sqrt(sums[3] - sums[2] * sums[2]);
  assert_near(gn_compare_spread_of_sd(1, N_INTERVALS) / sd_of_sdnn, 1, 0.03);
  assert_near(gn_compare_spread_of_rmssd(sqrt(2), N_INTERVALS) / sd_of_rmssd, 1, 0.03);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_even_heart_does_not_wander),
      cmocka_unit_test(the_rate_wanders_as_its_windows_differ),
      cmocka_unit_test(a_spread_within_windows_counts_as_that_of_the_whole),
      cmocka_unit_test(too_few_intervals_have_no_spread),
      cmocka_unit_test(equal_sides_give_the_repeatability_coefficient),
      cmocka_unit_test(spreads_of_sdnn_and_rmssd_are_those_of_a_simulation),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
