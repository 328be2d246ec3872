// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/fft.h"
#include "base/memory.h"
#include "reference/fft.h"

enum { MOST = 1000 };

// The reference's own signal: exact in a float.
static void fill(float *x, size_t n) {
  for (size_t i = 0; i < n; i++) x[i] = (float)((7 * i * i + 3 * i + 1) % 31) / 16 - 1;
}

static void check_against(size_t n, const double *want) {
  float x[MOST], spectrum[MOST + 2], power[MOST];
  fill(x, n);
  gn_fft *fft = gn_fft_new(n);
  assert_non_null(fft);
  gn_fft_forward(fft, x, spectrum);
  gn_fft_power(fft, x, power);
  // Float rounding: about 1.5e-7 of the largest bin (at most n here).
  const double tolerance = 3e-7 * (double)n;
  for (size_t k = 0; k <= n / 2; k++) {
    assert_near(spectrum[2 * k], want[2 * k], tolerance);
    assert_near(spectrum[2 * k + 1], want[2 * k + 1], tolerance);
    const double p = want[2 * k] * want[2 * k] + want[2 * k + 1] * want[2 * k + 1];
    assert_near(power[k], p, 1e-6 * p + tolerance * tolerance);
  }
  gn_fft_free(fft);
}

static void the_spectrum_is_scipys(void **state) {
  (void)state;
  check_against(2, RFFT_2);
  check_against(16, RFFT_16);
  check_against(30, RFFT_30);
  check_against(50, RFFT_50);
}

static void the_spectrum_of_an_impulse_is_flat(void **state) {
  (void)state;
  float x[64] = {1}, power[33];
  gn_fft *fft = gn_fft_new(64);
  gn_fft_power(fft, x, power);
  for (int k = 0; k <= 32; k++) assert_near(power[k], 1, 1e-6);
  gn_fft_free(fft);
}

static void a_constant_and_the_fastest_tone_fill_the_end_bins(void **state) {
  (void)state;
  float x[40], spectrum[42];
  gn_fft *fft = gn_fft_new(40);
  for (int i = 0; i < 40; i++) x[i] = 0.5f;
  gn_fft_forward(fft, x, spectrum);
  for (int k = 0; k <= 20; k++) assert_near(spectrum[2 * k], k == 0 ? 20 : 0, 1e-5);
  for (int i = 0; i < 40; i++) x[i] = i % 2 ? -0.5f : 0.5f;
  gn_fft_forward(fft, x, spectrum);
  for (int k = 0; k <= 20; k++) assert_near(spectrum[2 * k], k == 20 ? 20 : 0, 1e-5);
  gn_fft_free(fft);
}

static void the_inverse_gives_the_samples_back(void **state) {
  (void)state;
  const size_t lengths[] = {2, 4, 6, 30, 64, 250, 1000};
  for (size_t l = 0; l < sizeof lengths / sizeof *lengths; l++) {
    const size_t n = lengths[l];
    float x[MOST], y[MOST], spectrum[MOST + 2];
    fill(x, n);
    gn_fft *fft = gn_fft_new(n);
    gn_fft_forward(fft, x, spectrum);
    gn_fft_inverse(fft, spectrum, y);
    for (size_t i = 0; i < n; i++) assert_near(y[i], x[i], 1e-6);
    gn_fft_free(fft);
  }
}

// Parseval: the sum of squares is that of the two-sided spectrum over n.
static void the_energy_is_kept(void **state) {
  (void)state;
  float x[250], power[126];
  fill(x, 250);
  gn_fft *fft = gn_fft_new(250);
  gn_fft_power(fft, x, power);
  double in = 0, out = 0;
  for (int i = 0; i < 250; i++) in += (double)x[i] * (double)x[i];
  for (int k = 0; k <= 125; k++) out += (k == 0 || k == 125 ? 1.0 : 2.0) * (double)power[k] / 250;
  assert_near(out / in, 1, 1e-6);
  gn_fft_free(fft);
}

static void silence_has_no_spectrum_and_nan_stays_nan(void **state) {
  (void)state;
  float x[32] = {0}, power[17];
  gn_fft *fft = gn_fft_new(32);
  gn_fft_power(fft, x, power);
  for (int k = 0; k <= 16; k++) assert_near(power[k], 0, 0);
  x[5] = NAN;
  gn_fft_power(fft, x, power);
  for (int k = 0; k <= 16; k++) assert_true(isnan(power[k]));
  gn_fft_free(fft);
}

static void ten_times_the_gain_is_a_hundred_times_the_power(void **state) {
  (void)state;
  float x[64], soft[33], loud[33];
  fill(x, 64);
  gn_fft *fft = gn_fft_new(64);
  gn_fft_power(fft, x, soft);
  for (int i = 0; i < 64; i++) x[i] *= 10;
  gn_fft_power(fft, x, loud);
  for (int k = 0; k <= 32; k++) assert_near(loud[k], 100 * soft[k], 1e-5 * (double)loud[k] + 1e-5); // float rounding
  gn_fft_free(fft);
}

static void a_fast_size_is_even_and_not_smaller(void **state) {
  (void)state;
  assert_int_equal(gn_fft_size(1023), 1024);
  for (size_t n = 0; n < 3000; n += 7) {
    const size_t size = gn_fft_size(n);
    assert_true(size >= n && size >= 2 && size % 2 == 0);
  }
  // Beyond what a transform takes there is nothing fast to find; it must end, and the transform be refused.
  assert_true(gn_fft_size(SIZE_MAX / 2) >= SIZE_MAX / 2);
  assert_null(gn_fft_new(gn_fft_size(SIZE_MAX / 2)));
}

static void odd_and_empty_lengths_are_refused(void **state) {
  (void)state;
  assert_null(gn_fft_new(0));
  assert_null(gn_fft_new(1));
  assert_null(gn_fft_new(7));
  gn_fft_free(NULL);
}

static void refused_memory_gives_null_and_no_leak(void **state) {
  (void)state;
  for (size_t k = 1; k <= 2; k++) {
    gn_memory_refuse(k);
    assert_null(gn_fft_new(64));
  }
  gn_memory_refuse(0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_spectrum_is_scipys),
      cmocka_unit_test(the_spectrum_of_an_impulse_is_flat),
      cmocka_unit_test(a_constant_and_the_fastest_tone_fill_the_end_bins),
      cmocka_unit_test(the_inverse_gives_the_samples_back),
      cmocka_unit_test(the_energy_is_kept),
      cmocka_unit_test(silence_has_no_spectrum_and_nan_stays_nan),
      cmocka_unit_test(ten_times_the_gain_is_a_hundred_times_the_power),
      cmocka_unit_test(a_fast_size_is_even_and_not_smaller),
      cmocka_unit_test(odd_and_empty_lengths_are_refused),
      cmocka_unit_test(refused_memory_gives_null_and_no_leak),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
