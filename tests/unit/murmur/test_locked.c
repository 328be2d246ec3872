// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/memory.h"
#include "base/result.h"
#include "analyse.h"
#include "murmur/locked.h"
#include "murmur/murmur.h"

// Breaths of 1.6 s every 2.3 s over a soft hiss: quiet for a third of the time, at another place of every beat.
static heart *breathing_heart(double breath_rms, uint64_t seed) {
  heart *h = heart_new(2000, 25, 0.9, 0.33);
  for (int k = 0; k < 9; k++) heart_noise(h, 0.3 + 2.3 * k, 1.6, breath_rms, seed + (uint64_t)k);
  heart_noise(h, 0, 1e9, 0.005, seed + 100);
  return h;
}

static void a_soft_murmur_shows_between_loud_breaths(void **state) {
  (void)state;
  heart *h = breathing_heart(0.05, 300);
  heart_murmur(h, 0.13, 0.31, 220, -15);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.n_phases, 1);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_SYSTOLE);
  assert_near(r->murmur.phases[0].level_db, -15, 3);
  girthline_result_free(r);
  heart_free(h);
}

// What the breaths add to a murmur's power is not the murmur's.
static void breaths_make_a_soft_murmur_no_louder(void **state) {
  (void)state;
  enum { SEEDS = 6 };
  static const double LEVELS_DB[] = {-10, -15, -20};
  for (size_t k = 0; k < sizeof LEVELS_DB / sizeof *LEVELS_DB; k++) {
    double off_db = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
      heart *h = breathing_heart(0.05, 300 * seed);
      heart_murmur(h, 0.13, 0.31, 220, LEVELS_DB[k]);
      girthline_result *r = analyse(h);
      assert_int_equal(r->murmur.n_phases, 1);
      off_db += (r->murmur.phases[0].level_db - LEVELS_DB[k]) / SEEDS;
      girthline_result_free(r);
      heart_free(h);
    }
    assert_near(off_db, 0, 1);
  }
}

