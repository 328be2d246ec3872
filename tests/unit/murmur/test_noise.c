// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/biquad.h"
#include "base/result.h"
#include "analyse.h"
#include "murmur/murmur.h"

// Noise that has gone through these filters, both ways, as loud as this in the mean.
static float *noise_through(const gn_biquad *sections, size_t n_sections, size_t n, double rms, uint64_t seed) {
  float *noise = calloc(n, sizeof *noise);
  gn_random random = gn_random_of(seed);
  for (size_t i = 0; i < n; i++) noise[i] = (float)gn_random_normal(&random);
  assert_int_equal(gn_biquad_zero_phase(sections, n_sections, noise, noise, n), 0);
  double squares = 0;
  for (size_t i = 0; i < n; i++) squares += (double)noise[i] * (double)noise[i];
  for (size_t i = 0; i < n; i++) noise[i] *= (float)(rms / sqrt(squares / (double)n));
  return noise;
}

// Noise of a band, this loud, in every beat between two times after S1.
static void lay_band(heart *h, double from_s, double to_s, const double band_hz[2], double rms) {
  gn_biquad band[2];
  gn_biquad_bandpass(band, band_hz[0], band_hz[1], h->fs_hz);
  float *noise = noise_through(band, 2, h->n, rms, 77);
  for (size_t i = 0; i < h->n; i++) {
    const double since_s = fmod((double)i / h->fs_hz - HEART_LEAD_S + h->interval_s, h->interval_s);
    h->x[i] += (float)heart_gate(since_s - from_s, to_s - from_s) * noise[i];
  }
  free(noise);
}

// Power of that noise at a frequency: each edge is a Butterworth filter of second order, run both ways.
static double density_at(const double band_hz[2], double hz) {
  const double below = 1 + pow(band_hz[0] / hz, 4), above = 1 + pow(hz / band_hz[1], 4);
  return 1 / (below * below * above * above);
}

static void the_strongest_of_a_noise_lies_at_the_top_of_its_band(void **state) {
  (void)state;
  static const double BANDS_HZ[3][2] = {{90, 420}, {150, 290}, {200, 420}};
  for (int k = 0; k < 3; k++) {
    heart *h = heart_new(2000, 30, 1.2, 0.40);
    lay_band(h, 0.13, 0.38, BANDS_HZ[k], 0.02);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_int_equal(r->murmur.phases[0].musical, GIRTHLINE_NO);
    // Both edges are alike: it is strongest midway between them in octaves.
    assert_true(density_at(BANDS_HZ[k], r->murmur.phases[0].peak_hz) > 0.85 * density_at(BANDS_HZ[k], sqrt(BANDS_HZ[k][0] * BANDS_HZ[k][1])));
    // Nine tenths of it lie between: most of the band, and some of its skirts.
    assert_true(r->murmur.phases[0].band_hz[0] < BANDS_HZ[k][0] + 25 && r->murmur.phases[0].band_hz[0] > 0.8 * BANDS_HZ[k][0]);
    assert_true(r->murmur.phases[0].band_hz[1] > BANDS_HZ[k][1] && r->murmur.phases[0].band_hz[1] < 1.35 * BANDS_HZ[k][1]);
    girthline_result_free(r);
    heart_free(h);
  }
}

// Steady noise as low as the body's own, of which a soft murmur's spectrum keeps a remainder.
static void lay_rumble(heart *h, double rms, uint64_t seed) {
  const gn_biquad low = gn_biquad_lowpass(120, h->fs_hz);
  float *noise = noise_through(&low, 1, h->n, rms, seed);
  for (size_t i = 0; i < h->n; i++) h->x[i] += noise[i];
  free(noise);
}

static void what_is_left_of_the_background_is_not_the_strongest(void **state) {
  (void)state;
  static const double BAND_HZ[2] = {180, 500};
  for (uint64_t seed = 1; seed <= 12; seed++) {
    heart *h = heart_new(2000, 10, 1.2, 0.40);
    lay_band(h, 0.13, 0.38, BAND_HZ, 0.006);
    lay_rumble(h, 0.006, seed);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_near(r->murmur.phases[0].peak_hz / sqrt(BAND_HZ[0] * BAND_HZ[1]), 1, 0.10);
    girthline_result_free(r);
    heart_free(h);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_strongest_of_a_noise_lies_at_the_top_of_its_band),
      cmocka_unit_test(what_is_left_of_the_background_is_not_the_strongest),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
