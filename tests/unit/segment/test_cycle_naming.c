// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include <string.h>

#include "segment/cycle_naming.h"
#include "segment/durations.h"

// A human heart at 103 a minute: S1 to S2 0.25 s, a third sound 0.17 s behind S2.
enum { N_BEATS = 6 };
static const double FS_HZ = 2000, INTERVAL_S = 0.58, SYSTOLE_S = 0.25, THIRD_S = 0.17, FIRST_S = 0.1;

typedef struct leak {
  heart h; // only x, n and fs_hz are used
  float samples[12000];
  girthline_beat beats[N_BEATS];
} leak;

// Soft first sounds, a murmur from them to S2 (none: 0), S2 and a softer third sound.
static leak *make(double first, double murmur_rms, double third) {
  leak *t = test_calloc(1, sizeof *t);
  t->h = (heart){.x = t->samples, .n = (size_t)((N_BEATS + 0.5) * INTERVAL_S * FS_HZ), .fs_hz = FS_HZ};
  heart_noise(&t->h, 0, 1e9, 0.0003, 9);
  for (int i = 0; i < N_BEATS; i++) {
    const double at_s = FIRST_S + i * INTERVAL_S;
    heart_tone(&t->h, at_s, 0.08, 60, 0.1 * first);
    if (murmur_rms > 0) heart_noise(&t->h, at_s, SYSTOLE_S + 0.03, murmur_rms, 20 + (uint64_t)i);
    heart_tone(&t->h, at_s + SYSTOLE_S, 0.07, 70, 0.1);
    heart_tone(&t->h, at_s + SYSTOLE_S, 0.05, 180, 0.03);
    heart_tone(&t->h, at_s + SYSTOLE_S + THIRD_S, 0.08, 40, 0.1 * third);
  }
  return t;
}

static girthline_beat beat_at(double s1_s, double s2_s) { return (girthline_beat){s1_s, s2_s, 0.03f, 0.09f, 0.03f, 0.08f, 1, 0.98f, 1}; }

// S2 and the third sound decoded as S1 and S2.
static void name_shifted(leak *t) {
  for (int i = 0; i < N_BEATS; i++) {
    const double s2_s = FIRST_S + i * INTERVAL_S + SYSTOLE_S;
    t->beats[i] = beat_at(s2_s, s2_s + THIRD_S);
  }
}

static void name_rightly(leak *t) {
  for (int i = 0; i < N_BEATS; i++) t->beats[i] = beat_at(FIRST_S + i * INTERVAL_S, FIRST_S + i * INTERVAL_S + SYSTOLE_S);
}

// true where a murmur hides S1.
static bool name(leak *t, size_t n_beats, const girthline_span *spoilt, size_t n_spoilt) {
  const gn_signal window = {t->samples, t->h.n, FS_HZ, 0};
  gn_cycle_outcome out;
  assert_int_equal(gn_cycle_name(&window, hear_profile(GIRTHLINE_HUMAN), &(gn_cycle_beats){t->beats, n_beats, spoilt, n_spoilt, false}, &out), 0);
  return out.hides_s1;
}

static void assert_true_names(const leak *t) {
  for (int i = 0; i < N_BEATS; i++) {
    assert_near(t->beats[i].s1_onset_s, FIRST_S + i * INTERVAL_S, 0.025);
    assert_near(t->beats[i].s2_onset_s, FIRST_S + i * INTERVAL_S + SYSTOLE_S, 0.04);
    assert_true(t->beats[i].name_confidence > 0.8f && t->beats[i].name_confidence < 0.98f);
  }
}

static void a_murmur_that_seems_to_run_through_s1_gives_the_sounds_their_other_names(void **state) {
  (void)state;
  leak *t = make(0.2, 0.03, 0.4);
  name_shifted(t);
  assert_true(name(t, N_BEATS, NULL, 0));
  assert_true_names(t);
  test_free(t);
}

