// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "audio/overview.h"

static const double FS_HZ = 1000;

// Silence with one sample up and one down, pushed in pieces.
static girthline_pictures *drawn(double expected_s, double len_s, double up_s, double down_s, size_t piece_n) {
  girthline_pictures *p = test_calloc(1, sizeof *p);
  const size_t n = (size_t)(len_s * FS_HZ);
  float *x = test_calloc(n, sizeof *x);
  x[(size_t)(up_s * FS_HZ)] = 0.5f;
  x[(size_t)(down_s * FS_HZ)] = -0.25f;
  gn_overview o = gn_overview_of(p, FS_HZ, expected_s);
  for (size_t i = 0; i < n; i += piece_n) {
    const size_t some = piece_n < n - i ? piece_n : n - i;
    gn_swing swing = {x[i], x[i]};
    gn_extremes(x + i, some, &swing.low, &swing.high);
    gn_overview_push(&o, x + i, some, swing);
  }
  test_free(x);
  return p;
}

static const double EXPECTED_S[] = {30, 10, 2, NAN}; // as long as it is, and three that turn out far too short

static void each_extreme_stands_in_the_column_of_its_time(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof EXPECTED_S / sizeof *EXPECTED_S; k++)
    for (double at_s = 0.0005; at_s < 29; at_s += 1.3703) {
      girthline_pictures *p = drawn(EXPECTED_S[k], 30, at_s, 29.5, 777);
      for (size_t i = 0; i < p->n_overview; i++) {
        const double from_s = (double)i * p->overview_step_s, to_s = from_s + p->overview_step_s;
        assert_near((double)p->overview_max[i], at_s >= from_s && at_s < to_s ? 0.5 : 0, 0);
        assert_near((double)p->overview_min[i], 29.5 >= from_s && 29.5 < to_s ? -0.25 : 0, 0);
      }
      test_free(p);
    }
}

static void the_columns_reach_over_the_whole_recording_and_no_further(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof EXPECTED_S / sizeof *EXPECTED_S; k++) {
    girthline_pictures *p = drawn(EXPECTED_S[k], 30, 1, 2, 777);
    const double reach_s = (double)p->n_overview * p->overview_step_s;
    assert_in_range(p->n_overview, GIRTHLINE_OVERVIEW_N / 2, GIRTHLINE_OVERVIEW_N);
    assert_true(reach_s >= 30 && reach_s < 30 + p->overview_step_s);
    test_free(p);
  }
}

static void pieces_give_what_the_whole_gives(void **state) {
  (void)state;
  girthline_pictures *whole = drawn(2, 30, 3, 17, 30000);
  for (size_t piece_n = 1; piece_n < 4000; piece_n = 3 * piece_n + 1) {
    girthline_pictures *p = drawn(2, 30, 3, 17, piece_n);
    assert_memory_equal(p, whole, sizeof *p);
    test_free(p);
  }
  test_free(whole);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_extreme_stands_in_the_column_of_its_time),
      cmocka_unit_test(the_columns_reach_over_the_whole_recording_and_no_further),
      cmocka_unit_test(pieces_give_what_the_whole_gives),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
