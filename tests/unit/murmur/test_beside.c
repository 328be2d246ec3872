// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "analyse.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/result.h"
#include "murmur/murmur.h"

// Murmurs that lie against a heart sound: they begin with it, or run into it.

typedef enum slope { RISING, FALLING } slope;

// A tone in every beat whose amplitude rises or falls in a straight line, its level the RMS over the whole of it against S1.
static void lay_sloped(heart *h, double from_s, double to_s, double hz, double level_db, slope way) {
  const double amplitude = sqrt(6 * gn_from_db(level_db)) * h->s1_rms; // a third of a tone's power is left
  for (size_t b = 0; b < h->n_beats; b++) {
    const double start_s = h->beats[b].s1_onset_s + from_s, length_s = to_s - from_s;
    for (size_t i = (size_t)(start_s * h->fs_hz) + 1; i < h->n && (double)i / h->fs_hz < start_s + length_s; i++) {
      const double t = (double)i / h->fs_hz - start_s, u = t / length_s;
      h->x[i] += (float)(amplitude * (way == RISING ? u : 1 - u) * gn_sin(2 * GN_PI * hz * t));
    }
  }
}

static void an_early_diastolic_murmur_that_begins_with_s2_is_not_taken_for_it(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.2, 0.40);
  lay_sloped(h, 0.40, 0.62, 60, -2, FALLING); // what S2 leaves
  lay_sloped(h, 0.40, 0.62, 320, -8, FALLING);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  assert_int_equal(r->murmur.phases[0].timing, GIRTHLINE_EARLY);
  girthline_result_free(r);
  heart_free(h);
}

// Of the murmur only the foot is heard before the next sound is reckoned to begin.
static void a_short_late_murmur_that_runs_into_s2_is_not_taken_for_its_onset(void **state) {
  (void)state;
  heart *h = heart_new(2000, 40, 0.746, 0.22);
  heart_noise(h, 0, 1e9, 0.002, 7);
  lay_sloped(h, 0.17, 0.22, 270, -8, RISING);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_SYSTOLE);
  girthline_result_free(r);
  heart_free(h);
}

// At 180 a minute little of diastole is quiet, and the murmur lies in its last 25 ms.
static void a_late_diastolic_murmur_of_a_fast_heart_is_found(void **state) {
  (void)state;
  heart *h = heart_new(2000, 60, 0.333, 0.17);
  heart_noise(h, 0, 1e9, 0.002, 7);
  lay_sloped(h, 0.308, 0.333, 260, -2, RISING);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  girthline_result_free(r);
  heart_free(h);
}

static void an_early_systolic_murmur_that_begins_with_s1_is_not_taken_for_it(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 0.85, 0.22);
  heart_noise(h, 0, 1e9, 0.002, 7);
  lay_sloped(h, 0, 0.22, 60, -2, FALLING); // what S1 leaves
  lay_sloped(h, 0.06, 0.17, 170, -4, FALLING);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_SYSTOLE);
  girthline_result_free(r);
  heart_free(h);
}

// Up to a sound, which is said to begin with the murmur's last part: S1 (0) or S2 (1). A low tone is what the sound has of its own.
static heart *run_into(int sound) {
  heart *h = heart_new(2000, 40, 0.70, 0.30);
  const double from_s = sound ? 0.20 : 0.57, to_s = sound ? 0.30 : 0.70;
  lay_sloped(h, from_s, to_s, 260, 2, RISING);
  for (size_t b = 0; b < h->n_beats; b++) {
    if (sound) h->beats[b].s2_onset_s -= 0.055;
    else h->beats[b].s1_onset_s -= 0.055;
  }
  return h;
}

static void a_sound_said_to_begin_with_a_murmurs_end_is_moved(void **state) {
  (void)state;
  for (int sound = 0; sound < 2; sound++) {
    heart *h = run_into(sound);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_int_equal(r->murmur.n_phases, 1);
    assert_int_equal(r->murmur.phases[0].phase, sound ? GIRTHLINE_SYSTOLE : GIRTHLINE_DIASTOLE);
    assert_int_equal(r->murmur.phases[0].timing, GIRTHLINE_LATE);
    assert_near(r->murmur.phases[0].level_db, 2, 3);
    assert_near(r->murmur.phases[0].peak_hz, 260, 10);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void refused_memory_while_moving_it_is_told(void **state) {
  (void)state;
  heart *h = run_into(0);
  girthline_profile store;
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  for (size_t k = 1; k < 60; k++) {
    gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HUMAN, -1, &store), h->fs_hz);
    girthline_result *r = gn_result_new();
    assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
    gn_memory_refuse(k);
    const girthline_status status = gn_murmur_finish(m, r);
    assert_int_equal(status, gn_memory_refuse(0) == 0 ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK);
    gn_murmur_free(m);
    girthline_result_free(r);
  }
  heart_free(h);
}

static void the_level_counts_what_the_next_sound_hides(void **state) {
  (void)state;
  const double levels_db[] = {-3, -6}, from_s[] = {0.187, 0.16};
  for (size_t k = 0; k < 2; k++) {
    heart *h = heart_new(2000, 40, 0.75, 0.24);
    lay_sloped(h, from_s[k], 0.24, 270, levels_db[k], RISING);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_near(r->murmur.phases[0].level_db, levels_db[k], 3);
    girthline_result_free(r);
    heart_free(h);
  }
}

// In so short a diastole an early murmur is over as soon as an S3.
static void a_loud_low_early_murmur_of_a_fast_heart_is_no_remainder_of_s2(void **state) {
  (void)state;
  heart *h = heart_new(2000, 40, 0.44, 0.20);
  heart_noise(h, 0, 1e9, 0.003, 7);
  lay_sloped(h, 0.20, 0.36, 125, 2, FALLING);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  girthline_result_free(r);
  heart_free(h);
}

