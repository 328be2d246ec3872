// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "analyse.h"
#include "murmur/murmur.h"

static const girthline_profile *profile(void) {
  static girthline_profile store;
  return girthline_profile_of(GIRTHLINE_HUMAN, -1, &store);
}

static bool has_reason(const girthline_result *r, const char *pointer) { return reason_of(r, pointer) && *reason_of(r, pointer); }

static heart *with_tone(double fs_hz, double level_db) {
  heart *h = heart_new(fs_hz, 25, 0.9, 0.33);
  heart_murmur(h, 0.115, 0.33, 200, level_db);
  return h;
}

static void a_tone_through_systole_is_found_with_its_closed_form_level(void **state) {
  (void)state;
  heart *h = with_tone(2000, -12);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.n_phases, 1);
  const girthline_murmur_phase *p = &r->murmur.phases[0];
  assert_int_equal(p->phase, GIRTHLINE_SYSTOLE);
  assert_int_equal(p->timing, GIRTHLINE_HOLO);
  assert_int_equal(p->shape, GIRTHLINE_PLATEAU);
  assert_near(p->level_db, -12, 1);
  assert_true(p->level_db_interval[0] <= p->level_db && p->level_db <= p->level_db_interval[1]);
  assert_int_equal(p->loudness, GIRTHLINE_SOFTER);
  assert_near(p->peak_hz, 200, 4);
  assert_true(p->band_hz[0] < 200 && p->band_hz[1] > 200);
  assert_int_equal(p->musical, GIRTHLINE_YES);
  assert_true(p->beats_fraction > 0.95);
  assert_int_equal(p->ends_before_s2, GIRTHLINE_NO);
  assert_true(p->confidence > 0.8 && p->confidence <= 1);
  girthline_result_free(r);
  heart_free(h);
}

static void loudness_words_change_at_six_decibels(void **state) {
  (void)state;
  const double levels_db[] = {-9, 0, 9};
  const girthline_loudness words[] = {GIRTHLINE_SOFTER, GIRTHLINE_AS_LOUD, GIRTHLINE_LOUDER};
  for (int i = 0; i < 3; i++) {
    heart *h = with_tone(2000, levels_db[i]);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_near(r->murmur.phases[0].level_db, levels_db[i], 1);
    assert_int_equal(r->murmur.phases[0].loudness, words[i]);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void a_heart_without_one_has_none(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 0.9, 0.33);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_NO);
  assert_int_equal(r->murmur.n_phases, 0);
  assert_true(r->murmur.detection_limit_db[0] < -10 && r->murmur.detection_limit_db[1] < -10);
  girthline_result_free(r);
  heart_free(h);
}

static void a_breath_that_does_not_repeat_is_not_a_murmur(void **state) {
  (void)state;
  heart *h = heart_new(2000, 40, 0.9, 0.33);
  for (int k = 0; k < 9; k++) heart_noise(h, 0.7 + 3.9 * k, 1.3, 0.02, (uint64_t)(100 + k));
  girthline_result *r = analyse(h);
  assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
  girthline_result_free(r);
  heart_free(h);
}

static void a_murmur_is_found_under_breaths(void **state) {
  (void)state;
  heart *h = with_tone(2000, -8);
  for (int k = 0; k < 6; k++) heart_noise(h, 0.7 + 3.9 * k, 1.3, 0.02, (uint64_t)(100 + k));
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_SYSTOLE);
  assert_near(r->murmur.phases[0].level_db, -8, 3);
  girthline_result_free(r);
  heart_free(h);
}

static void early_and_late_murmurs_are_named(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.2, 0.36);
  heart_murmur(h, 0.46, 0.62, 250, -6);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  assert_int_equal(r->murmur.phases[0].timing, GIRTHLINE_EARLY);
  girthline_result_free(r);
  heart_free(h);
  h = heart_new(2000, 25, 1.2, 0.36);
  heart_murmur(h, 0.95, 1.18, 250, -6);
  r = analyse(h);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  assert_int_equal(r->murmur.phases[0].timing, GIRTHLINE_LATE);
  girthline_result_free(r);
  heart_free(h);
}