static void the_same_sound_ten_times_as_loud_is_named_the_same(void **state) {
  (void)state;
  leak *soft = make(0.2, 0.03, 0.4), *loud = make(0.2, 0.03, 0.4);
  for (size_t i = 0; i < loud->h.n; i++) loud->samples[i] *= 10;
  name_shifted(soft);
  name_shifted(loud);
  assert_true(name(soft, N_BEATS, NULL, 0));
  assert_true(name(loud, N_BEATS, NULL, 0));
  for (int i = 0; i < N_BEATS; i++) {
    assert_near(loud->beats[i].s1_onset_s, soft->beats[i].s1_onset_s, 1e-9);
    assert_near((double)loud->beats[i].name_confidence, (double)soft->beats[i].name_confidence, 1e-4);
  }
  test_free(soft);
  test_free(loud);
}

static void assert_unchanged(leak *t, size_t n_beats, const girthline_span *spoilt, size_t n_spoilt) {
  girthline_beat before[N_BEATS];
  memcpy(before, t->beats, sizeof before);
  assert_false(name(t, n_beats, spoilt, n_spoilt));
  assert_memory_equal(t->beats, before, sizeof before);
}

static void names_that_are_right_stay_without_a_murmur_and_with_one_that_hides_s1(void **state) {
  (void)state;
  for (int k = 0; k < 2; k++) {
    leak *t = make(0.8, k ? 0.03 : 0, 0.4);
    girthline_beat before[N_BEATS];
    name_rightly(t);
    memcpy(before, t->beats, sizeof before);
    assert_int_equal(name(t, N_BEATS, NULL, 0), k);
    assert_memory_equal(t->beats, before, sizeof before);
    test_free(t);
  }
}

static void without_a_murmur_nothing_says_that_the_names_are_shifted(void **state) {
  (void)state;
  leak *t = make(0.2, 0, 0.4);
  name_shifted(t);
  assert_unchanged(t, N_BEATS, NULL, 0);
  test_free(t);
}

static void silence_one_beat_missing_sounds_and_spoilt_sound_change_nothing(void **state) {
  (void)state;
  leak *t = make(0.2, 0.03, 0.4);
  const girthline_span all = {0, 10};
  name_shifted(t);
  assert_unchanged(t, N_BEATS, &all, 1);
  assert_unchanged(t, 1, NULL, 0);
  assert_unchanged(t, 0, NULL, 0);
  for (int i = 0; i < N_BEATS; i++) t->beats[i].s2_onset_s = NAN;
  assert_unchanged(t, N_BEATS, NULL, 0);
  name_shifted(t);
  memset(t->samples, 0, sizeof t->samples);
  assert_unchanged(t, N_BEATS, NULL, 0);
  t->h.n = 0;
  assert_unchanged(t, N_BEATS, NULL, 0);
  test_free(t);
}

static void a_first_sound_before_the_recording_is_missing_not_guessed(void **state) {
  (void)state;
  leak *t = make(0.2, 0.03, 0.4);
  const size_t cut_n = (size_t)(0.2 * FS_HZ);
  memmove(t->samples, t->samples + cut_n, (t->h.n - cut_n) * sizeof *t->samples);
  t->h.n -= cut_n;
  name_shifted(t);
  for (int i = 0; i < N_BEATS; i++) t->beats[i].s1_onset_s -= 0.2, t->beats[i].s2_onset_s -= 0.2;
  assert_true(name(t, N_BEATS, NULL, 0));
  assert_true(isnan(t->beats[0].s1_onset_s) && isnan((double)t->beats[0].s1_peak_s) && isnan((double)t->beats[0].s1_offset_s));
  assert_near(t->beats[0].s2_onset_s, FIRST_S + SYSTOLE_S - 0.2, 0.04);
  assert_near(t->beats[1].s1_onset_s, FIRST_S + INTERVAL_S - 0.2, 0.025);
  test_free(t);
}

static gn_cycle_outcome outcome_of(leak *t, bool doubted) {
  const gn_signal window = {t->samples, t->h.n, FS_HZ, 0};
  gn_cycle_outcome out;
  assert_int_equal(gn_cycle_name(&window, hear_profile(GIRTHLINE_HUMAN), &(gn_cycle_beats){t->beats, N_BEATS, NULL, 0, doubted}, &out), 0);
  return out;
}

