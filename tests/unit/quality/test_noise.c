// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "heart.h"

// A Hann-windowed sine of amplitude a has mean square 3 a^2 / 16 over its length; white noise of RMS s keeps
// (700 - 25) / 1000 of its power in the band (fs 2 kHz). The band's slopes bring both within half a dB of that.
static double closed_form_db(double s) {
  const double sounds = (0.120 * 0.3 * 0.3 + 0.085 * 0.2 * 0.2) * 3 / 16 / 0.205;
  return gn_db(sounds / (s * s * 0.675));
}

static double measured_db(double noise_rms, double seconds) {
  heart h = heart_new(seconds, 1.6, noise_rms);
  girthline_result *r = heart_judge(&h);
  assert_non_null(r);
  const double db = r->quality.heart_to_noise_db;
  girthline_result_free(r);
  heart_free(&h);
  return db;
}

static void heart_to_noise_is_its_closed_form(void **state) {
  (void)state;
  const double rms[] = {0.002, 0.02, 0.1};
  for (int i = 0; i < 3; i++) assert_near(measured_db(rms[i], 60), closed_form_db(rms[i]), 1);
  assert_near(measured_db(0.02, 15), closed_form_db(0.02), 1.5);
}

static void a_murmur_is_not_noise(void **state) {
  (void)state;
  heart h = heart_new(60, 1.6, 0.01);
  gn_random r = gn_random_of(9);
  for (size_t k = 0; k < h.n_beats; k++)
    for (size_t i = (size_t)((h.beats[k].s1_onset_s + 0.12) * FS_HZ); (double)i < h.beats[k].s2_onset_s * FS_HZ; i++)
      h.samples[i] += (float)(0.1 * gn_random_normal(&r));
  girthline_result *result = heart_judge(&h);
  assert_non_null(result);
  assert_near(result->quality.heart_to_noise_db, closed_form_db(0.01), 1.5);
  girthline_result_free(result);
  heart_free(&h);
}

static void hum_is_named_and_counts_as_noise(void **state) {
  (void)state;
  heart h = heart_new(60, 1.6, 0.01);
  for (size_t i = 0; i < h.n; i++) h.samples[i] += (float)(0.05 * gn_sin(2 * GN_PI * 140 * (double)i / FS_HZ));
  girthline_result *result = heart_judge(&h);
  assert_non_null(result);
  assert_near(result->quality.hum_hz, 140, 0.1);
  // A sine of amplitude a has mean square a^2 / 2; white noise of RMS s keeps 0.675 s^2 in the band.
  assert_near(result->quality.heart_to_noise_db, closed_form_db(sqrt((0.05 * 0.05 / 2 + 0.01 * 0.01 * 0.675) / 0.675)), 1.5);
  girthline_result_free(result);
  heart_free(&h);
}

static void without_beats_there_is_no_ratio(void **state) {
  (void)state;
  const gn_quality_noise none = {.limits = heart_limits()};
  assert_true(isnan(gn_quality_noise_db(&none)));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(heart_to_noise_is_its_closed_form),
      cmocka_unit_test(a_murmur_is_not_noise),
      cmocka_unit_test(hum_is_named_and_counts_as_noise),
      cmocka_unit_test(without_beats_there_is_no_ratio),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