static void breaths_out_of_step_are_no_murmur_whatever_their_course(void **state) {
  (void)state;
  for (uint64_t seed = 1; seed <= 12; seed++) {
    heart *h = breathing_heart(0.05, 1000 * seed);
    girthline_result *r = analyse(h);
    assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void a_murmur_at_the_limit_is_found_and_one_far_below_is_not(void **state) {
  (void)state;
  heart *h = breathing_heart(0.05, 300);
  girthline_result *r = analyse(h);
  const double limit_db = r->murmur.detection_limit_db[0];
  girthline_result_free(r);
  heart_free(h);
  assert_true(limit_db > -40 && limit_db < 0);
  const double beside_db[2] = {0, -14};
  for (int k = 0; k < 2; k++) {
    h = breathing_heart(0.05, 300);
    heart_murmur(h, 0.115, 0.33, 220, limit_db + beside_db[k]);
    r = analyse(h);
    if (k == 0) assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    else assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void a_loud_murmur_hides_no_softer_one_in_the_other_phase(void **state) {
  (void)state;
  heart *h = breathing_heart(0.02, 500);
  heart_murmur(h, 0.43, 0.80, 180, -2);
  heart_murmur(h, 0.13, 0.22, 320, -12);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.n_phases, 2);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  assert_int_equal(r->murmur.phases[1].phase, GIRTHLINE_SYSTOLE);
  girthline_result_free(r);
  heart_free(h);
}

// What is said of a heart by what keeps step alone: no excess is enough.
static girthline_tristate by_step(heart *h, double step_deviations) {
  girthline_profile store;
  gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HUMAN, -1, &store), h->fs_hz);
  girthline_result *r = gn_result_new();
  r->limits.murmur.excess_db = 40;
  r->limits.murmur.step_deviations = step_deviations;
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
  assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
  const girthline_tristate present = r->murmur.present;
  gn_murmur_free(m);
  girthline_result_free(r);
  return present;
}

// Of tones of 16 levels, half a dB apart, how many are told by that.
static int told_by_step(double interval_s, double hz, double from_db, double step_deviations) {
  int told = 0;
  for (int k = 0; k < 16; k++) {
    heart *h = heart_new(2000, (size_t)(22.5 / interval_s), interval_s, 0.36 * interval_s);
    for (int b = 0; b < 9; b++) heart_noise(h, 0.3 + 2.3 * b, 1.6, 0.05, 300 + (uint64_t)b);
    heart_noise(h, 0, 1e9, 0.005, 400);
    heart_murmur(h, 0.115, 0.34 * interval_s, hz, from_db + 0.5 * k);
    told += by_step(h, step_deviations) == GIRTHLINE_YES;
    heart_free(h);
  }
  return told;
}

// In the lowest band alone it would pass for a third sound.
static void a_short_murmur_is_known_by_every_band_that_shows_it(void **state) {
  (void)state;
  heart *h = breathing_heart(0.05, 300);
  heart_murmur(h, 0.43, 0.53, 120, -9);
  heart_murmur(h, 0.43, 0.53, 180, -6);
  assert_int_equal(by_step(h, 3), GIRTHLINE_YES);
  heart_free(h);
}

static void a_slow_heart_shows_softer_murmurs_above_150_hz(void **state) {
  (void)state;
  const int told = told_by_step(0.9, 220, -30, 3);
  assert_true(told > told_by_step(0.9, 220, -30, 4.5));
  assert_true(told >= 11); // from -28 dB on; a quiet place's weight has a part in it
  assert_int_equal(told_by_step(0.9, 110, -30, 3), told_by_step(0.9, 110, -30, 4.5));
  assert_int_equal(told_by_step(0.69, 330, -30, 3), told_by_step(0.69, 330, -30, 4.5)); // the noise of 0.7 s around holds all of the cycle
}

// S1 covers the first third of systole; what begins where it leaves off is heard, and the limit counts with it.
static void an_early_murmur_that_outlasts_a_long_s1_is_found_at_the_limit(void **state) {
  (void)state;
  double limit_db = 0;
  for (int laid = 0; laid < 2; laid++) {
    heart *h = heart_new(2000, 40, 0.8, 0.29);
    for (int b = 0; b < 9; b++) heart_noise(h, 0.3 + 2.3 * b, 1.6, 0.05, 300 + (uint64_t)b);
    heart_noise(h, 0, 1e9, 0.005, 400);
    if (laid) heart_murmur(h, 0.066, 0.178, 220, limit_db);
    girthline_result *r = analyse(h);
    if (laid) assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    else limit_db = r->murmur.detection_limit_db[0];
    girthline_result_free(r);
    heart_free(h);
  }
  assert_true(limit_db < -22.4); // -22.0 where the murmur is thought to begin with S1
}

// Of murmurs in twelve breathing hearts, how many are found.
static int found_between(double from_s, double to_s, double level_db) {
  int found = 0;
  for (uint64_t seed = 1; seed <= 12; seed++) {
    heart *h = breathing_heart(0.05, 700 * seed);
    heart_murmur(h, from_s, to_s, 330, level_db);
    girthline_result *r = analyse(h);
    found += r->murmur.present == GIRTHLINE_YES;
    girthline_result_free(r);
    heart_free(h);
  }
  return found;
}

static void a_high_murmur_close_to_a_low_sound_is_found(void **state) {
  (void)state;
  assert_true(found_between(0.285, 0.33, -14) >= 6); // up to S2; none where only what is quiet in every band is looked at
  assert_true(found_between(0.85, 0.90, -17) >= 6);  // up to S1; likewise
}

// S1 and S2 with a high part of their own, in clear and in breath.
static void a_high_part_of_the_sounds_is_no_murmur(void **state) {
  (void)state;
  for (int k = 0; k < 32; k++) {
    heart *h = k % 2 ? breathing_heart(0.05, 900 * (uint64_t)(k / 2)) : heart_new(2000, 25, 0.9, 0.33);
    const double amplitude = HEART_AMPLITUDE * gn_from_db(-3 - k / 2);
    for (size_t b = 0; b < h->n_beats; b++) {
      heart_tone(h, h->beats[b].s1_onset_s, HEART_S1_S, 330, amplitude);
      heart_tone(h, h->beats[b].s2_onset_s, HEART_S2_S, 330, amplitude);
    }
    girthline_result *r = analyse(h);
    assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void the_evidence_asked_for_hangs_on_band_and_rate(void **state) {
  (void)state;
  girthline_murmur_limits limits = {.chance_deviations = 4.5, .step_deviations = 3};
  const gn_murmur_test test = {.limits = &limits};
  for (int fast = 0; fast < 2; fast++)
    for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++) {
      const gn_murmur_locked l = {.fast = fast, .best_mean = 2, .best_sd = 0.5};
      const bool low = gn_murmur_locked_rows(set) & 1u << GN_MURMUR_LOCKED_FIRST;
      assert_near(gn_murmur_locked_least(&l, &test, set), fast ? 4.75 : low ? 4.25 : 3.5, 1e-9);
      const gn_murmur_locked far = {.is_far = true, .fast = fast, .best_mean = 2, .best_sd = 0.5};
      if (low) assert_true(gn_murmur_locked_least(&far, &test, set) > 1e9);
      else assert_near(gn_murmur_locked_least(&far, &test, set), fast ? 5 : 3.75, 1e-9);
    }
}

static void what_keeps_step_by_little_is_told_only_where_it_is_loud_enough(void **state) {
  (void)state;
  for (int k = 0; k < 2; k++) {
    heart *h = heart_new(2000, 25, 0.9, 0.33);
    for (int b = 0; b < 9; b++) heart_noise(h, 0.3 + 2.3 * b, 1.6, k ? 0.05 : 0.02, 300 + (uint64_t)b);
    heart_noise(h, 0, 1e9, k ? 0.005 : 0.002, 400);
    heart_murmur(h, 0.115, 0.31, 330, k ? -25 : -33); // 3 to 4.5 deviations over chance; told at -22.3 and -29.7 dB
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, k ? GIRTHLINE_YES : GIRTHLINE_NO);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void gain_times_ten_changes_nothing_in_noise(void **state) {
  (void)state;
  heart *h = breathing_heart(0.05, 300);
  girthline_result *r = analyse(h);
  const double limit_db = r->murmur.detection_limit_db[0];
  girthline_result_free(r);
  for (size_t i = 0; i < h->n; i++) h->x[i] *= 10;
  r = analyse(h);
  assert_near(r->murmur.detection_limit_db[0], limit_db, 1.1); // a step of its search
  girthline_result_free(r);
  heart_free(h);
}

// The level of this one comes from what keeps step, the limit from murmurs laid in.
static void refused_memory_never_passes_for_a_finding(void **state) {
  (void)state;
  heart *h = breathing_heart(0.05, 300);
  heart_murmur(h, 0.13, 0.31, 220, -15);
  girthline_profile store;
  girthline_status status = GIRTHLINE_NO_MEMORY;
  for (size_t k = 1; status != GIRTHLINE_OK; k++) {
    gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HUMAN, -1, &store), h->fs_hz);
    girthline_result *r = gn_result_new();
    const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
    assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
    gn_memory_refuse(k);
    status = gn_murmur_finish(m, r);
    const bool refused = gn_memory_refuse(0) == 0;
    assert_int_equal(status, refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK);
    gn_murmur_free(m);
    girthline_result_free(r);
  }
  heart_free(h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_soft_murmur_shows_between_loud_breaths),
      cmocka_unit_test(breaths_make_a_soft_murmur_no_louder),
      cmocka_unit_test(breaths_out_of_step_are_no_murmur_whatever_their_course),
      cmocka_unit_test(a_murmur_at_the_limit_is_found_and_one_far_below_is_not),
      cmocka_unit_test(a_loud_murmur_hides_no_softer_one_in_the_other_phase),
      cmocka_unit_test(a_slow_heart_shows_softer_murmurs_above_150_hz),
      cmocka_unit_test(a_short_murmur_is_known_by_every_band_that_shows_it),
      cmocka_unit_test(an_early_murmur_that_outlasts_a_long_s1_is_found_at_the_limit),
      cmocka_unit_test(a_high_murmur_close_to_a_low_sound_is_found),
      cmocka_unit_test(a_high_part_of_the_sounds_is_no_murmur),
      cmocka_unit_test(the_evidence_asked_for_hangs_on_band_and_rate),
      cmocka_unit_test(what_keeps_step_by_little_is_told_only_where_it_is_loud_enough),
      cmocka_unit_test(gain_times_ten_changes_nothing_in_noise),
      cmocka_unit_test(refused_memory_never_passes_for_a_finding),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
