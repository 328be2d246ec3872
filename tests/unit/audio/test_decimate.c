// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "audio/decimate.h"
#include "base/memory.h"
#include "base/random.h"
#include "decimate_reference.h"

// 4580 Hz has about the least of all in its stop band (81.6 dB), and 16492 Hz is about the least flat (0.035 dB).
static const double RATES_HZ[] = {1000, 2000, 3000, 3001, 4000, 4580, 8000, 11025, 16000, 16492, 22050, 32000, 44100, 46000, 48000, 88200, 96000, 192000, 200000};
enum { N_RATES = sizeof RATES_HZ / sizeof *RATES_HZ };

typedef struct run {
  float *out;
  size_t n, factor;
  double fs_hz;
} run;

static run decimate(double fs_hz, const float *in, size_t n, size_t block) {
  gn_decimator *d = gn_decimator_new(fs_hz);
  assert_non_null(d);
  run r = {.factor = gn_decimator_factor(d), .fs_hz = gn_decimator_fs_hz(d)};
  r.out = calloc(n / r.factor + 2, sizeof *r.out);
  for (size_t at = 0; at < n; at += block) {
    const size_t k = n - at < block ? n - at : block, got = gn_decimator_push(d, in + at, k, r.out + r.n);
    assert_true(got <= k / r.factor + 1);
    r.n += got;
  }
  const size_t tail = gn_decimator_tail(d);
  assert_int_equal(gn_decimator_finish(d, r.out + r.n), tail);
  r.n += tail;
  assert_int_equal(gn_decimator_tail(d), 0);
  gn_decimator_free(d);
  return r;
}

// The gain at a frequency in dB: amplitude of the steady middle, by least squares at the frequency it comes out at.
static double gain_db(double fs_hz, double f_hz) {
  const size_t n = (size_t)(fs_hz * 0.6);
  float *x = calloc(n, sizeof *x);
  for (size_t i = 0; i < n; i++) x[i] = (float)sin(2 * M_PI * f_hz * (double)i / fs_hz);
  run r = decimate(fs_hz, x, n, 1000);
  double cc = 0, cs = 0, ss = 0, yc = 0, ys = 0;
  for (size_t k = r.n / 4; k < r.n * 3 / 4; k++) {
    const double phase = 2 * M_PI * f_hz * (double)k / r.fs_hz, c = cos(phase), s = sin(phase), y = (double)r.out[k];
    cc += c * c, cs += c * s, ss += s * s, yc += y * c, ys += y * s;
  }
  const double det = cc * ss - cs * cs, a = (yc * ss - ys * cs) / det, b = (ys * cc - yc * cs) / det;
  free(x);
  free(r.out);
  return 10 * log10(a * a + b * b + 1e-30);
}

static void a_sine_of_25_to_700_hz_keeps_its_amplitude_within_a_tenth_of_a_db(void **state) {
  (void)state;
  for (int i = 1; i < N_RATES; i++)
    for (double f_hz = 25; f_hz <= 700; f_hz += 45) assert_near(gain_db(RATES_HZ[i], f_hz), 0, 0.1);
}

static void what_would_alias_below_700_hz_is_80_db_down(void **state) {
  (void)state;
  for (int i = 3; i < N_RATES; i++) {
    gn_decimator *d = gn_decimator_new(RATES_HZ[i]);
    const double out_hz = gn_decimator_fs_hz(d);
    gn_decimator_free(d);
    const size_t images = (size_t)(RATES_HZ[i] / 2 / out_hz);
    for (size_t image = 1; image <= images; image += image < 6 ? 1 : images / 5)
      for (double f_hz = -699; f_hz <= 700; f_hz += 139.9) {
        const double in_hz = (double)image * out_hz + f_hz;
        if (in_hz < RATES_HZ[i] / 2 - 1) assert_true(gain_db(RATES_HZ[i], in_hz) <= -80);
      }
  }
}

static void the_factor_is_the_whole_number_nearest_to_2000_hz(void **state) {
  (void)state;
  static const struct { double fs_hz; size_t factor; } table[] = {
      {1000, 1}, {2000, 1}, {3000, 1}, {3001, 2}, {4000, 2}, {5000, 3}, {8000, 4}, {11025, 6}, {22050, 11}, {44100, 22}, {48000, 24}, {96000, 48}, {192000, 96}};
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    gn_decimator *d = gn_decimator_new(table[i].fs_hz);
    assert_int_equal(gn_decimator_factor(d), table[i].factor);
    assert_near(gn_decimator_fs_hz(d), table[i].fs_hz / (double)table[i].factor, 0);
    gn_decimator_free(d);
  }
  assert_null(gn_decimator_new(999));
  assert_null(gn_decimator_new(200001));
  assert_null(gn_decimator_new((double)NAN));
  gn_decimator_free(NULL);
}

