// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Sounds given by hand against the recording they are given for.
#include "recorded.h"

#include <math.h>

enum { N_GIVEN = 36 };

// Half a minute of a made heart, and its true sounds as they would be given by hand.
static recorded *heart_with(girthline_given_sound given[N_GIVEN], girthline_settings *settings) {
  gn_synth_spec spec = recorded_spec();
  recorded *w = recorded_made(&spec);
  size_t n = 0, i1 = 0, i2 = 0;
  while (n < N_GIVEN && (i1 < w->n_s1 || i2 < w->n_s2)) {
    const bool first = i2 >= w->n_s2 || (i1 < w->n_s1 && w->s1_s[i1] < w->s2_s[i2]);
    given[n++] = (girthline_given_sound){first ? w->s1_s[i1++] : w->s2_s[i2++], first ? GIRTHLINE_S1 : GIRTHLINE_S2};
  }
  *settings = girthline_settings_default();
  settings->given = given;
  settings->n_given = n;
  return w;
}

static void sounds_given_outside_the_part_are_left_out(void **state) {
  (void)state;
  girthline_given_sound given[N_GIVEN];
  girthline_settings settings;
  recorded *w = heart_with(given, &settings);
  settings.from_s = 8;
  settings.to_s = 20;
  girthline_result *r = recorded_analyse(w, &settings);
  assert_true(r->n_beats > 4);
  for (size_t i = 0; i < r->n_beats; i++) {
    assert_false(r->beats[i].s1_onset_s < 8 || r->beats[i].s2_onset_s < 8);
    assert_false(r->beats[i].s1_onset_s >= 20 || r->beats[i].s2_onset_s >= 20);
  }
  girthline_result_free(r);
  recorded_free(w);
}

// What is measured beside whole sounds is not: an onset is all that a hand gives.
static void where_sounds_given_end_is_not_known_and_said(void **state) {
  (void)state;
  static const char *const POINTERS[] = {"/quality/heart_to_noise_db", "/quality/breaths_per_min"};
  girthline_given_sound given[N_GIVEN];
  girthline_settings settings;
  recorded *w = heart_with(given, &settings);
  girthline_result *r = recorded_analyse(w, &settings);
  assert_true(isnan(r->quality.heart_to_noise_db) && isnan(r->quality.breaths_per_min));
  for (size_t k = 0; k < 2; k++) {
    const char *reason = NULL;
    for (size_t i = 0; i < r->n_undetermined; i++)
      if (!strcmp(r->undetermined[i].pointer, POINTERS[k])) reason = r->undetermined[i].reason;
    assert_non_null(reason);
    assert_non_null(strstr(reason, "given by hand"));
  }
  girthline_result_free(r);
  recorded_free(w);
}

static void sounds_of_a_longer_recording_are_refused(void **state) {
  (void)state;
  girthline_given_sound given[N_GIVEN];
  girthline_settings settings;
  recorded *w = heart_with(given, &settings);
  given[settings.n_given - 1].time_s = 1e8;
  size_t n_bytes;
  unsigned char *bytes = recorded_wav(w, &n_bytes);
  girthline_result *r = NULL;
  girthline_error error = {0};
  assert_int_equal(girthline_analyse_memory(bytes, n_bytes, "short", &settings, &r, &error), GIRTHLINE_BAD_HAND_FILE);
  assert_null(r);
  assert_non_null(strstr(error.text, "lasts 30.000 s"));
  test_free(bytes);
  recorded_free(w);
}

// What lies between is no cycle: laid out as one it would take gigabytes.
static void minutes_without_a_given_beat_are_no_diastole(void **state) {
  (void)state;
  recorded *w = recorded_new(400000, 1, 2000);
  for (size_t i = 0; i < w->n; i++) w->x[i] = 0.1f * (float)sin(0.3 * (double)i) * (i % 1600 < 200 ? 1.0f : 0.01f);
  const girthline_given_sound given[] = {{0.2, GIRTHLINE_S1}, {0.5, GIRTHLINE_S2}, {190, GIRTHLINE_S1}, {198, GIRTHLINE_S2}};
  girthline_settings settings = girthline_settings_default();
  settings.given = given;
  settings.n_given = sizeof given / sizeof *given;
  girthline_result *r = recorded_analyse(w, &settings);
  assert_int_equal(r->n_beats, 2);
  assert_false(r->pictures.cycle_interval_s > 10);
  girthline_result_free(r);
  recorded_free(w);
}

static void no_sound_given_in_the_part_is_a_recording_without_beats(void **state) {
  (void)state;
  girthline_given_sound given[N_GIVEN];
  girthline_settings settings;
  recorded *w = heart_with(given, &settings);
  settings.n_given = 2;
  settings.from_s = 10;
  girthline_result *r = recorded_analyse(w, &settings);
  assert_int_equal(r->n_beats, 0);
  assert_true(isnan(r->rate.bpm));
  girthline_result_free(r);
  recorded_free(w);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sounds_given_outside_the_part_are_left_out),
      cmocka_unit_test(sounds_of_a_longer_recording_are_refused),
      cmocka_unit_test(where_sounds_given_end_is_not_known_and_said),
      cmocka_unit_test(minutes_without_a_given_beat_are_no_diastole),
      cmocka_unit_test(no_sound_given_in_the_part_is_a_recording_without_beats),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
