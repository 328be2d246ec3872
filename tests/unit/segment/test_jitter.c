// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/random.h"
#include "segment/jitter.h"

#define N 200

// Beats whose systole is a tenth of the interval before plus 0.4 s, with onsets scattered by sd_s.
static void make(girthline_beat *beats, size_t n, double sd_s, bool irregular) {
  gn_random r = gn_random_of(7);
  double at = 1, interval = 1.6;
  for (size_t i = 0; i < n; i++) {
    const double systole = 0.4 + 0.1 * interval;
    beats[i] = (girthline_beat){.s1_onset_s = at + sd_s * gn_random_normal(&r), .s2_onset_s = at + systole + sd_s * gn_random_normal(&r), .confidence = 1};
    interval = irregular ? 1.2 + 0.8 * gn_random_uniform(&r) : 1.6;
    at += interval;
  }
}

// Two independent onsets of SD 5 ms lie sqrt(2) * 5 = 7.07 ms apart in SD; 200 beats give it within a tenth or so.
static void jitter_is_the_spread_of_two_onsets(void **state) {
  (void)state;
  girthline_beat beats[N];
  double jitter_ms;
  make(beats, N, 0.005, false);
  assert_int_equal(gn_jitter_measure(beats, N, &jitter_ms), 0);
  assert_near(jitter_ms, 7.07, 1.2);
}

static void what_systole_owes_to_the_interval_is_not_jitter(void **state) {
  (void)state;
  girthline_beat beats[N];
  double jitter_ms;
  make(beats, N, 0.0005, true); // the interval alone moves systole by 23 ms in SD
  assert_int_equal(gn_jitter_measure(beats, N, &jitter_ms), 0);
  assert_true(jitter_ms < 1.5);
}

static void too_few_beats_give_none(void **state) {
  (void)state;
  girthline_beat beats[6];
  double jitter_ms;
  make(beats, 6, 0.005, false); // five intervals
  assert_int_equal(gn_jitter_measure(beats, 6, &jitter_ms), 0);
  assert_true(isnan(jitter_ms));
  assert_int_equal(gn_jitter_measure(beats, 0, &jitter_ms), 0);
  assert_true(isnan(jitter_ms));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(jitter_is_the_spread_of_two_onsets),
      cmocka_unit_test(what_systole_owes_to_the_interval_is_not_jitter),
      cmocka_unit_test(too_few_beats_give_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
