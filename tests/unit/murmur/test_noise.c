// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/biquad.h"
#include "base/result.h"
#include "analyse.h"
#include "murmur/murmur.h"

// Noise of a band, this loud, in every beat between two times after S1.
static void lay_band(heart *h, double from_s, double to_s, const double band_hz[2], double rms) {
  float *noise = calloc(h->n, sizeof *noise);
  gn_random random = gn_random_of(77);
  for (size_t i = 0; i < h->n; i++) noise[i] = (float)gn_random_normal(&random);
  gn_biquad band[2];
  gn_biquad_bandpass(band, band_hz[0], band_hz[1], h->fs_hz);
  assert_int_equal(gn_biquad_zero_phase(band, 2, noise, noise, h->n), 0);
  double squares = 0;
  for (size_t i = 0; i < h->n; i++) squares += (double)noise[i] * (double)noise[i];
  const double gain = rms / sqrt(squares / (double)h->n);
  for (size_t i = 0; i < h->n; i++) {
    const double since_s = fmod((double)i / h->fs_hz - HEART_LEAD_S + h->interval_s, h->interval_s);
    h->x[i] += (float)(gain * heart_gate(since_s - from_s, to_s - from_s) * (double)noise[i]);
  }
  free(noise);
}

static void the_strongest_of_a_noise_is_the_middle_of_its_band(void **state) {
  (void)state;
  // Zero phase, each edge lies 6 dB down: the half-power band is a little narrower, and its middle that of the edges; of the widest, in octaves.
  static const double BANDS_HZ[3][2] = {{90, 420}, {150, 290}, {200, 420}};
  for (int k = 0; k < 3; k++) {
    heart *h = heart_new(2000, 30, 1.2, 0.40);
    lay_band(h, 0.13, 0.38, BANDS_HZ[k], 0.02);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_int_equal(r->murmur.phases[0].musical, GIRTHLINE_NO);
    const double in_hertz = 0.5 * (BANDS_HZ[k][0] + BANDS_HZ[k][1]), in_octaves = sqrt(BANDS_HZ[k][0] * BANDS_HZ[k][1]);
    assert_near(r->murmur.phases[0].peak_hz / (k == 0 ? in_octaves : in_hertz), 1, 0.06);
    // Nine tenths of it lie between: most of the band, and some of its skirts.
    assert_true(r->murmur.phases[0].band_hz[0] < BANDS_HZ[k][0] + 25 && r->murmur.phases[0].band_hz[0] > 0.8 * BANDS_HZ[k][0]);
    assert_true(r->murmur.phases[0].band_hz[1] > BANDS_HZ[k][1] && r->murmur.phases[0].band_hz[1] < 1.35 * BANDS_HZ[k][1]);
    girthline_result_free(r);
    heart_free(h);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_strongest_of_a_noise_is_the_middle_of_its_band),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
