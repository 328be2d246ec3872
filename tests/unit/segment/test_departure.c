// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>

#include "base/memory.h"
#include "base/random.h"
#include "segment/departure.h"
#include "segment/jitter.h"

enum { BEATS = 40 };
#define EVERY_S 1.0
#define FIRST_S 0.5
#define SYSTOLE_S 0.4
#define SOUND_S 0.1

typedef struct sound {
  float *x;
  gn_signal window;
  double begins_s[2 * BEATS]; // S1 and S2 in turn
  girthline_beat beats[BEATS]; // onsets up to 12 ms off
} sound;

// A sound that begins at once with a tone a sixth as strong as what follows it up to 20 ms later, so that its strongest part says
// little of its beginning. Frequencies and phases differ from sound to sound.
static void add_sound(sound *s, double begin_s, gn_random *r) {
  const double fs_hz = s->window.fs_hz, late_s = 0.02 * gn_random_uniform(r);
  const double first_hz = 90 + 60 * gn_random_uniform(r), then_hz = 60 + 50 * gn_random_uniform(r);
  for (size_t i = (size_t)ceil(begin_s * fs_hz); (double)i < (begin_s + SOUND_S) * fs_hz; i++) {
    const double t = (double)i / fs_hz - begin_s, u = t - late_s;
    s->x[i] += (float)(0.05 * cos(2 * M_PI * first_hz * t));
    if (u > 0) s->x[i] += (float)(0.3 * sin(2 * M_PI * then_hz * u) * exp(-u / 0.03));
  }
}

static sound *sound_new(double fs_hz, double noise) {
  sound *s = calloc(1, sizeof *s);
  const size_t n = (size_t)((FIRST_S + BEATS * EVERY_S) * fs_hz);
  gn_random r = gn_random_of(11), off = gn_random_of(12);
  s->x = calloc(n, sizeof *s->x);
  s->window = (gn_signal){s->x, n, fs_hz, 0};
  for (size_t i = 0; i < n; i++) s->x[i] = (float)(noise * gn_random_normal(&r));
  for (size_t i = 0; i < BEATS; i++) {
    const double at_s = FIRST_S + EVERY_S * (double)i + 0.01 * gn_random_uniform(&r);
    s->begins_s[2 * i] = at_s;
    s->begins_s[2 * i + 1] = at_s + SYSTOLE_S;
    for (size_t k = 0; k < 2; k++) add_sound(s, s->begins_s[2 * i + k], &r);
    const double a = 0.024 * gn_random_uniform(&off), b = 0.024 * gn_random_uniform(&off);
    s->beats[i] = (girthline_beat){.s1_onset_s = at_s - 0.012 + a, .s2_onset_s = at_s + SYSTOLE_S - 0.012 + b, .s1_peak_s = 0.04f,
                                   .s1_offset_s = 0.1f, .s2_peak_s = 0.04f, .s2_offset_s = 0.1f, .confidence = 1};
  }
  return s;
}

static void sound_free(sound *s) {
  free(s->x);
  free(s);
}

static void each_sound_is_found_where_it_begins_within_4_ms_at_any_rate(void **state) {
  (void)state;
  static const double RATES_HZ[] = {1000, 2000, 3000};
  for (size_t k = 0; k < 3; k++) {
    sound *s = sound_new(RATES_HZ[k], 3e-4);
    for (size_t i = 0; i < BEATS; i++) {
      const gn_departure d = gn_departure_find(&s->window, s->beats[i].s1_onset_s);
      assert_true(d.weight == 1);
      assert_near(d.at_s, s->begins_s[2 * i] + 0.001, 0.004);
    }
    sound_free(s);
  }
}

static void sharpened_onsets_lose_most_of_their_scatter_and_peaks_stay(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  double before_ms, after_ms;
  const girthline_beat first = s->beats[3];
  assert_int_equal(gn_jitter_measure(s->beats, BEATS, &before_ms), 0);
  assert_int_equal(gn_departure_sharpen(&s->window, s->beats, BEATS), 0);
  assert_int_equal(gn_jitter_measure(s->beats, BEATS, &after_ms), 0);
  assert_true(before_ms > 5 && after_ms < 2);
  assert_near(s->beats[3].s1_onset_s + (double)s->beats[3].s1_peak_s, first.s1_onset_s + (double)first.s1_peak_s, 1e-6);
  assert_near(s->beats[3].s2_onset_s + (double)s->beats[3].s2_offset_s, first.s2_onset_s + (double)first.s2_offset_s, 1e-6);
  sound_free(s);
}

