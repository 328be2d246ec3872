// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/random.h"
#include "envelope/envelope.h"

#define FS_HZ 2000.0
#define N 80000 // 40 s

static gn_envelope_settings usual(void) {
  girthline_profile store;
  return gn_envelope_settings_default(girthline_profile_of(GIRTHLINE_HORSE, -1, &store));
}

static gn_features features_of(const float *x, size_t n, double start_s, const girthline_span *spoilt, size_t n_spoilt) {
  const gn_envelope_in in = {{x, x}, x, n, FS_HZ, start_s, spoilt, n_spoilt};
  const gn_envelope_settings s = usual();
  gn_features f = {0};
  assert_int_equal(gn_envelope_run(&in, &s, &f), GIRTHLINE_OK);
  return f;
}

// White noise of power 1e-4 with a burst of 0.1 s every second that adds power_ratio times its power.
static float *bursts(double power_ratio, double gain) {
  float *x = test_calloc(N, sizeof *x);
  gn_random r = gn_random_of(5);
  for (size_t i = 0; i < N; i++) {
    const double t = (double)i / FS_HZ;
    const double tone = fmod(t, 1) < 0.1 ? sqrt(2 * power_ratio) * sin(2 * M_PI * 60 * t) : 0;
    x[i] = (float)(gain * 0.01 * (gn_random_normal(&r) + tone));
  }
  return x;
}

static void silence_reads_one_low_level_everywhere(void **state) {
  (void)state;
  float *x = test_calloc(N, sizeof *x);
  gn_features f = features_of(x, N, 0, NULL, 0);
  for (size_t b = 0; b < GN_N_BANDS; b++)
    for (size_t k = 0; k < f.n; k++) {
      assert_near(f.level_db[b][k], f.level_db[b][0], 0);
      assert_true(f.level_db[b][k] >= 0 && (double)f.level_db[b][k] <= usual().headroom_db);
    }
  for (size_t k = 0; k < f.n_fine; k++) assert_near(f.fine_power[k], 0, 0);
  gn_features_clear(&f);
  test_free(x);
}

static void a_burst_16_db_over_the_noise_reads_near_16_db(void **state) {
  (void)state;
  float *x = bursts(39.8, 1);
  gn_features f = features_of(x, N, 0, NULL, 0);
  double in = 0, out = 0, n_in = 0, n_out = 0;
  for (size_t k = 0; k < f.n; k++) {
    const size_t at = k % 100;
    if (at >= 3 && at <= 7) in += (double)f.level_db[0][k], n_in++;
    if (at >= 20 && at <= 90) out += (double)f.level_db[0][k], n_out++;
  }
  assert_near(in / n_in, 16, 1);
  assert_near(out / n_out, 3, 1.5); // the background itself: the power added to it equals it
  gn_features_clear(&f);
  test_free(x);
}

static void a_frame_is_the_mean_power_under_a_hann_window(void **state) {
  (void)state;
  float *x = test_calloc(N, sizeof *x);
  for (size_t i = 0; i < N; i++) x[i] = 0.25f;
  gn_features f = features_of(x, N, 0, NULL, 0);
  assert_int_equal(f.n, 4000);
  assert_int_equal(f.n_fine, 16000);
  assert_near(f.rate_hz, 100, 0);
  assert_near(f.fine_rate_hz, 400, 0);
  for (size_t k = 0; k < f.n_fine; k++) assert_near(f.fine_power[k], 0.0625, 1e-6);
  assert_int_equal(f.n_wave, 20000);
  assert_near(f.wave_rate_hz, 500, 0);
  for (size_t k = 0; k + 1 < f.n_wave; k++) assert_near(f.wave[k], 0.5, 1e-6); // the bands' sum
  gn_features_clear(&f);
  // One sample alone: the window's own shape, 16 ms long, 0.5 + 0.5 cos, over the sum of its weights.
  memset(x, 0, N * sizeof *x);
  x[20000] = 1;
  f = features_of(x, N, 0, NULL, 0);
  for (long d = -3; d <= 3; d++) {
    const double away = (double)d * 5 / 16, want = fabs(away) >= 1 ? 0 : (0.5 + 0.5 * cos(M_PI * away)) / 16;
    assert_near(f.fine_power[4000 + d], want, 1e-5);
  }
  gn_features_clear(&f);
  test_free(x);
}

