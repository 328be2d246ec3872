// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include "segment/period.h"

#define N_PATHS 4

static const gn_period_settings SETTINGS = {.window_s = 10, .step_cost = 0.03, .steps_most = 4};

static int find(const gn_features *f, double least_s, double most_s, gn_lags *lags, gn_period_path *paths) {
  *lags = gn_lags_between(least_s, most_s);
  return gn_period_find(f, lags, &SETTINGS, paths, N_PATHS);
}

static void clear(gn_features *f, gn_period_path *paths, int n) {
  for (int i = 0; i < n; i++) gn_free(paths[i].place);
  gn_features_clear(f);
}

// Is this lag among the paths, within 2 % (the grid's own step) from the fifth second to the last but five?
static bool listed(const gn_lags *lags, const gn_period_path *paths, int n, double lag_s) {
  for (int i = 0; i < n; i++) {
    bool all = true;
    for (size_t w = 5; w + 5 < paths[i].n; w++) all = all && fabs(gn_lags_s(lags, (double)paths[i].place[w]) / lag_s - 1) < 0.02;
    if (all) return true;
  }
  return false;
}

static void the_grid_runs_from_shortest_to_longest_in_even_ratios(void **state) {
  (void)state;
  const gn_lags lags = gn_lags_between(0.25, 4);
  assert_near(gn_lags_s(&lags, 0), 0.25, 1e-12);
  assert_near(gn_lags_s(&lags, 10) / gn_lags_s(&lags, 9), exp(GN_PERIOD_STEP), 1e-12);
  assert_true(gn_lags_s(&lags, (double)(lags.n - 1)) <= 4 && gn_lags_s(&lags, (double)lags.n) > 4);
}

static void the_lag_of_a_pulse_train_is_found_within_two_per_cent(void **state) {
  (void)state;
  static const long INTERVALS[] = {40, 77, 100, 143, 200, 251}; // frames of 10 ms
  for (size_t i = 0; i < 6; i++) {
    gn_features f = hear_empty(4000);
    for (long at = 13; at < 4000; at += INTERVALS[i]) hear_bump(&f, at, 10, 15, 15);
    gn_lags lags;
    gn_period_path paths[N_PATHS] = {0};
    const double period_s = (double)INTERVALS[i] / 100;
    const int n = find(&f, 0.7 * period_s, 1.6 * period_s, &lags, paths);
    assert_true(n >= 1);
    assert_true(listed(&lags, paths, 1, period_s));
    clear(&f, paths, n);
  }
}

static void twice_and_half_the_lag_are_listed_too(void **state) {
  (void)state;
  gn_features f = hear_empty(4000);
  for (long at = 20; at < 4000; at += 75) hear_bump(&f, at, 10, at % 2 ? 15 : 12, at % 2 ? 12 : 15); // alternating sounds
  gn_lags lags;
  gn_period_path paths[N_PATHS] = {0};
  const int n = find(&f, 0.4, 4, &lags, paths);
  assert_true(n >= 3);
  assert_true(listed(&lags, paths, n, 1.50) && listed(&lags, paths, n, 0.75) && listed(&lags, paths, n, 3.0));
  for (int i = 1; i < n; i++)
    for (int k = 0; k < i; k++) assert_true(fabs((double)paths[i].place[20] - (double)paths[k].place[20]) > 4); // 8 % apart
  assert_true(paths[0].salience >= paths[1].salience);
  clear(&f, paths, n);
}

static void a_rate_that_falls_is_followed(void **state) {
  (void)state;
  gn_features f = hear_empty(6000);
  for (double at = 20; at < 6000; at += 80 + 60 * at / 6000) hear_bump(&f, (long)at, 10, 15, 15);
  gn_lags lags;
  gn_period_path paths[N_PATHS] = {0};
  const int n = find(&f, 0.6, 1.55, &lags, paths);
  assert_true(n >= 1);
  for (size_t w = 6; w < 54; w++) assert_near(gn_lags_s(&lags, (double)paths[0].place[w]) / (0.8 + 0.6 * (double)w / 60), 1, 0.05);
  clear(&f, paths, n);
}

static void spoilt_frames_have_no_say(void **state) {
  (void)state;
  gn_features f = hear_empty(4000);
  for (long at = 13; at < 4000; at += 100) hear_bump(&f, at, 10, 15, 15);
  for (long at = 1400; at < 1900; at += 31) hear_bump(&f, at, 10, 19, 19);
  for (size_t k = 1390; k < 1920; k++) f.spoilt[k] = 1;
  gn_lags lags;
  gn_period_path paths[N_PATHS] = {0};
  int n = find(&f, 0.7, 1.6, &lags, paths);
  assert_true(n >= 1 && listed(&lags, paths, 1, 1.0));
  for (int i = 0; i < n; i++) gn_free(paths[i].place);
  for (size_t k = 0; k < f.n; k++) f.spoilt[k] = 1;
  n = find(&f, 0.7, 1.6, &lags, paths);
  assert_int_equal(n, 0);
  clear(&f, paths, n);
}