static void gain_moves_nothing(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  const gn_departure d = gn_departure_find(&s->window, s->beats[5].s1_onset_s);
  for (size_t i = 0; i < s->window.n; i++) s->x[i] *= 0.01f;
  const gn_departure soft = gn_departure_find(&s->window, s->beats[5].s1_onset_s);
  assert_near(soft.at_s, d.at_s, 1e-5);
  assert_near(soft.weight, d.weight, 1e-5);
  sound_free(s);
}

static void a_sound_in_noise_stays_where_the_average_put_it(void **state) {
  (void)state;
  sound *s = sound_new(2000, 0.05);
  const girthline_beat before = s->beats[7];
  for (size_t i = 0; i < BEATS; i++) assert_true(gn_departure_find(&s->window, s->beats[i].s1_onset_s).weight == 0);
  assert_int_equal(gn_departure_sharpen(&s->window, s->beats, BEATS), 0);
  assert_true(s->beats[7].s1_onset_s == before.s1_onset_s && s->beats[7].s2_peak_s == before.s2_peak_s);
  sound_free(s);
}

// A tone of 260 Hz swells from so long before each S1 to its height when the sound comes, and the onsets given are the tone's.
static void swell(sound *s, double from_s, double height, double given_s) {
  for (size_t i = 0; i < BEATS; i++) {
    const double begin_s = s->begins_s[2 * i];
    for (size_t k = (size_t)((begin_s - from_s) * 2000); k < (size_t)(begin_s * 2000); k++)
      s->x[k] += (float)(height * (1 - (begin_s - (double)k / 2000) / from_s) * sin(2 * M_PI * 260 * (double)k / 2000));
    s->beats[i].s1_onset_s = begin_s - given_s;
    s->beats[i].s1_peak_s = 0.1f;
  }
}

static void assert_onsets_are_back(sound *s) {
  assert_int_equal(gn_departure_sharpen(&s->window, s->beats, BEATS), 0);
  for (size_t i = 0; i < BEATS; i++) assert_near(s->beats[i].s1_onset_s, s->begins_s[2 * i] + 0.003, 0.014);
  sound_free(s);
}

static void onsets_on_a_murmur_that_runs_into_the_sounds_come_back_to_the_sounds(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  swell(s, 0.06, 0.1, 0.055);
  assert_onsets_are_back(s);
}

// As in a fast heart: the sound before has hardly ended when the murmur begins.
static void a_sound_shortly_before_hides_no_murmur_that_runs_into_the_next(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  swell(s, 0.05, 0.3, 0.018);
  for (size_t i = 0; i < BEATS; i++)
    for (size_t k = (size_t)((s->begins_s[2 * i] - 0.12) * 2000); k < (size_t)((s->begins_s[2 * i] - 0.045) * 2000); k++)
      s->x[k] += (float)(0.1 * sin(2 * M_PI * 60 * (double)k / 2000));
  assert_onsets_are_back(s);
}

static void onsets_that_are_late_as_a_whole_come_back(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  for (size_t i = 0; i < BEATS; i++) s->beats[i].s2_onset_s = s->begins_s[2 * i + 1] + 0.05;
  assert_int_equal(gn_departure_sharpen(&s->window, s->beats, BEATS), 0);
  for (size_t i = 0; i < BEATS; i++) assert_near(s->beats[i].s2_onset_s, s->begins_s[2 * i + 1] + 0.005, 0.014);
  sound_free(s);
}

