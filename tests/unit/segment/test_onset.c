// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include <limits.h>

#include "base/result.h"
#include "segment/given.h"
#include "segment/onset.h"

// Refined S1 times of a heart of closed form against where its tones begin. Frames are given up to 20 ms off.
static void bias_and_worst_ms(double fs_hz, double gain, double *bias_ms, double *worst_ms) {
  heart *h = heart_new(fs_hz, 20, 1.5, 0.46);
  long frame[20];
  gn_sound_times t[20];
  double errors[20], sum = 0, worst = 0;
  for (size_t i = 0; i < h->n; i++) h->x[i] *= (float)gain;
  gn_features f = hear_sound(h->x, h->n, fs_hz, GIRTHLINE_HORSE);
  for (size_t i = 0; i < 20; i++) frame[i] = (long)(h->beats[i].s1_onset_s * 100 + 0.5) + (long)(i % 5) - 2;
  assert_int_equal(gn_onset_refine(&f, frame, 20, 0.12, t), 0);
  for (size_t i = 0; i < 20; i++) {
    errors[i] = 1000 * (t[i].onset_s - h->beats[i].s1_onset_s);
    sum += errors[i];
    assert_true(t[i].onset_s < t[i].peak_s && t[i].peak_s < t[i].offset_s && t[i].agreement > 0.9);
    assert_near(t[i].offset_s - t[i].onset_s, HEART_S1_S, 0.04);
  }
  for (size_t i = 0; i < 20; i++) worst = fmax(worst, fabs(errors[i] - sum / 20));
  *bias_ms = sum / 20;
  *worst_ms = worst;
  gn_features_clear(&f);
  heart_free(h);
}

static void every_onset_is_the_same_distance_from_the_truth_within_3_ms(void **state) {
  (void)state;
  static const double RATES_HZ[] = {1000, 2000, 3000};
  double first_ms = 0;
  for (size_t i = 0; i < 3; i++) {
    double bias_ms, worst_ms;
    bias_and_worst_ms(RATES_HZ[i], 1, &bias_ms, &worst_ms);
    assert_true(worst_ms < 3);
    assert_near(bias_ms, -1, 2); // the band's ringing runs ahead of a sound; intervals do not see it
    if (i == 0) first_ms = bias_ms;
    assert_near(bias_ms, first_ms, 2); // whatever the rate
  }
}

// A click in systole, three times as strong as S1, is no part of it.
static void a_louder_click_behind_a_sound_moves_no_onset(void **state) {
  (void)state;
  heart *h = heart_new(2000, 20, 0.8, 0.36);
  for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s + 0.15, 0.025, 80, 3 * HEART_AMPLITUDE);
  gn_features f = hear_sound(h->x, h->n, 2000, GIRTHLINE_HORSE);
  long frame[20];
  gn_sound_times t[20];
  for (size_t i = 0; i < 20; i++) frame[i] = (long)(h->beats[i].s1_onset_s * 100 + 0.5);
  assert_int_equal(gn_onset_refine(&f, frame, 20, 0.14, t), 0);
  for (size_t i = 0; i < 20; i++) {
    assert_near(t[i].onset_s, h->beats[i].s1_onset_s, 0.01);
    assert_true(t[i].onset_s < t[i].peak_s && t[i].peak_s < t[i].offset_s && t[i].offset_s < h->beats[i].s1_onset_s + 0.15);
  }
  gn_features_clear(&f);
  heart_free(h);
}