// Of a sound that swells by so many dB a second, with a click now and then that is cut at what the loudest reach: over a background that is a
// straight line between its places each frame reads the same, and so does each click.
static void a_background_that_rises_is_a_straight_line_between_its_places(void **state) {
  (void)state;
  enum { FRAME_N = 20, CLICK_EVERY = 103 * FRAME_N };
  const double rise_db_s = 4;
  float *x = test_calloc(N, sizeof *x);
  for (size_t i = 0; i < N; i++) x[i] = (float)(1e-8 * pow(10, rise_db_s * (double)i / FS_HZ / 20) * (i % CLICK_EVERY < FRAME_N ? 30 : 1));
  gn_features f = features_of(x, N, 0, NULL, 0);
  for (size_t k = 1030; k < 3000; k++) { // no end is near
    const size_t behind = k % 103;
    if (behind == 0) assert_near(f.level_db[0][k], f.level_db[0][1030], 0.01);
    if (behind > 3 && behind < 100) assert_near(f.level_db[0][k], f.level_db[0][1080], 0.1); // of a frame's rise of 0.04 dB the lower level is a rank
  }
  gn_features_clear(&f);
  test_free(x);
}

static void frames_stand_on_one_grid_whatever_the_windows_start(void **state) {
  (void)state;
  float *x = bursts(20, 1);
  gn_features whole = features_of(x, N, 100, NULL, 0);
  static const size_t STARTS_N[] = {0, 1, 7, 6000, 6667};
  for (size_t i = 0; i < 5; i++) {
    const double start_s = 100 + (double)STARTS_N[i] / FS_HZ;
    gn_features f = features_of(x + STARTS_N[i], N - STARTS_N[i], start_s, NULL, 0);
    const double first = f.start_s * 100;
    assert_near(first, floor(first + 0.5), 1e-9);
    assert_true(f.start_s >= start_s - 1e-8 && f.start_s < start_s + 0.01);
    const size_t ahead = (size_t)((f.start_s - whole.start_s) * 100 + 0.5);
    assert_near((double)(f.n + ahead), (double)whole.n, 1); // the last frame may fall to rounding
    // The Hann weights are read off a grid of 1/64 sample.
    for (size_t k = 8; k < f.n_fine; k++) assert_near(f.fine_power[k], whole.fine_power[k + 4 * ahead], 1e-2 * (double)whole.fine_power[k + 4 * ahead]);
    // A window that starts whole seconds later takes its background at the same places, so levels away from its start agree.
    for (size_t k = 800; k < f.n && ahead % 100 == 0; k++) assert_near(f.level_db[0][k], whole.level_db[0][k + ahead], 0.01);
    gn_features_clear(&f);
  }
  gn_features_clear(&whole);
  test_free(x);
}

static void gain_changes_no_level(void **state) {
  (void)state;
  static const double GAINS[] = {10, 0.01};
  float *x = bursts(30, 1);
  gn_features a = features_of(x, N, 0, NULL, 0);
  for (size_t g = 0; g < 2; g++) {
    float *y = bursts(30, GAINS[g]);
    gn_features b = features_of(y, N, 0, NULL, 0);
    for (size_t k = 0; k < a.n; k++) assert_near(a.level_db[0][k], b.level_db[0][k], 1e-3);
    gn_features_clear(&b);
    test_free(y);
  }
  gn_features_clear(&a);
  test_free(x);
}