// What the sums over pairs come to: worked out pair by pair. One window, so that the path's salience is the largest of the plane.
static double salience_by_pairs(const gn_features *f, double lag_n) {
  double sum = 0, n = 0, power = 0;
  for (size_t k = 0; k < f->n; k++)
    if (!f->spoilt[k]) sum += (double)(f->level_db[0][k] + f->level_db[1][k]), n++;
  double products[2] = {0, 0}, compared[2] = {0, 0};
  for (size_t k = 0; k < f->n; k++) {
    if (f->spoilt[k]) continue;
    const double x = (double)(f->level_db[0][k] + f->level_db[1][k]) - sum / n;
    power += x * x / n;
    for (size_t d = 0; d < 2; d++) {
      const size_t other = k + (size_t)lag_n + d;
      if (other >= f->n || f->spoilt[other]) continue;
      products[d] += x * ((double)(f->level_db[0][other] + f->level_db[1][other]) - sum / n);
      compared[d]++;
    }
  }
  const double w = lag_n - floor(lag_n);
  const double r = ((1 - w) * products[0] + w * products[1]) / ((1 - w) * compared[0] + w * compared[1]) / power;
  return r > 0 ? r * r : 0;
}

static void sums_over_what_is_not_spoilt_are_those_of_its_pairs(void **state) {
  (void)state;
  static const size_t GAPS[][2] = {{0, 0}, {0, 60}, {420, 470}, {930, 1000}}; // the first none; at the start, within, at the end
  gn_random r = gn_random_of(4);
  for (size_t gap = 0; gap < 4; gap++) {
    gn_features f = hear_empty(1000);
    for (size_t k = 0; k < f.n; k++) f.level_db[0][k] = (float)gn_random_normal(&r);
    for (long at = 13; at < 1000; at += 117) hear_bump(&f, at, 10, 12, 9);
    for (size_t g = 1; g <= gap; g++)
      for (size_t k = GAPS[g][0]; k < GAPS[g][1]; k++) f.spoilt[k] = 1;
    gn_lags lags;
    gn_period_path path = {0};
    const gn_period_settings still = {.window_s = 10, .step_cost = 1e9, .steps_most = 1};
    lags = gn_lags_between(0.5, 3);
    const int n = gn_period_find(&f, &lags, &still, &path, 1);
    assert_int_equal(n, 1);
    double most = 0;
    for (size_t j = 0; j < lags.n; j++) most = fmax(most, salience_by_pairs(&f, gn_lags_s(&lags, (double)j) * f.rate_hz));
    assert_near(path.salience, most, 1e-4);
    clear(&f, &path, n);
  }
}

static void silence_and_next_to_nothing_have_no_period(void **state) {
  (void)state;
  static const size_t LENGTHS[] = {0, 1, 2, 50, 99, 1000};
  for (size_t i = 0; i < 6; i++) {
    gn_features f = hear_empty(LENGTHS[i]);
    gn_lags lags;
    gn_period_path paths[N_PATHS] = {0};
    const int n = find(&f, 0.25, 4, &lags, paths);
    assert_int_equal(n, 0);
    clear(&f, paths, n);
  }
}

static void refused_memory_is_told_and_leaks_nothing(void **state) {
  (void)state;
  gn_features f = hear_empty(1500);
  for (long at = 13; at < 1500; at += 100) hear_bump(&f, at, 10, 15, 15);
  size_t k = 1;
  for (; k < 60; k++) {
    gn_lags lags;
    gn_period_path paths[N_PATHS] = {0};
    gn_memory_refuse(k);
    const int n = find(&f, 0.25, 4, &lags, paths);
    gn_memory_refuse(0);
    for (int i = 0; i < n; i++) gn_free(paths[i].place);
    if (n >= 0) break;
    assert_int_equal(n, -1);
  }
  assert_true(k > 10 && k < 60);
  gn_features_clear(&f);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_grid_runs_from_shortest_to_longest_in_even_ratios),
      cmocka_unit_test(the_lag_of_a_pulse_train_is_found_within_two_per_cent),
      cmocka_unit_test(twice_and_half_the_lag_are_listed_too),
      cmocka_unit_test(a_rate_that_falls_is_followed),
      cmocka_unit_test(spoilt_frames_have_no_say),
      cmocka_unit_test(sums_over_what_is_not_spoilt_are_those_of_its_pairs),
      cmocka_unit_test(silence_and_next_to_nothing_have_no_period),
      cmocka_unit_test(refused_memory_is_told_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