static void beats_refused_for_their_time_alone_come_back_under_their_other_names(void **state) {
  (void)state;
  leak *t = make(0.2, 0.03, 0.4);
  name_shifted(t);
  assert_true(outcome_of(t, true).renamed);
  for (int i = 0; i < N_BEATS; i++) assert_near(t->beats[i].s1_onset_s, FIRST_S + i * INTERVAL_S, 0.025);
  test_free(t);
  t = make(0.2, 0, 0.4); // nothing but the two sounds
  name_shifted(t);
  assert_false(outcome_of(t, true).renamed);
  test_free(t);
}

// Systole and diastole alike, S1 and S2 exchanged and without a third sound.
static void a_murmur_through_diastole_has_doubtful_names_exchanged_and_sure_ones_kept(void **state) {
  (void)state;
  for (int sure = 0; sure < 2; sure++) {
    leak *t = make(0.8, 0.03, 0);
    for (int i = 0; i < N_BEATS; i++) {
      t->beats[i] = beat_at(FIRST_S + i * INTERVAL_S + SYSTOLE_S, FIRST_S + (i + 1) * INTERVAL_S);
      t->beats[i].name_confidence = sure ? 0.99f : 0.6f;
    }
    const gn_cycle_outcome out = outcome_of(t, false);
    assert_int_equal(out.exchanged, !sure);
    assert_true(sure ? t->beats[0].name_confidence < 0.99f : t->beats[0].name_confidence > 0.6f);
    test_free(t);
  }
}

static void an_exchange_makes_each_s2_the_s1_of_the_next(void **state) {
  (void)state;
  girthline_beat b[3] = {beat_at(0, 0.3), beat_at(1, 1.3), beat_at(2, NAN)};
  assert_int_equal(gn_cycle_exchange(b, 3), 2); // the last one had no S2
  assert_near(b[0].s1_onset_s, 0.3, 0);
  assert_near(b[0].s2_onset_s, 1, 0);
  assert_near((double)b[0].s1_offset_s, 0.08, 1e-6);
  assert_near((double)b[0].s2_offset_s, 0.09, 1e-6);
  assert_near(b[1].s1_onset_s, 1.3, 0);
  assert_near(b[1].s2_onset_s, 2, 0);
  assert_int_equal(gn_cycle_exchange(b, 0), 0);
}

// As on the average cycle of a leak at 103 a minute.
static gn_cycle_block usual(void) {
  return (gn_cycle_block){.closed = true, .start_s = -0.15, .end_s = 0.15, .contrast_db = 20, .rise_db = 12, .before_db = -5, .low_db = 0,
                          .softer_db = 7, .duller_db = 0, .interval_s = 0.58, .systole_s = 0.2};
}

static double odds_with(double *field, const gn_cycle_block *block, double value) {
  *field = value;
  return gn_cycle_odds(block, hear_profile(GIRTHLINE_HUMAN), false);
}

static void each_lack_takes_the_odds_away(void **state) {
  (void)state;
  gn_cycle_block b = usual();
  assert_true(gn_cycle_odds(&b, hear_profile(GIRTHLINE_HUMAN), false) > 4);
  assert_true(odds_with(&b.contrast_db, &b, 8) == -HUGE_VAL), b = usual();
  assert_true(odds_with(&b.rise_db, &b, 1) == -HUGE_VAL), b = usual();   // swells out of noise
  assert_true(odds_with(&b.before_db, &b, -15) == -HUGE_VAL), b = usual();
  assert_true(odds_with(&b.start_s, &b, -0.05) == -HUGE_VAL), b = usual(); // no more than S1's own rise
  assert_true(odds_with(&b.end_s, &b, 0.02) == -HUGE_VAL), b = usual();    // ends with S1: presystolic
  assert_true(odds_with(&b.systole_s, &b, 0.33) == -HUGE_VAL), b = usual(); // too late for a third sound
  const double as_loud = odds_with(&b.softer_db, &b, 0);
  assert_true(odds_with(&b.softer_db, &b, -4) < as_loud - 2.5), b = usual(); // a third sound is not the louder one
  assert_true(odds_with(&b.low_db, &b, 12) < 2), b = usual();               // a rumble
  assert_true(odds_with(&b.low_db, &b, -16) < 2), b = usual();              // no S1 where it begins
  b.closed = false;
  assert_true(gn_cycle_odds(&b, hear_profile(GIRTHLINE_HUMAN), false) == -HUGE_VAL);
}