static void spoilt_frames_are_marked_and_change_nothing_beside_them(void **state) {
  (void)state;
  const girthline_span spoilt[] = {{2.005, 2.5}, {10, 14}, {39, 99}};
  float *x = bursts(30, 1);
  gn_features quiet = features_of(x, N, 0, spoilt, 3);
  for (size_t i = (size_t)(10.1 * FS_HZ); i < (size_t)(13.9 * FS_HZ); i++) x[i] *= 300;
  gn_features loud = features_of(x, N, 0, spoilt, 3);
  for (size_t k = 0; k < quiet.n; k++) {
    const double t = (double)k / 100;
    bool in = false;
    for (size_t i = 0; i < 3; i++) in = in || (t >= spoilt[i].start_s - 1e-9 && t <= spoilt[i].end_s + 1e-9);
    assert_int_equal(quiet.spoilt[k], in);
    if (!in) assert_near(quiet.level_db[0][k], loud.level_db[0][k], 1e-6);
  }
  gn_features_clear(&quiet);
  gn_features_clear(&loud);
  const girthline_span all = {-1, 99};
  quiet = features_of(x, N, 0, &all, 1);
  for (size_t k = 0; k < quiet.n; k++) assert_true(quiet.spoilt[k] && isfinite((double)quiet.level_db[0][k]));
  gn_features_clear(&quiet);
  test_free(x);
}

// No frame tells of the background: also in what is left of the last second.
static void where_all_is_spoilt_nothing_is_heard(void **state) {
  (void)state;
  const girthline_span all = {0, 40};
  float *x = bursts(39.8, 1);
  gn_features f = features_of(x, N - 900, 0, &all, 1);
  assert_true(f.n % 100 > 0);
  for (size_t b = 0; b < GN_N_BANDS; b++)
    for (size_t k = 0; k < f.n; k++) assert_near(f.level_db[b][k], 0, 0);
  gn_features_clear(&f);
  test_free(x);
}

static void levels_stay_between_nothing_and_a_little_over_the_heart_sounds(void **state) {
  (void)state;
  float *x = bursts(1000, 1); // bursts 30 dB over the noise
  x[20000 + 1000] = 30;       // and one click that is louder than all
  gn_features f = features_of(x, N, 0, NULL, 0);
  const gn_envelope_settings s = usual();
  for (size_t k = 0; k < f.n; k++) assert_true(f.level_db[0][k] >= 0 && (double)f.level_db[0][k] <= s.range_db + s.headroom_db + 1e-3);
  gn_features_clear(&f);
  test_free(x);
}

static void nothing_and_one_sample_give_no_frame(void **state) {
  (void)state;
  const float x[30] = {1};
  for (size_t n = 0; n < 30; n++) {
    gn_features f = features_of(x, n, 0.0123, NULL, 0);
    assert_true(f.n <= 1);
    for (size_t k = 0; k < f.n; k++) assert_true(isfinite((double)f.level_db[0][k]));
    gn_features_clear(&f);
  }
  gn_features f = {0};
  gn_features_clear(&f);
  gn_features_clear(NULL);
}

static void refused_memory_is_an_error_and_leaks_nothing(void **state) {
  (void)state;
  float *x = bursts(30, 1);
  const gn_envelope_in in = {{x, x}, x, 4000, FS_HZ, 0, NULL, 0};
  const gn_envelope_settings s = usual();
  size_t k = 1;
  for (; k < 50; k++) {
    gn_features f = {0};
    gn_memory_refuse(k);
    const girthline_status status = gn_envelope_run(&in, &s, &f);
    gn_memory_refuse(0);
    if (status == GIRTHLINE_OK) {
      gn_features_clear(&f);
      break;
    }
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
    assert_null(f.spoilt);
  }
  assert_true(k > 8 && k < 50);
  test_free(x);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(silence_reads_one_low_level_everywhere),
      cmocka_unit_test(a_burst_16_db_over_the_noise_reads_near_16_db),
      cmocka_unit_test(a_frame_is_the_mean_power_under_a_hann_window),
      cmocka_unit_test(a_background_that_rises_is_a_straight_line_between_its_places),
      cmocka_unit_test(frames_stand_on_one_grid_whatever_the_windows_start),
      cmocka_unit_test(gain_changes_no_level),
      cmocka_unit_test(spoilt_frames_are_marked_and_change_nothing_beside_them),
      cmocka_unit_test(where_all_is_spoilt_nothing_is_heard),
      cmocka_unit_test(levels_stay_between_nothing_and_a_little_over_the_heart_sounds),
      cmocka_unit_test(nothing_and_one_sample_give_no_frame),
      cmocka_unit_test(refused_memory_is_an_error_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