static void a_murmur_in_each_phase_is_two_entries_loudest_first(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.2, 0.36);
  heart_murmur(h, 0.14, 0.28, 180, -12);
  heart_murmur(h, 0.60, 0.80, 300, -4);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.n_phases, 2);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  assert_int_equal(r->murmur.phases[1].phase, GIRTHLINE_SYSTOLE);
  assert_int_equal(r->murmur.phases[1].ends_before_s2, GIRTHLINE_YES);
  girthline_result_free(r);
  heart_free(h);
}

// As low as S1 itself, so that only its length tells it from S1's tail.
static void a_murmur_as_low_as_the_sounds_is_found_by_how_long_it_lasts(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.1, 0.36);
  heart_murmur(h, 0.56, 0.92, 75, -10);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  girthline_result_free(r);
  heart_free(h);
}

static void a_third_and_a_fourth_sound_are_not_murmurs(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.4, 0.36);
  for (size_t i = 0; i < h->n_beats; i++) {
    heart_tone(h, h->beats[i].s2_onset_s + 0.15, 0.09, 35, 0.4 * HEART_AMPLITUDE);
    heart_tone(h, h->beats[i].s1_onset_s - 0.16, 0.09, 35, 0.4 * HEART_AMPLITUDE);
  }
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_NO);
  girthline_result_free(r);
  heart_free(h);
}

static void a_low_murmur_that_runs_into_the_first_sound_is_found(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.1, 0.36);
  for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s - 0.12, 0.15, 110, 0.7 * HEART_AMPLITUDE);
  for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s, 0.1, 110, HEART_AMPLITUDE);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
  assert_int_equal(r->murmur.phases[0].timing, GIRTHLINE_LATE);
  girthline_result_free(r);
  heart_free(h);
}

// White noise whose gain comes back over half a second after every sound.
static void a_gain_that_comes_back_between_the_sounds_is_not_a_murmur(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 1.5, 0.4);
  gn_random random = gn_random_of(7);
  for (size_t i = 0; i < h->n; i++) {
    double since = fmod((double)i / h->fs_hz - HEART_LEAD_S + h->interval_s, h->interval_s);
    if (since >= h->systole_s) since -= h->systole_s;
    const double gain = 1 + 0.7 * fmin(1, since / 1.0);
    h->x[i] += (float)(0.002 * gain * gn_random_normal(&random));
  }
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.n_phases, 0);
  girthline_result_free(r);
  heart_free(h);
}

static void the_level_is_that_of_the_whole_span_whatever_the_shape(void **state) {
  (void)state;
  // A tone that falls in eight steps from 0.12 s on: the mean square over its span is known in closed form.
  heart *h = heart_new(2000, 25, 1.2, 0.40);
  double sum = 0;
  for (int k = 0; k < 8; k++) sum += (8 - k) * (8 - k) / 64.0;
  const double top_db = -6, want_db = top_db + gn_db(sum / 8);
  for (int k = 0; k < 8; k++) heart_murmur(h, 0.12 + 0.025 * k, 0.12 + 0.025 * (k + 1) + 0.01, 190, top_db + 2 * gn_db((8 - k) / 8.0));
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_near(r->murmur.phases[0].level_db, want_db, 2.5);
  girthline_result_free(r);
  heart_free(h);
}

static void gain_times_ten_changes_nothing(void **state) {
  (void)state;
  heart *h = with_tone(2000, -12);
  girthline_result *a = analyse(h);
  for (size_t i = 0; i < h->n; i++) h->x[i] *= 10;
  girthline_result *b = analyse(h);
  assert_int_equal(a->murmur.n_phases, b->murmur.n_phases);
  assert_near(a->murmur.phases[0].level_db, b->murmur.phases[0].level_db, 0.01);
  assert_near(a->murmur.phases[0].peak_hz, b->murmur.phases[0].peak_hz, 0.01);
  assert_near(a->murmur.detection_limit_db[1], b->murmur.detection_limit_db[1], 0.01);
  girthline_result_free(a);
  girthline_result_free(b);
  heart_free(h);
}

