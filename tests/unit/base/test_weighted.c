// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/weighted.h"

enum { SUMS = GN_WEIGHTED_SUMS };

// 1^2 + 2^2 + ... + n^2 = n (n + 1) (2 n + 1) / 6, with weights that are all 2; whole numbers are exact in any order. Each sum begins a place
// further on.
static void sums_of_squares_are_the_closed_form(void **state) {
  (void)state;
  float w[100], x[100 + SUMS], sum[SUMS];
  for (size_t i = 0; i < 100; i++) w[i] = 2;
  for (size_t i = 0; i < 100 + SUMS; i++) x[i] = (float)(i + 1);
  for (size_t n = 0; n <= 100; n += GN_WEIGHTED_LANES) {
    gn_weighted_squares((const float *const[]){w, w, w, w}, (const float *const[]){x, x + 1, x + 2, x + 3}, n, sum);
    for (size_t q = 0; q < SUMS; q++) {
      const size_t m = n + q;
      assert_near(sum[q], 2.0 * (double)(m * (m + 1) * (2 * m + 1) - q * (q + 1) * (2 * q + 1)) / 6, 0);
    }
  }
}

static void each_weight_meets_its_own_sample(void **state) {
  (void)state;
  float w[SUMS][40] = {{0}}, x[40], sum[SUMS];
  for (size_t i = 0; i < 40; i++) x[i] = (float)i - 20;
  for (size_t i = 0; i < 40; i++) {
    for (size_t q = 0; q < SUMS; q++) w[q][i] = (float)(3 + q);
    gn_weighted_squares((const float *const[]){w[0], w[1], w[2], w[3]}, (const float *const[]){x, x, x, x}, 40, sum);
    for (size_t q = 0; q < SUMS; q++) {
      assert_near(sum[q], (double)(3 + q) * (double)x[i] * (double)x[i], 0);
      w[q][i] = 0;
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sums_of_squares_are_the_closed_form),
      cmocka_unit_test(each_weight_meets_its_own_sample),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
