// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What a recorder makes of the background between the sounds is no murmur.
#include "analyse.h"

#include "base/biquad.h"
#include "murmur/parts.h"

// Gain, dB, at a time since the last sound's onset.
typedef double gain_of(double since_s);

static double open_gate(double since_s) { return since_s < 0.35 ? 0 : fmax(-12, -40 * (since_s - 0.35)); }
static double fast_control(double since_s) { return fmin(0, 60 * (since_s - 0.1) - 18); }
static double slow_control(double since_s) { return fmin(0, 40 * (since_s - 0.1) - 20); }
static gain_of *const GAINS[] = {open_gate, fast_control, slow_control};
enum { N_GAINS = 3 };

static double since_sound_s(const heart *h, double t) {
  double since_s = 1;
  for (size_t b = 0; b < h->n_beats; b++) {
    const double onsets_s[2] = {h->beats[b].s1_onset_s, h->beats[b].s2_onset_s};
    for (int k = 0; k < 2; k++)
      if (t >= onsets_s[k]) since_s = t - onsets_s[k];
  }
  return since_s;
}

static heart *slow_heart(void) { return heart_new(2000, 25, 1.3, 0.42); }

// White noise under a gain, beside the heart's own.
static void lay_noise(heart *h, gain_of *gain) {
  gn_random random = gn_random_of(6);
  for (size_t i = 0; i < h->n; i++) h->x[i] += (float)(0.01 * gn_random_normal(&random) * sqrt(gn_from_db(gain(since_sound_s(h, (double)i / h->fs_hz)))));
}

static void noise_that_a_gain_lifts_is_not_determined(void **state) {
  (void)state;
  for (size_t k = 0; k < N_GAINS; k++) {
    heart *h = slow_heart();
    lay_noise(h, GAINS[k]);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.n_phases, 0);
    assert_int_equal(r->murmur.present, GIRTHLINE_UNKNOWN);
    assert_true(isnan(r->murmur.detection_limit_db[0]) && isnan(r->murmur.detection_limit_db[1]));
    girthline_result_free(r);
    heart_free(h);
  }
}

// Of the phase in which the background is lifted nothing is claimed.
static void a_murmur_is_told_beside_it(void **state) {
  (void)state;
  for (size_t k = 0; k < N_GAINS; k++) {
    heart *h = slow_heart();
    lay_noise(h, GAINS[k]);
    for (size_t b = 0; b < h->n_beats; b++)
      for (double hz = 160; hz < 260; hz += 7) heart_tone(h, h->beats[b].s1_onset_s + 0.12, 0.28, hz + (double)b, 0.006);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_int_equal(r->murmur.n_phases, 1);
    assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_SYSTOLE);
    assert_true(!isnan(r->murmur.detection_limit_db[0]) && isnan(r->murmur.detection_limit_db[1]));
    assert_int_equal(r->n_undetermined, 1);
    assert_string_equal(r->undetermined[0].pointer, "/murmur/detection_limit_db/diastole");
    girthline_result_free(r);
    heart_free(h);
  }
}

// A heart in the noise of a room that falls off above 450 Hz, as a recorder passes it that keeps what lies over a frequency.
static girthline_tristate heard_over(double cut_hz, size_t *n_phases) {
  heart *h = slow_heart();
  gn_random random = gn_random_of(8);
  float *room = calloc(h->n, sizeof *room);
  const gn_biquad falls = gn_biquad_lowpass(450, h->fs_hz), cut = gn_biquad_highpass(cut_hz, h->fs_hz);
  for (size_t i = 0; i < h->n; i++) room[i] = (float)(0.01 * gn_random_normal(&random));
  assert_int_equal(gn_biquad_zero_phase(&falls, 1, room, room, h->n), 0);
  for (size_t i = 0; i < h->n; i++) h->x[i] += room[i];
  for (size_t b = 0; b < h->n_beats; b++) {
    heart_tone(h, h->beats[b].s1_onset_s, HEART_S1_S, 180, 0.02);
    heart_tone(h, h->beats[b].s2_onset_s, HEART_S2_S, 180, 0.02);
  }
  if (cut_hz > 0) assert_int_equal(gn_biquad_zero_phase(&cut, 1, h->x, h->x, h->n), 0);
  girthline_result *r = analyse(h);
  const girthline_tristate present = r->murmur.present;
  *n_phases = r->murmur.n_phases;
  girthline_result_free(r);
  free(room);
  heart_free(h);
  return present;
}

static void a_background_without_its_lows_is_no_murmur(void **state) {
  (void)state;
  size_t n_phases;
  assert_int_equal(heard_over(0, &n_phases), GIRTHLINE_NO);
  for (int k = 0; k < 2; k++) {
    assert_int_equal(heard_over((double[]){150, 300}[k], &n_phases), GIRTHLINE_UNKNOWN);
    assert_int_equal(n_phases, 0);
  }
}

// Either sound shows that the lows come through, as far as it stands over the background: 5 dB under the whole of it (a choice of the stage).
static void one_sound_with_its_lows_is_enough(void **state) {
  (void)state;
  static const struct { double under_db[2], floor; bool lacks; } CASES[] = {
      {{4.9, 20}, 0, false}, {{20, 4.9}, 0, false}, {{5.1, 5.1}, 0, true}, {{5.1, 20}, 0, true}, {{0, 0}, 0, false}, {{4.9, 4.9}, 0.2, true}, {{4.9, 4.9}, 1.5, true}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    gn_murmur_cube cube = {.floor_power = {[GN_MURMUR_LOW] = CASES[i].floor}};
    for (int sound = 0; sound < 2; sound++) {
      cube.sound_power[GN_MURMUR_LOW][sound] = gn_from_db(-CASES[i].under_db[sound]);
      cube.sound_power[GN_MURMUR_BROAD][sound] = 1;
    }
    if (gn_murmur_recorder_lacks_lows(&cube) != CASES[i].lacks) fail_msg("case %zu", i);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(noise_that_a_gain_lifts_is_not_determined),
      cmocka_unit_test(a_murmur_is_told_beside_it),
      cmocka_unit_test(a_background_without_its_lows_is_no_murmur),
      cmocka_unit_test(one_sound_with_its_lows_is_enough),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