// A long low sound with a murmur in its wake, which was taken for it. From there most of what precedes is the sound.
static void onsets_on_a_murmur_late_in_the_sounds_come_back_to_their_beginning(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  for (size_t i = 0; i < BEATS; i++) {
    const double begin_s = s->begins_s[2 * i];
    for (size_t k = (size_t)(begin_s * 2000) + 1; k < (size_t)((begin_s + 0.2) * 2000); k++) {
      const double t = (double)k / 2000 - begin_s;
      s->x[k] += (float)((t < 0.058 ? 0.3 : 0.6) * sin(2 * M_PI * 45 * t));
      if (t > 0.11) s->x[k] += (float)(0.3 * sin(2 * M_PI * 170 * t));
    }
    s->beats[i].s1_onset_s = begin_s + 0.113;
  }
  assert_onsets_are_back(s);
}

// All but one stand alone and begin 8 ms after their given onsets: the one that cannot be heard by itself moves with them.
static void a_hidden_sound_moves_with_the_others(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  for (size_t i = 0; i < BEATS; i++) s->beats[i].s1_onset_s = s->begins_s[2 * i] - 0.008;
  gn_random r = gn_random_of(5);
  const size_t from = (size_t)((s->begins_s[20] - 0.3) * 2000);
  for (size_t i = from; i < from + 800; i++) s->x[i] += (float)(0.2 * gn_random_normal(&r));
  assert_int_equal(gn_departure_sharpen(&s->window, s->beats, BEATS), 0);
  assert_near(s->beats[10].s1_onset_s, s->begins_s[20] + 0.001, 0.002);
  sound_free(s);
}

static void what_cannot_be_looked_at_is_left_alone(void **state) {
  (void)state;
  sound *s = sound_new(2000, 0); // silence between the sounds
  assert_true(gn_departure_find(&s->window, s->begins_s[0]).weight == 1);
  assert_true(gn_departure_find(&s->window, NAN).weight == 0);
  assert_true(gn_departure_find(&s->window, 0.139).weight == 0); // less than 140 ms before it
  assert_true(gn_departure_find(&s->window, 1e6).weight == 0);
  assert_true(gn_departure_find(&s->window, FIRST_S + 0.7).weight == 0); // nothing there
  const gn_signal none = {s->x, 0, 2000, 0};
  assert_true(gn_departure_find(&none, 0).weight == 0);
  girthline_beat lone = {.s1_onset_s = NAN, .s2_onset_s = s->begins_s[1] - 0.01, .s2_peak_s = 0.002f};
  assert_int_equal(gn_departure_sharpen(&s->window, &lone, 1), 0);
  assert_true(isnan(lone.s1_onset_s));
  assert_near((double)lone.s2_peak_s, 0, 1e-6); // it begins no later than it is loudest
  assert_int_equal(gn_departure_sharpen(&s->window, &lone, 0), 0);
  sound_free(s);
}

static void refused_memory_changes_no_beat(void **state) {
  (void)state;
  sound *s = sound_new(2000, 3e-4);
  const double before_s = s->beats[0].s1_onset_s;
  for (size_t k = 1; k <= 2; k++) {
    gn_memory_refuse(k);
    assert_int_equal(gn_departure_sharpen(&s->window, s->beats, BEATS), -1);
    gn_memory_refuse(0);
    assert_true(s->beats[0].s1_onset_s == before_s);
  }
  sound_free(s);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_sound_is_found_where_it_begins_within_4_ms_at_any_rate),
      cmocka_unit_test(sharpened_onsets_lose_most_of_their_scatter_and_peaks_stay),
      cmocka_unit_test(gain_moves_nothing),
      cmocka_unit_test(a_sound_in_noise_stays_where_the_average_put_it),
      cmocka_unit_test(onsets_on_a_murmur_that_runs_into_the_sounds_come_back_to_the_sounds),
      cmocka_unit_test(a_sound_shortly_before_hides_no_murmur_that_runs_into_the_next),
      cmocka_unit_test(onsets_on_a_murmur_late_in_the_sounds_come_back_to_their_beginning),
      cmocka_unit_test(onsets_that_are_late_as_a_whole_come_back),
      cmocka_unit_test(a_hidden_sound_moves_with_the_others),
      cmocka_unit_test(what_cannot_be_looked_at_is_left_alone),
      cmocka_unit_test(refused_memory_changes_no_beat),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
