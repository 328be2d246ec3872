// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include <string.h>

#include "segment/trust.h"

// Sounds of three tones at even steps, every second of them named S1. 70 and 90 Hz in turn are a heart's; three in turn are a heart's and knocks,
// each of which has either name as often.
static const double FS_HZ = 2000, STEP_S = 0.5, GROUND = 0.001;
enum { BEATS_MOST = 100 };

static gn_kinds measure(size_t n_beats, size_t n_tones, double gain, size_t n_spoilt) {
  static const double TONES_HZ[] = {70, 90, 50, 110};
  heart *h = heart_new(FS_HZ, n_beats, 2 * STEP_S, STEP_S);
  for (size_t i = 0; i < h->n; i++) h->x[i] = 0;
  for (size_t i = 0; i < 2 * n_beats; i++) {
    const double at_s = HEART_LEAD_S + STEP_S * (double)i;
    if (n_tones) heart_tone(h, at_s, HEART_S2_S, TONES_HZ[i % n_tones], HEART_AMPLITUDE);
    else heart_noise(h, at_s, HEART_S2_S, HEART_AMPLITUDE, 100 + i);
  }
  heart_noise(h, 0, 1e9, GROUND, 1);
  for (size_t i = 0; i < h->n; i++) h->x[i] *= (float)gain;
  gn_features f = hear_sound(h->x, h->n, FS_HZ, GIRTHLINE_HORSE);
  gn_beat_frames beats[BEATS_MOST];
  gn_sound_times times[2 * BEATS_MOST];
  for (size_t i = 0; i < n_beats; i++) {
    times[i] = (gn_sound_times){.onset_s = h->beats[i].s1_onset_s};
    times[n_beats + i] = (gn_sound_times){.onset_s = h->beats[i].s2_onset_s};
    beats[i] = (gn_beat_frames){(long)(100 * h->beats[i].s1_onset_s + 0.5), (long)(100 * h->beats[i].s2_onset_s + 0.5)};
    if (i < n_spoilt) memset(f.spoilt + beats[i].s1, 1, (size_t)(beats[i].s2 - beats[i].s1 + 10));
  }
  gn_candidate c = {.beats = beats, .n_beats = n_beats, .times = times};
  const gn_hearing hearing = {.f = &f, .profile = hear_profile(GIRTHLINE_HORSE)};
  gn_kinds kinds;
  assert_int_equal(gn_kinds_measure(&hearing, &c, true, &kinds), 0);
  gn_kinds unmixed;
  assert_int_equal(gn_kinds_measure(&hearing, &c, false, &unmixed), 0);
  assert_near(unmixed.otherwise, kinds.otherwise, 0);
  assert_near(unmixed.mixed_share + unmixed.likeness, 0, 0);
  gn_features_clear(&f);
  heart_free(h);
  return kinds;
}

static void the_two_sounds_of_a_heart_are_of_two_kinds(void **state) {
  (void)state;
  const gn_kinds k = measure(30, 2, 1, 0);
  assert_near(k.mixed_share, 0, 0);
  assert_true(k.likeness > 0.98);
}

// Which of the sounds of its kind, half of them of the other name, a sound is most like is for the noise to say.
static void three_kinds_in_turn_are_mixed_under_both_names(void **state) {
  (void)state;
  const gn_kinds few = measure(30, 3, 1, 0), many = measure(100, 3, 1, 0);
  assert_true(few.likeness > 0.98 && many.likeness > 0.98);
  assert_near(few.mixed_share, 0.5, 0.2);
  assert_near(many.mixed_share, 0.5, 0.2);
}

static void noise_is_like_no_other(void **state) {
  (void)state;
  assert_true(measure(30, 0, 1, 0).likeness < 0.9);
}

// Every second beat may sound otherwise, as early ones do; of three kinds in turn none comes again in time.
static void a_heart_s_sounds_repeat_the_last_ones_and_bursts_of_noise_do_not(void **state) {
  (void)state;
  assert_true(measure(30, 2, 1, 0).otherwise < 0.02);
  assert_true(measure(30, 4, 1, 0).otherwise < 0.02);
  assert_true(measure(30, 3, 1, 0).otherwise > 0.5);
  assert_true(measure(30, 0, 1, 0).otherwise > 0.5);
  assert_true(measure(100, 0, 1, 0).otherwise > 0.5);
}

static void gain_changes_nothing(void **state) {
  (void)state;
  const gn_kinds a = measure(30, 3, 1, 0), b = measure(30, 3, 1.0 / 64, 0);
  assert_near(a.mixed_share, b.mixed_share, 0);
  assert_near(a.likeness, b.likeness, 1e-6);
  assert_near(a.otherwise, b.otherwise, 1e-6);
}

static void few_sounds_that_are_not_spoilt_say_nothing(void **state) {
  (void)state;
  assert_true(measure(12, 3, 1, 0).mixed_share > 0.1);
  assert_near(measure(5, 3, 1, 0).likeness, 0, 0);
  assert_near(measure(12, 3, 1, 7).likeness, 0, 0);
  assert_near(measure(5, 0, 1, 0).otherwise, 0, 0); // four pairs, and five
  assert_true(measure(6, 0, 1, 0).otherwise > 0.3);
  assert_near(measure(12, 0, 1, 7).otherwise, 0, 0);
}

// By what stands out far, what lies between the sounds, and how short a systole may be.
static void bursts_of_noise_are_no_heart_however_loud(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_HORSE);
  const girthline_limits usual = girthline_limits_default();
  gn_trust said = {.n_clear = 70, .gain_per_beat = 30, .contrast_db = {24, 17.5}, .usual_share = 1, .systole_sd = 0.03, .alike_db = 3, .systole_share = 0.3, .midway_nats = NAN, .elsewhere_share = NAN};
  assert_false(gn_trust_asks_repeats(&said));
  said.between_db = 2.6; // over the quieter of the two
  assert_true(gn_trust_asks_repeats(&said));
  said.between_db = -2.6;
  assert_true(gn_trust_asks_repeats(&said));
  gn_trust softer = said;
  softer.contrast_db[0] = 19.8;
  assert_false(gn_trust_asks_repeats(&softer));
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 1.2));
  said.kinds.otherwise = 0.53;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 1.2));
  said.kinds.otherwise = 0.55;
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 1.2), GN_TRUST_OTHERWISE);
  said.kinds.otherwise = 0.05;
  said.alike_db = 0.95;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 1.2));
  said.between_db = 4.9;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 1.2));
  said.between_db = 5.1;
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 1.2), GN_TRUST_ONE_BURST);
  said.alike_db = 1.05;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 1.2));
  said.systole_offset = -0.59;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 1.2));
  said.systole_offset = -0.61;
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 1.2), GN_TRUST_TOO_SHORT);
}

int main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(the_two_sounds_of_a_heart_are_of_two_kinds),
    cmocka_unit_test(three_kinds_in_turn_are_mixed_under_both_names),
    cmocka_unit_test(noise_is_like_no_other),
    cmocka_unit_test(a_heart_s_sounds_repeat_the_last_ones_and_bursts_of_noise_do_not),
    cmocka_unit_test(bursts_of_noise_are_no_heart_however_loud),
    cmocka_unit_test(gain_changes_nothing),
    cmocka_unit_test(few_sounds_that_are_not_spoilt_say_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
