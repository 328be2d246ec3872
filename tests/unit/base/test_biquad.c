// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/biquad.h"
#include "base/maths.h"
#include "base/memory.h"

static void check(gn_biquad q, double b0, double b1, double b2, double a1, double a2) {
  assert_near(q.b0, b0, 1e-12);
  assert_near(q.b1, b1, 1e-12);
  assert_near(q.b2, b2, 1e-12);
  assert_near(q.a1, a1, 1e-12);
  assert_near(q.a2, a2, 1e-12);
}

static void coefficients_are_the_closed_form_ones(void **state) {
  (void)state;
  check(gn_biquad_lowpass(500, 2000), 0.2928932188134524, 0.5857864376269049, 0.2928932188134524, 0, 0.1715728752538099);
  check(gn_biquad_highpass(500, 2000), 0.2928932188134524, -0.5857864376269049, 0.2928932188134524, 0, 0.1715728752538099);
  check(gn_biquad_highpass(25, 4000), 0.9726138984998438, -1.9452277969996876, 0.9726138984998438, -1.9444776577670937, 0.9459779362322814);
  check(gn_biquad_lowpass(400, 4000), 0.06745527388907191, 0.13491054777814382, 0.06745527388907191, -1.1429805025399011, 0.4128015980961886);
  check(gn_biquad_highpass(25, 2000), 0.94597685600279, -1.89195371200558, 0.94597685600279, -1.8890330793945245, 0.8948743446166355);
}

static void power_is_half_at_the_cut_off(void **state) {
  (void)state;
  const gn_biquad low = gn_biquad_lowpass(150, 2000), high = gn_biquad_highpass(40, 1000);
  assert_near(gn_biquad_power_at(&low, 1, 150, 2000), 0.5, 1e-12);
  assert_near(gn_biquad_power_at(&high, 1, 40, 1000), 0.5, 1e-12);
  assert_near(gn_biquad_power_at(&low, 1, 0, 2000), 1, 1e-12);
}

static void cut_offs_out_of_range_stay_stable(void **state) {
  (void)state;
  const double cuts[] = {-5, 0, 1000, 1e9, NAN};
  for (size_t i = 0; i < 5; i++) {
    const gn_biquad q = gn_biquad_lowpass(cuts[i], 2000);
    assert_true(fabs(q.a2) < 1 && fabs(q.a1) < 1 + q.a2);
  }
}

// tests/reference/biquad.py
static void zero_phase_equals_scipys_sosfiltfilt(void **state) {
  (void)state;
  static const struct { size_t at; double value; } WANT[] = {
      {0, -0.000247215}, {1, 0.120678411}, {57, -0.616574803}, {200, 0.054092010}, {263, -0.407731714}, {398, -0.140736100}, {399, 0.000426679}};
  float x[400], y[400];
  for (size_t i = 0; i < 400; i++)
    x[i] = (float)(0.3 + gn_sin(2 * GN_PI * 60 * (double)i / 2000) + 0.5 * gn_sin(2 * GN_PI * 333 * (double)i / 2000) + (i == 200));
  gn_biquad band[2];
  gn_biquad_bandpass(band, 45, 90, 2000);
  assert_int_equal(gn_biquad_padding(band, 2), 71);
  assert_int_equal(gn_biquad_zero_phase(band, 2, x, y, 400), 0);
  for (size_t i = 0; i < sizeof WANT / sizeof WANT[0]; i++) assert_near(y[WANT[i].at], WANT[i].value, 2e-6);
}

static void zero_phase_shifts_a_tone_by_nothing(void **state) {
  (void)state;
  float x[4000], y[4000];
  gn_biquad band[2];
  gn_biquad_bandpass(band, 90, 150, 2000);
  for (size_t i = 0; i < 4000; i++) x[i] = (float)gn_sin(2 * GN_PI * 120 * (double)i / 2000);
  assert_int_equal(gn_biquad_zero_phase(band, 2, x, y, 4000), 0);
  const double gain = gn_biquad_power_at(band, 2, 120, 2000);
  for (size_t i = 1000; i < 3000; i++) assert_near(y[i], gain * (double)x[i], 1e-4);
}

static void a_constant_passes_low_and_not_high(void **state) {
  (void)state;
  float x[50], y[50];
  for (size_t i = 0; i < 50; i++) x[i] = 0.7f;
  const gn_biquad low = gn_biquad_lowpass(100, 2000), high = gn_biquad_highpass(25, 2000);
  assert_int_equal(gn_biquad_zero_phase(&low, 1, x, y, 50), 0);
  for (size_t i = 0; i < 50; i++) assert_near(y[i], 0.7, 1e-6);
  assert_int_equal(gn_biquad_zero_phase(&high, 1, x, y, 50), 0);
  for (size_t i = 0; i < 50; i++) assert_near(y[i], 0, 1e-6);
}

// The equation itself, sample by sample; the first section settled to the first sample.
static void run_alone(const gn_biquad *sections, size_t n_sections, const float *in, double *out, size_t n) {
  for (size_t i = 0; i < n; i++) out[i] = (double)in[i];
  for (size_t k = 0; k < n_sections; k++) {
    const gn_biquad *c = &sections[k];
    double x1 = k == 0 && n ? out[0] : 0, x2 = x1, y1 = x1 * (c->b0 + c->b1 + c->b2) / (1 + c->a1 + c->a2), y2 = y1;
    for (size_t i = 0; i < n; i++) {
      const double x = out[i], y = c->b0 * x + c->b1 * x1 + c->b2 * x2 - c->a1 * y1 - c->a2 * y2;
      x2 = x1, x1 = x, y2 = y1, y1 = y;
      out[i] = y;
    }
  }
}