static void an_impulse_stays_at_its_time(void **state) {
  (void)state;
  for (int i = 0; i < N_RATES; i++) {
    const size_t n = (size_t)RATES_HZ[i];
    float *x = calloc(n, sizeof *x);
    gn_decimator *d = gn_decimator_new(RATES_HZ[i]);
    const size_t factor = gn_decimator_factor(d), at = n / factor / 2 * factor;
    gn_decimator_free(d);
    x[at] = 1;
    run r = decimate(RATES_HZ[i], x, n, n);
    const size_t peak = at / factor;
    for (size_t k = 1; k < 40 && k < peak && peak + k < r.n; k++) {
      assert_true(r.out[peak - k] < r.out[peak]);
      assert_near(r.out[peak - k], r.out[peak + k], 1e-7);
    }
    free(x);
    free(r.out);
  }
}

static void the_number_of_outputs_is_the_number_of_grid_times_within_the_recording(void **state) {
  (void)state;
  static const size_t lengths[] = {0, 1, 2, 21, 22, 23, 100, 4096, 4097, 10000};
  float *x = calloc(10000, sizeof *x);
  for (int i = 0; i < N_RATES; i++)
    for (size_t k = 0; k < sizeof lengths / sizeof *lengths; k++) {
      run r = decimate(RATES_HZ[i], x, lengths[k], 777);
      assert_int_equal(r.n, (lengths[k] + r.factor - 1) / r.factor);
      free(r.out);
    }
  free(x);
}

static void chunked_equals_whole_to_the_byte(void **state) {
  (void)state;
  enum { N = 60000 };
  static const size_t blocks[] = {1, 2, 7, 22, 1000, 4095, 4096, 4097, 8192, 30011};
  float *x = calloc(N, sizeof *x);
  gn_random random = gn_random_of(1);
  for (size_t i = 0; i < N; i++) x[i] = (float)gn_random_normal(&random);
  for (int i = 0; i < N_RATES; i++) {
    run whole = decimate(RATES_HZ[i], x, N, N);
    for (size_t k = 0; k < sizeof blocks / sizeof *blocks; k++) {
      run part = decimate(RATES_HZ[i], x, N, blocks[k]);
      assert_int_equal(part.n, whole.n);
      assert_memory_equal(part.out, whole.out, whole.n * sizeof *whole.out);
      free(part.out);
    }
    free(whole.out);
  }
  free(x);
}

static void a_constant_keeps_its_level_and_a_gain_of_a_power_of_two_changes_no_other_bit(void **state) {
  (void)state;
  enum { N = 44100 };
  float *x = calloc(N, sizeof *x), *y = calloc(N, sizeof *y);
  for (size_t i = 0; i < N; i++) x[i] = 0.25F;
  run constant = decimate(44100, x, N, 5000);
  for (size_t k = 100; k + 100 < constant.n; k++) assert_near(constant.out[k], 0.25, 1e-6);
  gn_random random = gn_random_of(2);
  for (size_t i = 0; i < N; i++) {
    x[i] = (float)gn_random_normal(&random);
    y[i] = 8 * x[i];
  }
  run one = decimate(44100, x, N, 5000), eight = decimate(44100, y, N, 5000);
  for (size_t k = 0; k < one.n; k++) assert_near(eight.out[k], 8 * one.out[k], 0);
  free(constant.out);
  free(one.out);
  free(eight.out);
  free(x);
  free(y);
}

// Held against scipy: the same filters, made there by folding, scipy.integrate and scipy.signal.firwin, applied in double by scipy.signal.upfirdn.
static void outputs_agree_with_scipy(void **state) {
  (void)state;
  for (size_t i = 0; i < N_REFERENCES; i++) {
    const decimate_reference *ref = &REFERENCES[i];
    const size_t n = ref->n_in;
    float *x = calloc(n, sizeof *x);
    uint32_t seed = 12345; // the script makes the same numbers
    for (size_t k = 0; k < n; k++) {
      seed = seed * 1664525U + 1013904223U;
      x[k] = (float)((double)(seed >> 8) / 8388608.0 - 1.0);
    }
    run r = decimate(ref->fs_hz, x, n, 1234);
    assert_int_equal(r.n, ref->n_out);
    for (size_t k = 0; k < ref->n_kept; k++) assert_near(r.out[k * ref->step], ref->out[k], 2e-6);
    free(x);
    free(r.out);
  }
}

static void a_refused_allocation_gives_null(void **state) {
  (void)state;
  for (size_t k = 1; k <= 5; k++) {
    gn_memory_refuse(k);
    assert_null(gn_decimator_new(44100));
  }
  gn_memory_refuse(0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_sine_of_25_to_700_hz_keeps_its_amplitude_within_a_tenth_of_a_db),
      cmocka_unit_test(what_would_alias_below_700_hz_is_80_db_down),
      cmocka_unit_test(the_factor_is_the_whole_number_nearest_to_2000_hz),
      cmocka_unit_test(an_impulse_stays_at_its_time),
      cmocka_unit_test(the_number_of_outputs_is_the_number_of_grid_times_within_the_recording),
      cmocka_unit_test(chunked_equals_whole_to_the_byte),
      cmocka_unit_test(a_constant_keeps_its_level_and_a_gain_of_a_power_of_two_changes_no_other_bit),
      cmocka_unit_test(outputs_agree_with_scipy),
      cmocka_unit_test(a_refused_allocation_gives_null),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
