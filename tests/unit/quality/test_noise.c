// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "heart.h"

#include "base/memory.h"
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

// The measure alone, with no span marked.
static double unmarked_db(const heart *h) {
  const gn_quality_spans none = {.join_s = 0.1};
  const gn_signal w = {h->samples, h->n, FS_HZ, 0};
  gn_quality_noise noise = {.limits = heart_limits()};
  gn_biquad band[2];
  float *heard = gn_new(h->n, sizeof *heard);
  assert_non_null(heard);
  gn_quality_heard_band(FS_HZ, band);
  assert_int_equal(gn_biquad_zero_phase(band, 2, h->samples, heard, h->n), 0);
  assert_int_equal(gn_quality_noise_add(&noise, &(gn_quality_cut){&w, &none}, heard, h->beats, h->n_beats), 0);
  gn_free(heard);
  return gn_quality_noise_db(&noise);
}

static void a_hand_that_left_no_mark_is_neither_heart_nor_noise(void **state) {
  (void)state;
  heart on_s1 = heart_new(15, 1.6, 0.02), between = heart_new(15, 1.6, 0.02);
  heart_burst(&on_s1, on_s1.beats[3].s1_onset_s, 0.15, 60, 2);
  heart_burst(&between, between.beats[3].s1_onset_s + 0.9, 0.3, 60, 2);
  assert_near(unmarked_db(&on_s1), closed_form_db(0.02), 1);
  assert_near(unmarked_db(&between), closed_form_db(0.02), 2); // the skirts of what is left out stay
  heart_free(&on_s1);
  heart_free(&between);
}

static void a_murmur_under_a_sound_is_not_heart(void **state) {
  (void)state;
  heart h = heart_new(60, 1.6, 0.01);
  for (size_t k = 0; k < h.n_beats; k++) heart_noise(&h, h.beats[k].s1_onset_s + 0.12, h.beats[k].s1_onset_s + 0.7, 0.2, 100 + k);
  assert_near(unmarked_db(&h), closed_form_db(0.01), 1);
  heart_free(&h);
}

// Seven beats in which each half second is as loud as chance would have it, over 17 dB: the mean power is known, and no place is quieter
// than others but by chance.
static void a_place_that_chance_made_loud_is_noise(void **state) {
  (void)state;
  double off_db = 0;
  for (uint64_t seed = 1; seed <= 20; seed++) {
    heart h = heart_new(13, 1.6, 0);
    gn_random r = gn_random_of(seed);
    double squares = 0;
    for (int k = 0; k < 26; k++) {
      const double rms = 0.06 * sqrt(gn_from_db(-17 * gn_random_uniform(&r)));
      heart_noise(&h, 0.5 * k, 0.5 * k + 0.5, rms, 1000 * seed + (uint64_t)k);
      squares += rms * rms / 26;
    }
    off_db += (unmarked_db(&h) - closed_form_db(sqrt(squares))) / 20;
    heart_free(&h);
  }
  assert_near(off_db, 0, 0.7);
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
      cmocka_unit_test(a_hand_that_left_no_mark_is_neither_heart_nor_noise),
      cmocka_unit_test(a_murmur_under_a_sound_is_not_heart),
      cmocka_unit_test(a_place_that_chance_made_loud_is_noise),
      cmocka_unit_test(without_beats_there_is_no_ratio),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