static void another_rate_changes_little(void **state) {
  (void)state;
  const double rates_hz[] = {1000, 1500, 2205, 3000};
  for (int i = 0; i < 4; i++) {
    heart *h = with_tone(rates_hz[i], -12);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    assert_near(r->murmur.phases[0].level_db, -12, 1);
    assert_near(r->murmur.phases[0].peak_hz, 200, 4);
    assert_int_equal(r->murmur.phases[0].timing, GIRTHLINE_HOLO);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void windows_with_overlap_give_what_the_whole_gives(void **state) {
  (void)state;
  heart *h = with_tone(2000, -12);
  girthline_result *whole = analyse(h), *parts = gn_result_new();
  gn_murmur *m = gn_murmur_new(profile(), h->fs_hz);
  const double edges_s[] = {0, 7.3, 13.1, 100};
  for (int k = 0; k < 3; k++) {
    const double from_s = k ? edges_s[k] - 3 : 0;
    const size_t a = (size_t)(from_s * h->fs_hz), b = k == 2 ? h->n : (size_t)((edges_s[k + 1] + 3) * h->fs_hz);
    const gn_signal window = {h->x + a, b - a, h->fs_hz, (double)a / h->fs_hz};
    assert_int_equal(gn_murmur_collect(m, &window, edges_s[k], edges_s[k + 1], h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
  }
  assert_int_equal(gn_murmur_finish(m, parts), GIRTHLINE_OK);
  assert_int_equal(parts->murmur.present, GIRTHLINE_YES);
  assert_int_equal(parts->pictures.n_cycle_beats, whole->pictures.n_cycle_beats);
  assert_near(parts->murmur.phases[0].level_db, whole->murmur.phases[0].level_db, 0.05);
  assert_near(parts->murmur.phases[0].peak_hz, whole->murmur.phases[0].peak_hz, 0.5);
  gn_murmur_free(m);
  girthline_result_free(whole);
  girthline_result_free(parts);
  heart_free(h);
}

static void nothing_heard_is_unknown_with_reasons(void **state) {
  (void)state;
  float one = 0.3f;
  const gn_signal signals[] = {{&one, 0, 2000, 0}, {&one, 1, 2000, 0}};
  for (int i = 0; i < 2; i++) {
    gn_murmur *m = gn_murmur_new(profile(), 2000);
    girthline_result *r = gn_result_new();
    const girthline_beat beat = {0, 0.0001, 0, 0, 0, 0, 1, 1, 0};
    assert_int_equal(gn_murmur_collect(m, &signals[i], 0, 1, &beat, 1, NULL, 0), GIRTHLINE_OK);
    assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
    assert_int_equal(r->murmur.present, GIRTHLINE_UNKNOWN);
    assert_true(has_reason(r, "/murmur/present") && has_reason(r, "/murmur/detection_limit_db/systole") && has_reason(r, "/murmur/detection_limit_db/diastole"));
    gn_murmur_free(m);
    girthline_result_free(r);
  }
}

static void silence_a_constant_and_nan_are_never_a_murmur(void **state) {
  (void)state;
  const float fills[] = {0, 0.5f, NAN};
  for (int k = 0; k < 3; k++) {
    heart *h = heart_new(2000, 12, 0.9, 0.33);
    for (size_t i = 0; i < h->n; i++) h->x[i] = fills[k];
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_UNKNOWN);
    assert_true(has_reason(r, "/murmur/present"));
    girthline_result_free(r);
    heart_free(h);
  }
}

static void clipping_does_not_hide_a_murmur(void **state) {
  (void)state;
  heart *h = with_tone(2000, -6);
  for (size_t i = 0; i < h->n; i++) h->x[i] = fmaxf(-0.08f, fminf(0.08f, h->x[i]));
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  girthline_result_free(r);
  heart_free(h);
}

static void spoilt_spans_are_left_out(void **state) {
  (void)state;
  heart *h = heart_new(2000, 25, 0.9, 0.33);
  girthline_span spoilt[25];
  for (size_t i = 0; i < 25; i++) { // a knock in every systole, marked as one
    spoilt[i] = (girthline_span){h->beats[i].s1_onset_s + 0.17, h->beats[i].s1_onset_s + 0.31};
    heart_noise(h, spoilt[i].start_s + 0.02, 0.10, 0.05, i);
  }
  girthline_result *r = analyse_spoilt(h, spoilt, 25);
  assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
  girthline_result_free(r);
  heart_free(h);
}

static void two_whole_beats_will_do_and_fewer_say_so(void **state) {
  (void)state;
  heart *h = heart_new(2000, 3, 0.9, 0.33);
  heart_murmur(h, 0.09, 0.33, 200, -6);
  h->n_beats = 3;
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  girthline_result_free(r);
  heart_free(h);
  h = heart_new(2000, 1, 0.9, 0.33);
  r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_UNKNOWN);
  assert_true(has_reason(r, "/murmur/present"));
  girthline_result_free(r);
  heart_free(h);
}

// A breath lasts as long as few beats do; over many it does not come back in each.
static void what_is_soft_over_a_background_takes_more_than_a_few_beats(void **state) {
  (void)state;
  static const struct { size_t n_beats; double background; girthline_tristate present; } CASES[] = {
      {3, 0.005, GIRTHLINE_UNKNOWN}, {3, 0.0001, GIRTHLINE_YES}, {20, 0.008, GIRTHLINE_YES}};
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    heart *h = heart_new(2000, CASES[k].n_beats, 0.9, 0.33);
    heart_noise(h, 0, 1e9, CASES[k].background, 5);
    heart_murmur(h, 0.09, 0.33, 200, -18);
    girthline_result *r = analyse(h);
    if (CASES[k].present == GIRTHLINE_YES) assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    else assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    girthline_result_free(r);
    heart_free(h);
  }
}

// So fast that the sounds follow each other without a quiet part in diastole: then there is no figure to tell either.
static void a_phase_without_a_quiet_part_is_told_of_in_words(void **state) {
  (void)state;
  heart *h = heart_new(2000, 60, 0.21, 0.16);
  girthline_result *r = analyse(h);
  assert_true(isnan(r->murmur.detection_limit_db[1]));
  assert_int_equal(r->murmur.present, GIRTHLINE_UNKNOWN);
  const char *why = reason_of(r, "/murmur/present");
  assert_true(why && strstr(why, "no quiet part of diastole"));
  girthline_result_free(r);
  heart_free(h);
}

static void noise_raises_the_limit_until_none_cannot_be_said(void **state) {
  (void)state;
  double last_db = -100;
  for (int k = 0; k < 4; k++) {
    heart *h = heart_new(2000, 25, 0.9, 0.33);
    heart_noise(h, 0, 1e9, 0.001 * pow(8, k), 77);
    girthline_result *r = analyse(h);
    assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    assert_true(r->murmur.detection_limit_db[0] > last_db);
    last_db = r->murmur.detection_limit_db[0];
    const bool known = r->murmur.detection_limit_db[0] <= -10 && r->murmur.detection_limit_db[1] <= -10;
    assert_int_equal(r->murmur.present, known ? GIRTHLINE_NO : GIRTHLINE_UNKNOWN);
    assert_int_equal(has_reason(r, "/murmur/present"), !known);
    girthline_result_free(r);
    heart_free(h);
  }
  assert_true(last_db > -10);
}

static void a_long_recording_keeps_an_even_choice(void **state) {
  (void)state;
  heart *h = heart_new(1000, 1100, 0.45, 0.2);
  heart_murmur(h, 0.09, 0.19, 220, -3);
  girthline_result *r = analyse(h);
  assert_true(r->pictures.n_cycle_beats > 100 && r->pictures.n_cycle_beats <= 256);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_near(r->murmur.phases[0].level_db, -3, 1.5);
  girthline_result_free(r);
  heart_free(h);
}

static void the_average_cycle_shows_the_sounds_where_they_are(void **state) {
  (void)state;
  heart *h = with_tone(2000, -12);
  girthline_result *r = analyse(h);
  const girthline_pictures *p = &r->pictures;
  assert_near(p->cycle_interval_s, 0.9, 0.006);
  assert_near(p->cycle_systole_s, 0.33, 0.006);
  const size_t s1 = (size_t)((0.05 - p->cycle_start_s) / p->cycle_step_s), quiet = (size_t)((0.65 - p->cycle_start_s) / p->cycle_step_s);
  const size_t tone = (size_t)((0.22 - p->cycle_start_s) / p->cycle_step_s);
  assert_true(p->cycle_db[0][s1] > 20 && fabs((double)p->cycle_db[0][quiet]) < 6);
  assert_true(p->cycle_db[2][tone] > 20 && fabs((double)p->cycle_db[2][quiet]) < 6);
  for (int band = 0; band < GIRTHLINE_CYCLE_BANDS; band++)
    for (int bin = 0; bin < GIRTHLINE_CYCLE_BINS; bin++)
      assert_true(p->cycle_lo_db[band][bin] <= p->cycle_db[band][bin] && p->cycle_db[band][bin] <= p->cycle_hi_db[band][bin]);
  girthline_result_free(r);
  heart_free(h);
}

// 30 ms in every beat, at a place in systole, behind S2, and ahead of the next S1.
static void a_short_sound_stands_at_its_time_in_the_average_cycle(void **state) {
  (void)state;
  static const double AT_S[] = {0.20, 0.50, 0.80};
  for (size_t k = 0; k < sizeof AT_S / sizeof *AT_S; k++) {
    heart *h = heart_new(2000, 25, 0.9, 0.33);
    for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s + AT_S[k], 0.03, 320, 0.03);
    girthline_result *r = analyse(h);
    const girthline_pictures *p = &r->pictures;
    int loudest = 0;
    for (int bin = 1; bin < GIRTHLINE_CYCLE_BINS; bin++)
      if (p->cycle_db[3][bin] > p->cycle_db[3][loudest]) loudest = bin;
    assert_near(p->cycle_start_s + (loudest + 0.5) * p->cycle_step_s, AT_S[k] + 0.015, 0.015);
    girthline_result_free(r);
    heart_free(h);
  }
}

