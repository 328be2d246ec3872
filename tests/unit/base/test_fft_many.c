// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/fft.h"
#include "base/fft_many.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"

enum { MOST = 1000 };
static float x[GN_FFT_MANY][MOST], power[(MOST / 2 + 1) * GN_FFT_MANY];

static float ones[MOST];

static void transform(size_t n) {
  const float *signals[GN_FFT_MANY];
  for (size_t s = 0; s < GN_FFT_MANY; s++) signals[s] = x[s];
  for (size_t i = 0; i < MOST; i++) ones[i] = 1;
  gn_fft_many *many = gn_fft_many_new(n);
  assert_non_null(many);
  for (int round = 0; round < 2; round++) { // the second finds the room as the first left it
    gn_fft_many_take(many, signals, ones);
    gn_fft_many_power(many, power);
  }
  gn_fft_many_free(many);
}

// The library's transform of one signal is the oracle; every factor and every order of them, and the signals all different.
static void each_has_the_powers_it_has_alone(void **state) {
  (void)state;
  const size_t lengths[] = {2, 4, 6, 10, 12, 18, 30, 90, 128, 144, 150, 250, 1000};
  gn_random r = gn_random_of(4);
  for (size_t k = 0; k < sizeof lengths / sizeof *lengths; k++) {
    const size_t n = lengths[k];
    float alone[MOST / 2 + 1];
    for (size_t s = 0; s < GN_FFT_MANY; s++)
      for (size_t i = 0; i < n; i++) x[s][i] = (float)((1 + (double)s) * gn_random_normal(&r));
    transform(n);
    gn_fft *fft = gn_fft_new(n);
    for (size_t s = 0; s < GN_FFT_MANY; s++) {
      gn_fft_power(fft, x[s], alone);
      const double usual = (double)((s + 1) * (s + 1) * n);
      for (size_t b = 0; b <= n / 2; b++) assert_near(power[b * GN_FFT_MANY + s], alone[b], 1e-5 * usual);
    }
    gn_fft_free(fft);
  }
}

// A cosine of amplitude a in bin k of n has the power (a n / 2)^2 there and nothing elsewhere; a constant a, (a n)^2 in bin 0.
static void a_tone_is_where_it_belongs(void **state) {
  (void)state;
  for (size_t s = 0; s < GN_FFT_MANY; s++)
    for (size_t i = 0; i < 120; i++) x[s][i] = (float)gn_cos(2 * GN_PI * (double)(s * i) / 120);
  transform(120);
  for (size_t s = 0; s < GN_FFT_MANY; s++)
    for (size_t b = 0; b <= 60; b++) assert_near(power[b * GN_FFT_MANY + s], b != s ? 0 : s ? 3600 : 14400, 1e-2);
}

static void no_signal_depends_on_the_others(void **state) {
  (void)state;
  static float before[(MOST / 2 + 1) * GN_FFT_MANY];
  gn_random r = gn_random_of(9);
  for (size_t s = 0; s < GN_FFT_MANY; s++)
    for (size_t i = 0; i < 120; i++) x[s][i] = (float)gn_random_normal(&r);
  x[5][7] = NAN;
  x[6][119] = INFINITY;
  transform(120);
  memcpy(before, power, sizeof before);
  for (size_t s = 1; s < GN_FFT_MANY; s++)
    for (size_t i = 0; i < 120; i++) x[s][i] *= 1000;
  x[5][7] = x[6][119] = 0;
  transform(120);
  for (size_t b = 0; b <= 60; b++) {
    assert_true(power[b * GN_FFT_MANY] == before[b * GN_FFT_MANY]);
    assert_near(power[b * GN_FFT_MANY + 5], 1e6 * (double)before[b * GN_FFT_MANY + 5], 1e-2 * (double)power[b * GN_FFT_MANY + 5] + 1);
  }
}

static void odd_lengths_and_refused_memory_give_none(void **state) {
  (void)state;
  const size_t refused[] = {0, 1, 3, 7, 14, 125, 65538};
  for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) assert_null(gn_fft_many_new(refused[i]));
  for (size_t k = 1; k <= 3; k++) {
    gn_memory_refuse(k);
    assert_null(gn_fft_many_new(128));
    gn_memory_refuse(0);
  }
  gn_fft_many_free(NULL);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_has_the_powers_it_has_alone),
      cmocka_unit_test(a_tone_is_where_it_belongs),
      cmocka_unit_test(no_signal_depends_on_the_others),
      cmocka_unit_test(odd_lengths_and_refused_memory_give_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