static void four_signals_side_by_side_are_each_the_difference_equation(void **state) {
  (void)state;
  static float x[4][1000], row[4][1000];
  static double alone[1000];
  const float *in[4];
  float *out[4];
  const gn_biquad sections[3] = {gn_biquad_highpass(60, 2000), gn_biquad_lowpass(400, 2000), gn_biquad_lowpass(300, 2000)};
  for (size_t l = 0; l < 4; l++) {
    for (size_t i = 0; i < 1000; i++) x[l][i] = (float)((i * (7919 + 2 * l)) % 100) / 100 - 0.5f;
    in[l] = x[l], out[l] = row[l];
  }
  const size_t lengths[] = {0, 1, 3, 4, 5, 999, 1000};
  for (size_t k = 0; k < 7; k++)
    for (size_t n_sections = 2; n_sections <= 3; n_sections++) {
      gn_biquad_run_four(sections, n_sections, in, out, lengths[k]);
      for (size_t l = 0; l < 4; l++) {
        run_alone(sections, n_sections, x[l], alone, lengths[k]);
        for (size_t i = 0; i < lengths[k]; i++) assert_near(row[l][i], alone[i], 1e-7);
      }
    }
}

// One to nine bands, of signals shorter and longer than what is taken at once.
// Those run in float, and one alone in double. What a section rounds off comes back by its own last outputs, the more the lower its cut lies against the
// rate: the last bit of a float near 1, 6e-8, some 400 times over with 10 Hz of 2000.
static void many_bands_at_once_are_each_as_if_alone(void **state) {
  (void)state;
  static float x[3000], one[3000], all[9][3000];
  gn_biquad bands[9][2];
  float *out[9];
  for (size_t i = 0; i < 3000; i++) x[i] = (float)(gn_sin(0.05 * (double)i) + 0.1 * gn_cos(1.3 * (double)i * (double)i));
  for (size_t b = 0; b < 9; b++) {
    gn_biquad_bandpass(bands[b], 10 + 20 * (double)b, 60 + 80 * (double)b, 2000);
    out[b] = all[b];
  }
  const size_t lengths[] = {1, 2, 100, 256, 700, 2999};
  for (size_t k = 0; k < 6; k++)
    for (size_t n_bands = 1; n_bands <= 9; n_bands++) {
      assert_int_equal(gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, n_bands, x, out, lengths[k]), 0);
      for (size_t b = 0; b < n_bands; b++) {
        gn_biquad_zero_phase(bands[b], 2, x, one, lengths[k]);
        for (size_t i = 0; i < lengths[k]; i++) assert_near(all[b][i], one[i], 4e-5);
      }
    }
  assert_int_equal(gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, 9, x, out, 0), 0);
  gn_memory_refuse(2);
  assert_int_equal(gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, 9, x, out, 100), -1);
  gn_memory_refuse(0);
  bands[8][1] = bands[8][0]; // two high-passes
  assert_int_equal(gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, 9, x, out, 100), -1);
}

// Few bands leave lanes to spare, which take the other parts of a long signal: one that does not begin where it is cut, on a level of its own.
static void parts_side_by_side_are_what_the_whole_is(void **state) {
  (void)state;
  enum { MOST = 9001 };
  static float x[MOST], one[MOST], all[6][MOST];
  gn_biquad bands[6][2];
  float *out[6];
  for (size_t i = 0; i < MOST; i++) x[i] = (float)(0.3 + 0.5 * gn_sin(0.05 * (double)i) + 0.1 * gn_cos(1.3 * (double)i * (double)i));
  for (size_t b = 0; b < 6; b++) {
    gn_biquad_bandpass(bands[b], 25 + 10 * (double)b, 700 - 50 * (double)b, 2205);
    out[b] = all[b];
  }
  for (size_t n = MOST - 3; n <= MOST; n++)
    for (size_t n_bands = 2; n_bands <= 6; n_bands++) {
      assert_int_equal(gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, n_bands, x, out, n), 0);
      for (size_t b = 0; b < n_bands; b++) {
        gn_biquad_zero_phase(bands[b], 2, x, one, n);
        for (size_t i = 0; i < n; i++) assert_near(all[b][i], one[i], 3e-6); // some 25 times with 25 Hz of 2205
      }
    }
}

static void short_inputs_and_refused_memory_are_harmless(void **state) {
  (void)state;
  gn_biquad band[2];
  gn_biquad_bandpass(band, 45, 90, 2000);
  float x[2] = {1, -1}, y[2] = {9, 9};
  assert_int_equal(gn_biquad_zero_phase(band, 2, x, y, 0), 0);
  assert_near(y[0], 9, 0);
  assert_int_equal(gn_biquad_zero_phase(band, 2, x, y, 1), 0);
  assert_near(y[0], 0, 1e-6);
  assert_int_equal(gn_biquad_zero_phase(band, 2, x, y, 2), 0);
  y[1] = 9;
  gn_memory_refuse(1);
  assert_int_equal(gn_biquad_zero_phase(band, 2, x, y, 2), -1);
  gn_memory_refuse(0);
  assert_near(y[1], 9, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(coefficients_are_the_closed_form_ones),
      cmocka_unit_test(power_is_half_at_the_cut_off),
      cmocka_unit_test(cut_offs_out_of_range_stay_stable),
      cmocka_unit_test(zero_phase_equals_scipys_sosfiltfilt),
      cmocka_unit_test(zero_phase_shifts_a_tone_by_nothing),
      cmocka_unit_test(a_constant_passes_low_and_not_high),
      cmocka_unit_test(four_signals_side_by_side_are_each_the_difference_equation),
      cmocka_unit_test(many_bands_at_once_are_each_as_if_alone),
      cmocka_unit_test(parts_side_by_side_are_what_the_whole_is),
      cmocka_unit_test(short_inputs_and_refused_memory_are_harmless),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