static void what_is_heard_already_is_no_limit(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.2, 0.40);
  heart_noise(h, 0, 1e9, 0.004, 9);
  heart_murmur(h, 0.14, 0.37, 220, -6);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_true(r->murmur.detection_limit_db[0] > -35);
  girthline_result_free(r);
  heart_free(h);
}

// Noise of the highest band, that rises through every diastole as a recorder's gain would raise it.
static void a_background_that_comes_back_through_diastole_is_no_murmur(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.2, 0.40);
  heart_noise(h, 0, 1e9, 0.004, 5);
  lay_sloped(h, 0.60, 1.2, 550, -32, RISING);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_NO);
  girthline_result_free(r);
  heart_free(h);
}

// S2 is the loudest sound: the gain falls at it and comes back until the next, through S1.
static void a_gain_that_comes_back_through_diastole_and_systole_is_not_a_murmur(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.8, 0.35);
  gn_random random = gn_random_of(7);
  for (size_t i = 0; i < h->n; i++) {
    const double since = fmod((double)i / h->fs_hz - HEART_LEAD_S + 2 * h->interval_s - h->systole_s, h->interval_s);
    h->x[i] += (float)(0.003 * sqrt(gn_exp(since / 1.2)) * gn_random_normal(&random));
  }
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_NO);
  girthline_result_free(r);
  heart_free(h);
}

// White noise that rises by 2 dB in every systole, and stays as it is through diastole: no gain comes back.
static void what_rises_in_systole_alone_is_no_gain(void **state) {
  (void)state;
  heart *h = heart_new(2000, 40, 1.2, 0.40);
  heart_noise(h, 0, 1e9, 0.004, 5);
  for (size_t b = 0; b < h->n_beats; b++) heart_noise(h, h->beats[b].s1_onset_s + 0.13, 0.25, 0.003, 100 + b);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_SYSTOLE);
  girthline_result_free(r);
  heart_free(h);
}

// S2 has a tone of its own, of which a twentieth goes on for 80 ms.
static void what_a_sound_leaves_of_itself_is_no_murmur(void **state) {
  (void)state;
  heart *h = heart_new(2000, 40, 0.70, 0.30);
  heart_noise(h, 0, 1e9, 0.004, 5);
  for (size_t b = 0; b < h->n_beats; b++) {
    heart_tone(h, h->beats[b].s2_onset_s, HEART_S2_S, 165, 0.5 * HEART_AMPLITUDE);
    heart_tone(h, h->beats[b].s2_onset_s + HEART_S2_S - 0.01, 0.08, 165, 0.025 * HEART_AMPLITUDE);
  }
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.n_phases, 0);
  girthline_result_free(r);
  heart_free(h);
}

static void a_murmur_through_systole_and_a_short_one_after_it_are_two(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.2, 0.40);
  heart_murmur(h, 0.10, 0.40, 230, -6);
  lay_sloped(h, 0.40, 0.70, 230, -3, FALLING);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.n_phases, 2);
  for (size_t i = 0; i < 2; i++) assert_int_not_equal(r->murmur.phases[i].phase, GIRTHLINE_CONTINUOUS);
  girthline_result_free(r);
  heart_free(h);
}

// The averages' smoothing makes it wide against so short a systole.
static void a_cats_and_a_dogs_click_are_told_once(void **state) {
  (void)state;
  for (int k = 0; k < 4; k++) {
    const bool named = k % 2;
    heart *h = k < 2 ? heart_new(2000, 60, 0.42, 0.195) : heart_new(2000, 60, 0.8, 0.235);
    for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s + 0.118, 0.022, 480, 0.3 * HEART_AMPLITUDE);
    girthline_profile store;
    girthline_result *r = gn_result_new();
    const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
    gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_CAT, -1, &store), h->fs_hz);
    if (named) {
      r->extras = gn_new(1, sizeof *r->extras);
      r->n_extras = 1;
      r->extras[0] = (girthline_extra){.kind = GIRTHLINE_CLICK, .delay_s = 0.12, .beats_fraction = 1, .confidence = 1};
    }
    assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
    assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
    if (named) assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    else assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    gn_murmur_free(m);
    girthline_result_free(r);
    heart_free(h);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_early_diastolic_murmur_that_begins_with_s2_is_not_taken_for_it),
      cmocka_unit_test(a_late_diastolic_murmur_of_a_fast_heart_is_found),
      cmocka_unit_test(an_early_systolic_murmur_that_begins_with_s1_is_not_taken_for_it),
      cmocka_unit_test(a_short_late_murmur_that_runs_into_s2_is_not_taken_for_its_onset),
      cmocka_unit_test(a_sound_said_to_begin_with_a_murmurs_end_is_moved),
      cmocka_unit_test(refused_memory_while_moving_it_is_told),
      cmocka_unit_test(the_level_counts_what_the_next_sound_hides),
      cmocka_unit_test(a_loud_low_early_murmur_of_a_fast_heart_is_no_remainder_of_s2),
      cmocka_unit_test(what_is_heard_already_is_no_limit),
      cmocka_unit_test(a_background_that_comes_back_through_diastole_is_no_murmur),
      cmocka_unit_test(a_gain_that_comes_back_through_diastole_and_systole_is_not_a_murmur),
      cmocka_unit_test(what_rises_in_systole_alone_is_no_gain),
      cmocka_unit_test(what_a_sound_leaves_of_itself_is_no_murmur),
      cmocka_unit_test(a_murmur_through_systole_and_a_short_one_after_it_are_two),
      cmocka_unit_test(a_cats_and_a_dogs_click_are_told_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
