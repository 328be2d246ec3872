// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/memory.h"
#include "filter/halve.h"

enum { N = 4001 };
static const double RATES_HZ[] = {1800, 2000, 2400, 3000};

// A tone's amplitude at half the rate, away from the ends; what it has to be at each place is asked too where it passes.
static double halved(double hz, double fs_hz, bool passes) {
  static float x[N];
  for (size_t i = 0; i < N; i++) x[i] = (float)cos(2 * M_PI * hz * (double)i / fs_hz);
  const gn_signal window = {x, N, fs_hz, 3.5};
  gn_signal out;
  float *room;
  assert_int_equal(gn_halve(&window, &out, &room), 0);
  assert_ptr_equal(out.samples, room);
  assert_int_equal(out.n, (N + 1) / 2);
  assert_near(out.fs_hz, fs_hz / 2, 1e-9);
  assert_near(out.start_s, 3.5, 0);
  double most = 0;
  for (size_t i = 20; i + 20 < out.n; i++) {
    most = fmax(most, fabs((double)out.samples[i]));
    if (passes) assert_near((double)out.samples[i], (double)x[2 * i], 0.0012); // 0.01 dB, and no delay
  }
  gn_free(room);
  return most;
}

static void the_heart_s_bands_pass_unchanged_and_undelayed(void **state) {
  (void)state;
  for (size_t r = 0; r < sizeof RATES_HZ / sizeof *RATES_HZ; r++)
    for (double hz = 0; hz <= 270; hz += 15) halved(hz, RATES_HZ[r], true);
}

// At half the rate f and the half rate less f are one.
static void what_would_fall_into_them_is_70_db_down(void **state) {
  (void)state;
  for (size_t r = 0; r < sizeof RATES_HZ / sizeof *RATES_HZ; r++)
    for (double hz = RATES_HZ[r] / 2 - 270; hz <= RATES_HZ[r] / 2; hz += 7.3) assert_true(20 * log10(halved(hz, RATES_HZ[r], false)) < -70);
}

static void a_lower_rate_stays_and_refused_memory_is_said(void **state) {
  (void)state;
  static float x[N];
  const gn_signal slow = {x, N, 1700, 0}, few = {x, 14, 2000, 0}, window = {x, N, 2000, 0};
  gn_signal out;
  float *room;
  assert_int_equal(gn_halve(&slow, &out, &room), 0);
  assert_true(!room && out.samples == x && out.n == N);
  assert_int_equal(gn_halve(&few, &out, &room), 0);
  assert_true(!room && out.samples == x);
  for (size_t k = 1; k <= 2; k++) {
    gn_memory_refuse(k);
    assert_int_equal(gn_halve(&window, &out, &room), -1);
  }
  gn_memory_refuse(0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_heart_s_bands_pass_unchanged_and_undelayed),
      cmocka_unit_test(what_would_fall_into_them_is_70_db_down),
      cmocka_unit_test(a_lower_rate_stays_and_refused_memory_is_said),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