// A course of levels around every one of eight places: silent (0 dB), a first bump of this height, a valley, and a louder one, which rise and fall
// by 0.5 and 1 dB a millisecond. When a sound begins, is loudest and ends, seconds from its place.
static gn_sound_times of_course(double first_s, double first_db, double valley_db, double louder_s) {
  gn_features f = hear_empty(1400);
  long frame[8];
  gn_sound_times t[8];
  for (size_t i = 0; i < f.n_fine; i++) {
    const double at_s = (double)(i % 600) / 400 - 0.5, first = first_db - 500 * fabs(at_s - first_s), louder = 15 - 1000 * fabs(at_s - louder_s);
    f.fine_power[i] = (float)pow(10, fmax(fmax(first, louder), at_s > first_s && at_s < louder_s ? valley_db : 0) / 10 - 6);
  }
  for (size_t i = 0; i < 8; i++) frame[i] = 50 + 150 * (long)i;
  assert_int_equal(gn_onset_refine(&f, frame, 8, 0.12, t), 0);
  gn_features_clear(&f);
  return (gn_sound_times){t[3].onset_s - 5, t[3].peak_s - 5, t[3].offset_s - 5, t[3].agreement};
}

// Where 0.15 of a bump's amplitude over silence is reached, seconds.
static double rise_s(double peak_s, double peak_db, double db_a_s) { return peak_s - (peak_db - 20 * log10(1 + 0.15 * (pow(10, peak_db / 20) - 1))) / db_a_s; }

static void a_sound_begins_at_a_first_peak_that_stands_clear_of_a_louder_one_further_off(void **state) {
  (void)state;
  static const struct { double first_s, first_db, valley_db, louder_s; bool first; } CASES[] = {
      {0.02, 10, 0, 0.14, true},    {0.02, 5.8, 0, 0.14, true},   {0.02, 4.8, 0, 0.14, false},   // hardly over what precedes it
      {0.02, 6.2, 1.8, 0.14, true}, {0.02, 5.4, 1.8, 0.14, false},                               // or over what lies behind it
      {0.055, 10, 0, 0.14, true},   {0.065, 10, 0, 0.14, false},  {-0.024, 10, 0, 0.14, false},  // too late itself, or too soon
      {0, 8, 0, 0.065, true},       {0, 8, 0, 0.05, false}};                                     // the louder one near enough to be the sound
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    const gn_sound_times t = of_course(CASES[k].first_s, CASES[k].first_db, CASES[k].valley_db, CASES[k].louder_s);
    assert_near(t.onset_s, CASES[k].first ? rise_s(CASES[k].first_s, CASES[k].first_db, 500) : rise_s(CASES[k].louder_s, 15, 1000), 0.002);
    assert_near(t.peak_s, CASES[k].first ? CASES[k].first_s : CASES[k].louder_s, 0.002);
  }
}

static void a_sound_that_has_not_ended_is_loudest_where_the_louder_one_is(void **state) {
  (void)state;
  assert_near(of_course(0.02, 10, 3, 0.14).peak_s, 0.14, 0.006);
  assert_near(of_course(0.02, 10, 1, 0.14).peak_s, 0.02, 0.006);
}

static void gain_moves_no_onset(void **state) {
  (void)state;
  double a, b, c, worst;
  bias_and_worst_ms(2000, 1, &a, &worst);
  bias_and_worst_ms(2000, 10, &b, &worst);
  bias_and_worst_ms(2000, 0.01, &c, &worst);
  assert_near(a, b, 0.1);
  assert_near(a, c, 0.1);
}

static void absent_sounds_are_nan(void **state) {
  (void)state;
  heart *h = heart_new(2000, 6, 1.5, 0.46);
  gn_features f = hear_sound(h->x, h->n, 2000, GIRTHLINE_HORSE);
  long frame[6];
  gn_sound_times t[6];
  for (size_t i = 0; i < 6; i++) frame[i] = i == 2 ? LONG_MIN : (long)(h->beats[i].s1_onset_s * 100 + 0.5);
  assert_int_equal(gn_onset_refine(&f, frame, 6, 0.12, t), 0);
  for (size_t i = 0; i < 6; i++) assert_int_equal(isnan(t[i].onset_s), i == 2);
  assert_int_equal(gn_onset_refine(&f, frame, 0, 0.12, t), 0);
  gn_features_clear(&f);
  heart_free(h);
}