static void refused_memory_is_reported_wherever_it_strikes(void **state) {
  (void)state;
  heart *h = heart_new(1000, 8, 0.9, 0.33);
  heart_murmur(h, 0.09, 0.33, 200, -6);
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  bool through = false;
  size_t k = 1;
  for (; !through && k < 2000; k++) {
    girthline_result *r = gn_result_new();
    gn_memory_refuse(k);
    gn_murmur *m = gn_murmur_new(profile(), h->fs_hz);
    girthline_status status = m ? gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0) : GIRTHLINE_NO_MEMORY;
    if (status == GIRTHLINE_OK) status = gn_murmur_finish(m, r);
    gn_memory_refuse(0);
    assert_true(status == GIRTHLINE_OK || status == GIRTHLINE_NO_MEMORY);
    through = status == GIRTHLINE_OK;
    gn_murmur_free(m);
    girthline_result_free(r);
  }
  assert_true(through && k > 20);
  gn_murmur_free(NULL);
  heart_free(h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_tone_through_systole_is_found_with_its_closed_form_level),
      cmocka_unit_test(loudness_words_change_at_six_decibels),
      cmocka_unit_test(a_heart_without_one_has_none),
      cmocka_unit_test(a_breath_that_does_not_repeat_is_not_a_murmur),
      cmocka_unit_test(a_murmur_is_found_under_breaths),
      cmocka_unit_test(early_and_late_murmurs_are_named),
      cmocka_unit_test(a_murmur_in_each_phase_is_two_entries_loudest_first),
      cmocka_unit_test(a_murmur_as_low_as_the_sounds_is_found_by_how_long_it_lasts),
      cmocka_unit_test(a_third_and_a_fourth_sound_are_not_murmurs),
      cmocka_unit_test(a_low_murmur_that_runs_into_the_first_sound_is_found),
      cmocka_unit_test(a_gain_that_comes_back_between_the_sounds_is_not_a_murmur),
      cmocka_unit_test(the_level_is_that_of_the_whole_span_whatever_the_shape),
      cmocka_unit_test(gain_times_ten_changes_nothing),
      cmocka_unit_test(another_rate_changes_little),
      cmocka_unit_test(windows_with_overlap_give_what_the_whole_gives),
      cmocka_unit_test(nothing_heard_is_unknown_with_reasons),
      cmocka_unit_test(silence_a_constant_and_nan_are_never_a_murmur),
      cmocka_unit_test(clipping_does_not_hide_a_murmur),
      cmocka_unit_test(spoilt_spans_are_left_out),
      cmocka_unit_test(two_whole_beats_will_do_and_fewer_say_so),
      cmocka_unit_test(what_is_soft_over_a_background_takes_more_than_a_few_beats),
      cmocka_unit_test(a_phase_without_a_quiet_part_is_told_of_in_words),
      cmocka_unit_test(noise_raises_the_limit_until_none_cannot_be_said),
      cmocka_unit_test(a_long_recording_keeps_an_even_choice),
      cmocka_unit_test(the_average_cycle_shows_the_sounds_where_they_are),
      cmocka_unit_test(a_short_sound_stands_at_its_time_in_the_average_cycle),
      cmocka_unit_test(refused_memory_is_reported_wherever_it_strikes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
