// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "base/random.h"
#include "base/statistics.h"

// numpy.quantile([1..8], q) of numpy 1.24, default method: 0.25 -> 2.75, 0.5 -> 4.5, 0.9 -> 7.3.
static void quantile_is_numpys_default(void **state) {
  (void)state;
  const double q[] = {0.25, 0.5, 0.9, 0, 1}, want[] = {2.75, 4.5, 7.3, 1, 8};
  for (int i = 0; i < 5; i++) {
    double x[] = {8, 3, 1, 6, 2, 7, 5, 4};
    assert_near(gn_quantile(x, 8, q[i]), want[i], 1e-12);
    float y[] = {8, 3, 1, 6, 2, 7, 5, 4};
    assert_near(gn_quantile_f(y, 8, q[i]), want[i], 1e-6);
  }
}

static int ascending(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

// Held against sorting: many lengths, some so long that a pivot is chosen, all different and many alike, in order and in reverse.
static void every_order_statistic_is_that_of_the_sorted(void **state) {
  (void)state;
  gn_random r = gn_random_of(3);
  double x[400], sorted[400], y[400];
  float z[400];
  for (size_t n = 1; n <= 400; n += n < 110 ? 1 : 97)
    for (uint64_t kind = 0; kind < 6; kind++) {
      for (size_t i = 0; i < n; i++) x[i] = kind == 4 ? (double)i : kind == 5 ? -(double)i : (double)gn_random_below(&r, (uint64_t[]){1, 2, 5, 1000}[kind]);
      memcpy(sorted, x, n * sizeof *x);
      qsort(sorted, n, sizeof *sorted, ascending);
      for (size_t k = 0; k < n; k++) {
        const double q = n > 1 ? (double)k / (double)(n - 1) : 0.5;
        memcpy(y, x, n * sizeof *x);
        for (size_t i = 0; i < n; i++) z[i] = (float)x[i];
        assert_near(gn_quantile(y, n, q), sorted[k], 1e-9);
        assert_near(gn_quantile_f(z, n, q), sorted[k], 1e-4);
        qsort(y, n, sizeof *y, ascending);
        for (size_t i = 0; i < n; i++) z[i] = (float)y[i];
        const float between = gn_quantile_sorted_f(z, n, 0.37);
        assert_true(gn_quantile_sorted_f(z, n, q) == gn_quantile_f(z, n, q) && between == gn_quantile_f(z, n, 0.37));
        assert_memory_equal(y, sorted, n * sizeof *y);
      }
    }
}

static int ascending_f(const void *a, const void *b) {
  const float x = *(const float *)a, y = *(const float *)b;
  return (x > y) - (x < y);
}

// From the smallest to infinity, of either sign, with zeros of both.
static void floats_of_all_sizes_are_told_apart(void **state) {
  (void)state;
  gn_random r = gn_random_of(7);
  float x[300], sorted[300];
  for (size_t n = 60; n <= 300; n += 24) {
    for (size_t i = 0; i < n; i++) x[i] = ldexpf(gn_random_below(&r, 2) ? 1.5f : -1.25f, (int)gn_random_below(&r, 276) - 149);
    const float zero = n % 48 == 12 ? 0 : -0.0f; // either may come first
    x[3] = zero, x[4] = -zero, x[5] = INFINITY, x[6] = -INFINITY, x[7] = x[8];
    memcpy(sorted, x, n * sizeof *x);
    qsort(sorted, n, sizeof *sorted, ascending_f);
    for (size_t k = 0; k < n; k++) {
      float y[300];
      const double q = ((double)k + 0.3) / (double)(n - 1);
      memcpy(y, x, n * sizeof *x);
      const float got = gn_quantile_f(y, n, q), want = gn_quantile_sorted_f(sorted, n, q);
      assert_true(got == want || (isnan(got) && isnan(want)));
    }
  }
}

static void quantile_of_nothing_is_nan(void **state) {
  (void)state;
  double x[1] = {3};
  assert_true(isnan(gn_quantile(x, 0, 0.5)));
  assert_near(gn_quantile(x, 1, 0.3), 3, 0);
}

// The series A of the worked table: mean 1517.0 ms, SDNN (N - 1) 42.9599 ms (derived by hand from the definitions).
// Of a normal variable the middle half lies within 0.6744898 SD (tables of the normal distribution), and 1.4826 is one over that; one wild
// value in five moves nothing.
static void robust_sd_is_the_normal_sd_and_heeds_no_outlier(void **state) {
  (void)state;
  double five[] = {3, 100, 1, 4, 2}, x[999];
  assert_near(gn_robust_sd(five, 5, 3), 1.4826, 1e-12);
  gn_random g = gn_random_of(17);
  for (size_t i = 0; i < 999; i++) x[i] = 7 + 2 * gn_random_normal(&g);
  assert_near(gn_robust_sd(x, 999, 7), 2, 0.2);
  assert_true(isnan(gn_robust_sd(x, 0, 0)));
}

static void mean_and_sd_match_the_worked_series(void **state) {
  (void)state;
  const double a[] = {1500, 1540, 1480, 1520, 1600, 1560, 1500, 1450, 1490, 1530};
  assert_near(gn_mean(a, 10), 1517.0, 1e-9);
  assert_near(gn_sd(a, 10), 42.9599, 5e-5);
  assert_true(isnan(gn_sd(a, 1)));
  double squares = 0;
  for (size_t i = 0; i < 10; i++) squares += a[i] * a[i];
  assert_near(sqrt(gn_variance_of_mean(15170, squares, 10)), 42.9599 / sqrt(10), 2e-5);
  assert_near(gn_variance_of_mean(0.3, 0.03 * (1 - 1e-15), 3), 0, 0); // three of 0.1, rounded
}

// Wherever it lies, in rows shorter and longer than what is taken at once.
static void the_smallest_is_found_at_every_place(void **state) {
  (void)state;
  double x[50];
  float y[50];
  for (size_t n = 1; n <= 50; n++)
    for (size_t at = 0; at < n; at++) {
      for (size_t i = 0; i < n; i++) x[i] = 5 + (double)(i * 7 % 11), y[i] = (float)x[i];
      x[at] = y[at] = -3;
      assert_near(gn_smallest(x, n), -3, 0);
      assert_near(gn_smallest_f(y, n), -3, 0);
    }
}

// Of few rows and many, of fewer columns than are taken at once and of more, with numbers that come again.
static void quantiles_across_are_each_column_s_own(void **state) {
  (void)state;
  enum { WIDTH = 70 };
  static float x[GN_ROWS_MOST][WIDTH], out[WIDTH], column[GN_ROWS_MOST];
  const float *rows[GN_ROWS_MOST];
  const size_t n_rows[] = {1, 2, 7, 30, GN_ROWS_MOST}, widths[] = {0, 1, 31, 32, 33, WIDTH};
  const double q[] = {0, 0.1, 0.2, 0.5, 0.93, 1};
  gn_random r = gn_random_of(5);
  for (size_t j = 0; j < GN_ROWS_MOST; j++) {
    rows[j] = x[j];
    for (size_t i = 0; i < WIDTH; i++) x[j][i] = (float)gn_random_below(&r, 40) - 15;
  }
  for (size_t a = 0; a < 5; a++)
    for (size_t w = 0; w < 6; w++)
      for (size_t k = 0; k < 6; k++) {
        memset(out, 0, sizeof out);
        gn_quantiles_across(rows, n_rows[a], widths[w], q[k], out);
        for (size_t i = 0; i < WIDTH; i++) {
          for (size_t j = 0; j < n_rows[a]; j++) column[j] = x[j][i];
          assert_true(out[i] == (i < widths[w] ? gn_quantile_f(column, n_rows[a], q[k]) : 0));
        }
      }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(quantile_is_numpys_default),
      cmocka_unit_test(every_order_statistic_is_that_of_the_sorted),
      cmocka_unit_test(floats_of_all_sizes_are_told_apart),
      cmocka_unit_test(quantile_of_nothing_is_nan),
      cmocka_unit_test(robust_sd_is_the_normal_sd_and_heeds_no_outlier),
      cmocka_unit_test(mean_and_sd_match_the_worked_series),
      cmocka_unit_test(the_smallest_is_found_at_every_place),
      cmocka_unit_test(quantiles_across_are_each_column_s_own),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
