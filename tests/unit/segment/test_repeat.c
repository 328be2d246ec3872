// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include <string.h>

#include "segment/repeat.h"

// A heart of closed form in noise, scored by its waveform alone. Bursts of noise as loud as an S1 stand between its beats.
static const double FS_HZ = 2000, INTERVAL_S = 1.5, SYSTOLE_S = 0.46, BURST_S = 1.0;

typedef struct scored {
  gn_features f;
  gn_durations durations;
  gn_hearing h;
  gn_candidate c;
  gn_sound_times first[40], second[40];
  bool told;
} scored;

static void bursts_for_sounds(heart *h) {
  for (size_t i = 0; i < h->n; i++) h->x[i] = 0;
  for (size_t i = 0; i < h->n_beats; i++) {
    heart_noise(h, h->beats[i].s1_onset_s, HEART_S1_S, 0.3, 100 + i);
    heart_noise(h, h->beats[i].s2_onset_s, HEART_S2_S, 0.3, 200 + i);
  }
  heart_noise(h, 0, 1e9, 0.0005, 1);
}

static void score(scored *s, size_t n_beats, bool alike, double gain, bool wave) {
  heart *h = heart_new(FS_HZ, n_beats, INTERVAL_S, SYSTOLE_S);
  if (!alike) bursts_for_sounds(h);
  for (size_t i = 0; i < n_beats; i++) heart_noise(h, h->beats[i].s1_onset_s + BURST_S, HEART_S1_S, 0.3, 300 + i);
  for (size_t i = 0; i < h->n; i++) h->x[i] *= (float)gain;
  *s = (scored){.f = hear_sound(h->x, h->n, FS_HZ, GIRTHLINE_HORSE)};
  if (!wave) s->f.n_wave = 0, gn_free(s->f.wave), s->f.wave = NULL;
  const girthline_profile *profile = hear_profile(GIRTHLINE_HORSE);
  const gn_lags lags = gn_lags_between(60 / profile->possible_bpm[1], 60 / profile->possible_bpm[0]);
  assert_int_equal(gn_durations_init(&s->durations, &lags, 100, profile), 0);
  assert_int_equal(gn_hearing_init(&s->h, &s->f, profile, &s->durations), 0);
  s->c.n_beats = n_beats;
  s->c.beats = gn_new(n_beats, sizeof *s->c.beats);
  for (size_t i = 0; i < n_beats; i++) {
    s->first[i] = (gn_sound_times){.onset_s = h->beats[i].s1_onset_s};
    s->second[i] = (gn_sound_times){.onset_s = h->beats[i].s2_onset_s};
    s->c.beats[i] = (gn_beat_frames){(long)(100 * h->beats[i].s1_onset_s + 0.5), (long)(100 * h->beats[i].s2_onset_s + 0.5)};
  }
  assert_int_equal(gn_repeat_score(&s->h, &s->c, s->first, s->second, &s->told), 0);
  heart_free(h);
}

static void clear(scored *s) {
  gn_free(s->c.beats);
  gn_hearing_clear(&s->h);
  gn_durations_clear(&s->durations);
  gn_features_clear(&s->f);
}

// The most that is said for an S1 within 30 ms of a frame.
static double best_s1(const scored *s, long frame) {
  double best = -1e9;
  for (long k = frame - 3; k <= frame + 3; k++) best = fmax(best, (double)s->h.scores.s1[k + (long)s->h.scores.pad]);
  return best;
}

static void sounds_that_repeat_gain_and_bursts_as_loud_lose(void **state) {
  (void)state;
  scored s;
  score(&s, 20, true, 1, true);
  assert_true(s.told);
  for (size_t i = 1; i + 1 < 20; i++) {
    assert_true(best_s1(&s, s.c.beats[i].s1) > 3);
    assert_true(best_s1(&s, s.c.beats[i].s1 + (long)(100 * BURST_S)) < 0);
  }
  clear(&s);
}

static void nothing_is_said_where_no_two_beats_are_alike(void **state) {
  (void)state;
  scored s;
  score(&s, 20, false, 1, true);
  for (size_t k = 0; k < s.f.n; k++) assert_near(s.h.scores.s1[k + s.h.scores.pad], 0, 0.75); // under what half a frame's levels say
  clear(&s);
}

static void five_sounds_are_too_few_and_without_a_waveform_nothing_is_said(void **state) {
  (void)state;
  scored s;
  score(&s, 5, true, 1, true);
  assert_false(s.told);
  clear(&s);
  score(&s, 20, true, 1, false);
  assert_false(s.told);
  clear(&s);
}

static void gain_changes_nothing(void **state) {
  (void)state;
  scored a, b;
  score(&a, 20, true, 1, true);
  score(&b, 20, true, 0.01, true);
  for (size_t k = 0; k < a.h.scores.n; k++) assert_near(a.h.scores.s1[k + a.h.scores.pad], b.h.scores.s1[k + b.h.scores.pad], 0.01);
  clear(&a);
  clear(&b);
}

static void a_spoilt_sound_is_neither_learnt_from_nor_judged(void **state) {
  (void)state;
  scored s;
  score(&s, 20, true, 1, true);
  memset(s.h.scores.s1, 0, (s.h.scores.n + 2 * s.h.scores.pad) * sizeof(float));
  const long at = s.c.beats[7].s1;
  for (long k = at; k < at + 8; k++) s.f.spoilt[k] = 1;
  assert_int_equal(gn_repeat_score(&s.h, &s.c, s.first, s.second, &s.told), 0);
  assert_near(best_s1(&s, at), 0, 0);
  assert_true(best_s1(&s, s.c.beats[8].s1) > 3);
  clear(&s);
}

int main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(sounds_that_repeat_gain_and_bursts_as_loud_lose),
    cmocka_unit_test(nothing_is_said_where_no_two_beats_are_alike),
    cmocka_unit_test(five_sounds_are_too_few_and_without_a_waveform_nothing_is_said),
    cmocka_unit_test(gain_changes_nothing),
    cmocka_unit_test(a_spoilt_sound_is_neither_learnt_from_nor_judged),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