static void evidence_moves_the_odds_the_way_it_points(void **state) {
  (void)state;
  gn_cycle_block b = usual();
  const double odds = gn_cycle_odds(&b, hear_profile(GIRTHLINE_HUMAN), false);
  assert_true(odds_with(&b.softer_db, &b, -6) < odds), b = usual(); // the third sound as loud as S2
  assert_true(odds_with(&b.duller_db, &b, -6) < odds), b = usual(); // and as crisp
  assert_true(odds_with(&b.start_s, &b, -0.32) < odds), b = usual(); // longer than a systole
  assert_true(odds_with(&b.systole_s, &b, 0.17) > odds), b = usual(); // too short for one
  b.systole_s = 0.17;
  const double doubted = gn_cycle_odds(&b, hear_profile(GIRTHLINE_HUMAN), true);
  b.systole_s = 0.165; // and told nothing against there being no heart at all
  assert_true(fabs(gn_cycle_odds(&b, hear_profile(GIRTHLINE_HUMAN), true) - doubted) < 0.1 && doubted < odds + 1);
}

// By Bayes' rule: the density of a systole as usual as can be, a normal one's peak, over that of a third sound's delay, even over its range.
static void a_usual_systole_speaks_for_the_names_as_they_were_decoded(void **state) {
  (void)state;
  const girthline_profile *human = hear_profile(GIRTHLINE_HUMAN);
  gn_cycle_block b = usual();
  b.systole_s = gn_systole_expected_s(human, b.interval_s);
  const double range = log(human->s3_after_s2_s[1] / human->s3_after_s2_s[0]), peak = 1 / (0.12 * sqrt(2 * M_PI));
  assert_near(gn_cycle_odds(&b, human, true) - gn_cycle_odds(&b, human, false), log(peak * range), 1e-6);
  b.systole_s *= exp(-0.24); // two standard deviations
  assert_near(gn_cycle_odds(&b, human, true) - gn_cycle_odds(&b, human, false), log(peak * range) - 2, 1e-6);
}

static void refused_memory_is_told_wherever_it_strikes(void **state) {
  (void)state;
  leak *t = make(0.2, 0.03, 0.4);
  const gn_signal window = {t->samples, t->h.n, FS_HZ, 0};
  const gn_cycle_beats in = {t->beats, N_BEATS, NULL, 0, false};
  gn_cycle_outcome out = {0};
  name_shifted(t);
  size_t k = 0;
  int told = -1;
  while (told && k < 200) {
    k++;
    gn_memory_refuse(k);
    told = gn_cycle_name(&window, hear_profile(GIRTHLINE_HUMAN), &in, &out);
    gn_memory_refuse(0);
    if (told) assert_true(!out.renamed && t->beats[0].s1_onset_s > 0.3);
  }
  assert_true(k > 10 && k < 200 && out.renamed && out.hides_s1);
  test_free(t);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_murmur_that_seems_to_run_through_s1_gives_the_sounds_their_other_names),
      cmocka_unit_test(the_same_sound_ten_times_as_loud_is_named_the_same),
      cmocka_unit_test(names_that_are_right_stay_without_a_murmur_and_with_one_that_hides_s1),
      cmocka_unit_test(without_a_murmur_nothing_says_that_the_names_are_shifted),
      cmocka_unit_test(silence_one_beat_missing_sounds_and_spoilt_sound_change_nothing),
      cmocka_unit_test(a_first_sound_before_the_recording_is_missing_not_guessed),
      cmocka_unit_test(beats_refused_for_their_time_alone_come_back_under_their_other_names),
      cmocka_unit_test(a_murmur_through_diastole_has_doubtful_names_exchanged_and_sure_ones_kept),
      cmocka_unit_test(an_exchange_makes_each_s2_the_s1_of_the_next),
      cmocka_unit_test(each_lack_takes_the_odds_away),
      cmocka_unit_test(evidence_moves_the_odds_the_way_it_points),
      cmocka_unit_test(a_usual_systole_speaks_for_the_names_as_they_were_decoded),
      cmocka_unit_test(refused_memory_is_told_wherever_it_strikes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
