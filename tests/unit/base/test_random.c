// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/random.h"

// The published test vector of the reference splitmix64.c (S. Vigna, 2015) for the seed 1234567, as quoted widely and
// worked again by tests/reference/splitmix64.py.
static void the_numbers_are_those_of_splitmix64(void **state) {
  (void)state;
  gn_random r = gn_random_of(1234567);
  const uint64_t want[] = {6457827717110365317u, 3203168211198807973u, 9817491932198370423u, 4593380528125082431u, 16408922859458223821u};
  for (int i = 0; i < 5; i++) assert_true(gn_random_next(&r) == want[i]);
}

static void uniform_numbers_fill_the_unit_evenly(void **state) {
  (void)state;
  gn_random r = gn_random_of(1);
  enum { N = 100000 };
  int bins[10] = {0};
  double sum = 0;
  for (int i = 0; i < N; i++) {
    const double u = gn_random_uniform(&r);
    assert_true(u >= 0 && u < 1);
    bins[(int)(u * 10)]++;
    sum += u;
  }
  assert_near(sum / N, 0.5, 5 * 0.2887 / sqrt(N));                       // five standard errors
  for (int i = 0; i < 10; i++) assert_near(bins[i], N / 10, 5 * sqrt(N * 0.09)); // the binomial's
}

static void numbers_below_n_stay_below_and_reach_all(void **state) {
  (void)state;
  gn_random r = gn_random_of(2);
  int seen[7] = {0};
  for (int i = 0; i < 7000; i++) {
    const uint64_t k = gn_random_below(&r, 7);
    assert_true(k < 7);
    seen[k]++;
  }
  for (int i = 0; i < 7; i++) assert_near(seen[i], 1000, 5 * sqrt(7000 * 6.0 / 49));
  for (int i = 0; i < 100; i++) assert_true(gn_random_below(&r, 1) == 0);
}

// Moments of the standard normal: mean 0, variance 1, fourth moment 3; a share of 0.0455 beyond 2.
static void normal_numbers_have_the_normal_moments(void **state) {
  (void)state;
  gn_random r = gn_random_of(3);
  enum { N = 100000 };
  double m1 = 0, m2 = 0, m4 = 0;
  int beyond = 0;
  for (int i = 0; i < N; i++) {
    const double z = gn_random_normal(&r);
    m1 += z;
    m2 += z * z;
    m4 += z * z * z * z;
    if (fabs(z) > 2) beyond++;
  }
  assert_near(m1 / N, 0, 5 / sqrt(N));
  assert_near(m2 / N, 1, 5 * sqrt(2.0 / N));
  assert_near(m4 / N, 3, 5 * sqrt(96.0 / N));
  assert_near((double)beyond / N, 0.0455, 5 * sqrt(0.0455 / N));
}

static void the_same_seed_gives_the_same_numbers(void **state) {
  (void)state;
  gn_random a = gn_random_of(42), b = gn_random_of(42), c = gn_random_of(43);
  int differ = 0;
  for (int i = 0; i < 100; i++) {
    const double x = gn_random_normal(&a);
    assert_near(gn_random_normal(&b), x, 0);
    const double y = gn_random_normal(&c);
    if (y < x || y > x) differ++;
  }
  assert_int_equal(differ, 100);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_numbers_are_those_of_splitmix64),
      cmocka_unit_test(uniform_numbers_fill_the_unit_evenly),
      cmocka_unit_test(numbers_below_n_stay_below_and_reach_all),
      cmocka_unit_test(normal_numbers_have_the_normal_moments),
      cmocka_unit_test(the_same_seed_gives_the_same_numbers),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