static void sounds_at_the_very_edges_and_outside_are_harmless(void **state) {
  (void)state;
  static const size_t LENGTHS[] = {0, 1, 3, 40, 300};
  for (size_t i = 0; i < 5; i++) {
    gn_features f = hear_empty(LENGTHS[i]);
    const long frame[] = {-30, -1, 0, 1, (long)LENGTHS[i] - 1, (long)LENGTHS[i] + 30, LONG_MIN};
    gn_sound_times t[7];
    assert_int_equal(gn_onset_refine(&f, frame, 7, 0.12, t), 0);
    assert_int_equal(gn_onset_refine(&f, frame, 7, 0, t), 0); // the next sound comes at once
    gn_features_clear(&f);
  }
}

static void refused_memory_is_told(void **state) {
  (void)state;
  gn_features f = hear_empty(300);
  const long frame[] = {50, 150};
  gn_sound_times t[2];
  size_t k = 1;
  for (; k < 20; k++) {
    gn_memory_refuse(k);
    const int status = gn_onset_refine(&f, frame, 2, 0.12, t);
    gn_memory_refuse(0);
    if (status == 0) break;
  }
  assert_in_range(k, 4, 10);
  gn_features_clear(&f);
}

static void given_sounds_are_paired_as_documented(void **state) {
  (void)state;
  static const girthline_given_sound GIVEN[] = {{0.2, GIRTHLINE_S2}, {1.0, GIRTHLINE_S1}, {1.4, GIRTHLINE_S2}, {1.6, GIRTHLINE_S3},
                                                {2.3, GIRTHLINE_S4}, {2.5, GIRTHLINE_S1}, {4.0, GIRTHLINE_S1}, {4.4, GIRTHLINE_S2},
                                                {4.9, GIRTHLINE_S2}};
  static const double WANT[][2] = {{NAN, 0.2}, {1.0, 1.4}, {2.5, NAN}, {4.0, 4.4}, {NAN, 4.9}};
  girthline_result *r = gn_result_new();
  assert_int_equal(gn_segment_given(r, GIVEN, 9), GIRTHLINE_OK);
  assert_int_equal(r->n_beats, 5);
  for (size_t i = 0; i < 5; i++) {
    const girthline_beat *b = &r->beats[i];
    assert_true(isnan(WANT[i][0]) ? isnan(b->s1_onset_s) : b->s1_onset_s == WANT[i][0]);
    assert_true(isnan(WANT[i][1]) ? isnan(b->s2_onset_s) : b->s2_onset_s == WANT[i][1]);
    assert_true(isnan((double)b->s1_peak_s) && isnan((double)b->s2_offset_s) && b->confidence == 1 && b->name_confidence == 1);
  }
  girthline_result_free(r);
}

static void no_given_sound_and_no_memory(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  const girthline_given_sound third = {1, GIRTHLINE_S3};
  gn_memory_refuse(1);
  assert_int_equal(gn_segment_given(r, &third, 1), GIRTHLINE_NO_MEMORY);
  gn_memory_refuse(0);
  assert_int_equal(gn_segment_given(r, &third, 1), GIRTHLINE_OK);
  assert_int_equal(r->n_beats, 0);
  girthline_result_free(r);
  r = gn_result_new();
  assert_int_equal(gn_segment_given(r, NULL, 0), GIRTHLINE_OK);
  assert_int_equal(r->n_beats, 0);
  girthline_result_free(r);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_onset_is_the_same_distance_from_the_truth_within_3_ms),
      cmocka_unit_test(a_louder_click_behind_a_sound_moves_no_onset),
      cmocka_unit_test(a_sound_begins_at_a_first_peak_that_stands_clear_of_a_louder_one_further_off),
      cmocka_unit_test(a_sound_that_has_not_ended_is_loudest_where_the_louder_one_is),
      cmocka_unit_test(gain_moves_no_onset),
      cmocka_unit_test(absent_sounds_are_nan),
      cmocka_unit_test(sounds_at_the_very_edges_and_outside_are_harmless),
      cmocka_unit_test(refused_memory_is_told),
      cmocka_unit_test(given_sounds_are_paired_as_documented),
      cmocka_unit_test(no_given_sound_and_no_memory),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
