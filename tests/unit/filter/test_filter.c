// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>

#include "base/memory.h"
#include "filter/filter.h"

static gn_filter_settings usual(girthline_species species) {
  girthline_profile store;
  return gn_filter_settings_default(girthline_profile_of(species, -1, &store));
}

static gn_bands filtered(const float *x, size_t n, double fs_hz, const gn_filter_settings *s) {
  gn_bands bands = {0};
  const gn_signal window = {x, n, fs_hz, 0};
  assert_int_equal(gn_filter_run(&window, s, &bands), GIRTHLINE_OK);
  assert_int_equal(bands.n, n);
  return bands;
}

// Butterworth of second order after the bilinear transform, a high-pass and a low-pass, forward and backward.
static double closed_form(const double edges_hz[2], double hz, double fs_hz) {
  const double w = tan(M_PI * hz / fs_hz), low = tan(M_PI * edges_hz[0] / fs_hz), high = tan(M_PI * edges_hz[1] / fs_hz);
  return 1 / (1 + pow(low / w, 4)) / (1 + pow(w / high, 4));
}

static void a_tone_comes_out_as_the_closed_form_says(void **state) {
  (void)state;
  static const double RATES_HZ[] = {1000, 2000, 3000}, TONES_HZ[] = {10, 20, 30, 45, 60, 85, 120, 200, 400};
  static float x[24000];
  for (size_t r = 0; r < 3; r++)
    for (size_t t = 0; t < 9; t++)
      for (int animal = 0; animal < 2; animal++) {
        const gn_filter_settings s = usual(animal ? GIRTHLINE_CAT : GIRTHLINE_HORSE);
        const size_t n = (size_t)(8 * RATES_HZ[r]);
        const double step = 2 * M_PI * TONES_HZ[t] / RATES_HZ[r];
        for (size_t i = 0; i < n; i++) x[i] = (float)cos(step * (double)i);
        gn_bands bands = filtered(x, n, RATES_HZ[r], &s);
        const float *const band[] = {bands.band[0], bands.band[1], bands.fine, bands.low};
        const double low_hz[2] = {20, 60}, *const edges_hz[] = {s.edges_hz[0], s.edges_hz[1], s.fine_hz, low_hz};
        for (size_t b = 0; b < 4; b++) {
          double same = 0, quarter = 0; // in phase with the tone, and a quarter turn from it, over whole seconds
          for (size_t i = n / 4; i < 3 * n / 4; i++) {
            same += (double)band[b][i] * cos(step * (double)i);
            quarter += (double)band[b][i] * sin(step * (double)i);
          }
          assert_near(same / ((double)n / 4), closed_form(edges_hz[b], TONES_HZ[t], RATES_HZ[r]), 2e-5);
          assert_near(quarter / ((double)n / 4), 0, 2e-5); // no delay
        }
        gn_bands_clear(&bands);
      }
}

static void an_impulse_stays_where_it_is_and_rings_alike_on_both_sides(void **state) {
  (void)state;
  static float x[4001];
  x[2000] = 1;
  const gn_filter_settings s = usual(GIRTHLINE_HORSE);
  gn_bands bands = filtered(x, 4001, 2000, &s);
  for (size_t b = 0; b < GN_N_BANDS; b++) {
    const float *y = bands.band[b];
    for (size_t k = 1; k <= 2000; k++) {
      assert_true(y[2000] > fabsf(y[2000 - k]));
      assert_near(y[2000 - k], y[2000 + k], 4e-6 * (double)y[2000]); // 70 times a float's last bit: what is rounded off comes back by a filter's own outputs
    }
  }
  gn_bands_clear(&bands);
}

static void the_bands_are_two_octaves_and_higher_for_small_hearts(void **state) {
  (void)state;
  const gn_filter_settings horse = usual(GIRTHLINE_HORSE);
  assert_near(horse.edges_hz[0][0], 30, 1e-9);
  assert_near(horse.edges_hz[1][1], 120, 1e-9);
  for (girthline_species k = GIRTHLINE_HORSE; k < GIRTHLINE_N_SPECIES; k++) {
    const gn_filter_settings s = usual(k);
    assert_true(s.edges_hz[0][0] >= 30 && s.edges_hz[0][0] <= 40 + 1e-9);
    assert_near(s.edges_hz[0][1], 2 * s.edges_hz[0][0], 1e-9);
    assert_near(s.edges_hz[1][0], s.edges_hz[0][1], 1e-9);
    assert_near(s.edges_hz[1][1], 4 * s.edges_hz[0][0], 1e-9);
  }
  assert_true(usual(GIRTHLINE_CAT).edges_hz[0][0] > 35);
}

static void gain_scales_and_a_constant_leaves_nothing(void **state) {
  (void)state;
  static float x[8000], loud[8000], flat[8000];
  for (size_t i = 0; i < 8000; i++) {
    x[i] = (float)((i * 7919) % 101) / 1010 - 0.05f;
    loud[i] = 8 * x[i]; // a power of two: exact in float
    flat[i] = 0.5f;
  }
  const gn_filter_settings s = usual(GIRTHLINE_HORSE);
  gn_bands a = filtered(x, 8000, 2000, &s), b = filtered(loud, 8000, 2000, &s), c = filtered(flat, 8000, 2000, &s);
  for (size_t k = 0; k < GN_N_BANDS; k++)
    for (size_t i = 0; i < 8000; i++) {
      assert_near(b.band[k][i], 8 * (double)a.band[k][i], 0);
      assert_near(c.band[k][i], 0, 1e-3);
    }
  gn_bands_clear(&a);
  gn_bands_clear(&b);
  gn_bands_clear(&c);
}

static void nothing_one_sample_and_nan_are_harmless(void **state) {
  (void)state;
  float x[64] = {0.5f};
  const gn_filter_settings s = usual(GIRTHLINE_HORSE);
  for (size_t n = 0; n < 4; n++) {
    gn_bands bands = filtered(x, n, 2000, &s);
    for (size_t i = 0; i < n; i++) assert_true(isfinite((double)bands.band[0][i]) && isfinite((double)bands.band[1][i]));
    gn_bands_clear(&bands);
  }
  x[10] = NAN; // such samples are replaced at reading; here they may only not trap
  gn_bands bands = filtered(x, 64, 2000, &s);
  gn_bands_clear(&bands);
  gn_bands_clear(&bands);
  gn_bands_clear(NULL);
}

static void refused_memory_is_an_error_and_leaks_nothing(void **state) {
  (void)state;
  static float x[500];
  const gn_signal window = {x, 500, 2000, 0};
  const gn_filter_settings s = usual(GIRTHLINE_HORSE);
  for (size_t k = 1; k < 50; k++) {
    gn_bands bands = {0};
    gn_memory_refuse(k);
    const girthline_status status = gn_filter_run(&window, &s, &bands);
    gn_memory_refuse(0);
    if (status == GIRTHLINE_OK) {
      assert_true(k > 3);
      gn_bands_clear(&bands);
      return;
    }
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
    assert_null(bands.band[0]);
    assert_null(bands.band[1]);
  }
  fail();
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_tone_comes_out_as_the_closed_form_says),
      cmocka_unit_test(an_impulse_stays_where_it_is_and_rings_alike_on_both_sides),
      cmocka_unit_test(the_bands_are_two_octaves_and_higher_for_small_hearts),
      cmocka_unit_test(gain_scales_and_a_constant_leaves_nothing),
      cmocka_unit_test(nothing_one_sample_and_nan_are_harmless),
      cmocka_unit_test(refused_memory_is_an_error_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
