// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "../murmur/heart.h"
#include "base/features.h"
#include "base/memory.h"
#include "base/result.h"
#include "segment/extra.h"

static const girthline_profile *profile(void) {
  static girthline_profile store;
  return girthline_profile_of(GIRTHLINE_HORSE, -1, &store);
}

static const girthline_extra_limits *limits(void) {
  static girthline_limits store;
  store = girthline_limits_default();
  return &store.extra;
}

typedef struct outcome {
  gn_extra *x;
  girthline_result *result;
  const double *lone_s;
  size_t n_lone;
} outcome;

static girthline_status collect(gn_extra *x, const gn_signal *window, double from_s, double to_s, const heart *h, const girthline_span *spoilt, size_t n_spoilt) {
  gn_biquad bands[2][2];
  float *const band[2] = {test_calloc(window->n + 1, sizeof(float)), test_calloc(window->n + 1, sizeof(float))};
  gn_peaks seen = {0};
  gn_biquad_bandpass(bands[0], GN_LOW_FROM_HZ, GN_LOW_TO_HZ, window->fs_hz);
  gn_peaks_sharp_band(window->fs_hz, bands[1]);
  const gn_signal low = {band[0], window->n, window->fs_hz, window->start_s};
  bool refused = gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, 2, window->samples, band, window->n) || gn_peaks_init(&seen, window, &low, band[1]);
  if (!refused) refused = gn_extra_collect(x, &seen, from_s, to_s, h->beats, h->n_beats, spoilt, n_spoilt);
  gn_peaks_clear(&seen);
  test_free(band[0]);
  test_free(band[1]);
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

static outcome analyse_as(const girthline_profile *as, const heart *h, const girthline_span *spoilt, size_t n_spoilt) {
  outcome o = {.x = gn_extra_new(limits(), as), .result = gn_result_new()};
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  assert_int_equal(collect(o.x, &whole, 0, 1e9, h, spoilt, n_spoilt), GIRTHLINE_OK);
  assert_int_equal(gn_extra_finish(o.x, o.result, &o.lone_s, &o.n_lone), GIRTHLINE_OK);
  return o;
}

static outcome analyse(const heart *h, const girthline_span *spoilt, size_t n_spoilt) { return analyse_as(profile(), h, spoilt, n_spoilt); }

static void clear(outcome *o) {
  girthline_result_free(o->result);
  gn_extra_free(o->x);
}

static const girthline_extra *kind_of(const outcome *o, girthline_extra_kind kind) {
  for (size_t i = 0; i < o->result->n_extras; i++)
    if (o->result->extras[i].kind == kind) return &o->result->extras[i];
  return NULL;
}

static heart *slow(double fs_hz) { return heart_new(fs_hz, 16, 1.6, 0.48); }

// A low sound of 90 ms at this time after every S1.
static void add_low(heart *h, double after_s1_s, double share) {
  for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s + after_s1_s, 0.09, 35, share * HEART_AMPLITUDE);
}

static void a_heart_without_extra_sounds_has_none(void **state) {
  (void)state;
  heart *h = slow(2000);
  outcome o = analyse(h, NULL, 0);
  assert_int_equal(o.result->n_extras, 0);
  assert_int_equal(o.n_lone, 0);
  clear(&o);
  heart_free(h);
}

static void a_third_sound_is_found_where_it_is(void **state) {
  (void)state;
  const double rates_hz[] = {1000, 2000, 3000};
  for (int k = 0; k < 3; k++) {
    heart *h = slow(rates_hz[k]);
    add_low(h, 0.48 + 0.16, 0.2);
    outcome o = analyse(h, NULL, 0);
    const girthline_extra *s3 = kind_of(&o, GIRTHLINE_EXTRA_S3);
    assert_non_null(s3);
    assert_int_equal(o.result->n_extras, 1);
    assert_near(s3->delay_s, 0.16, 0.02);
    assert_near(s3->beats_fraction, 1, 0.1);
    assert_true(s3->n_onsets >= 14);
    for (size_t i = 0; i < s3->n_onsets; i++) assert_near(s3->onsets_s[i], h->beats[i].s2_onset_s + 0.16, 0.02);
    clear(&o);
    heart_free(h);
  }
}

static void a_fourth_sound_is_found_where_it_is(void **state) {
  (void)state;
  heart *h = slow(2000);
  add_low(h, 1.6 - 0.2, 0.2);
  outcome o = analyse(h, NULL, 0);
  const girthline_extra *s4 = kind_of(&o, GIRTHLINE_EXTRA_S4);
  assert_non_null(s4);
  assert_near(s4->delay_s, 0.2, 0.02);
  assert_true(s4->level_db < -3 && s4->level_db > -25);
  assert_true(s4->confidence > 0.5 && s4->confidence <= 1);
  assert_null(kind_of(&o, GIRTHLINE_EXTRA_S3));
  clear(&o);
  heart_free(h);
}

// The next S1 comes up to 20 ms sooner or later. at_s: after S2, or, where that is negative, before the next S1.
static heart *fast(double at_s) {
  static const double MOVED_S[] = {0, 0.012, -0.016, 0.004, 0.018, -0.01, -0.018, 0.008, 0.016, -0.004};
  heart *h = heart_new(2000, 24, 0.8, 0.3);
  double s1_s = h->beats[0].s1_onset_s;
  memset(h->x, 0, h->n * sizeof *h->x);
  heart_noise(h, 0, 1e9, 0.0005, 1);
  for (size_t i = 0; i < h->n_beats; i++) {
    girthline_beat *b = &h->beats[i];
    b->s1_onset_s = s1_s;
    b->s2_onset_s = s1_s + 0.3;
    s1_s += 0.62 + MOVED_S[i % 10];
    heart_tone(h, b->s1_onset_s, 0.08, 50, HEART_AMPLITUDE);
    heart_tone(h, b->s2_onset_s, 0.06, 70, 0.7 * HEART_AMPLITUDE);
    heart_tone(h, at_s > 0 ? b->s2_onset_s + at_s : s1_s + at_s, 0.07, 35, 0.3 * HEART_AMPLITUDE);
  }
  return h;
}

static void one_sound_in_a_short_diastole_has_one_name(void **state) {
  (void)state;
  for (int fourth = 0; fourth < 2; fourth++) {
    heart *h = fast(fourth ? -0.16 : 0.16);
    outcome o = analyse(h, NULL, 0);
    assert_int_equal(o.result->n_extras, 1);
    assert_non_null(kind_of(&o, fourth ? GIRTHLINE_EXTRA_S4 : GIRTHLINE_EXTRA_S3));
    assert_near(o.result->extras[0].delay_s, 0.16, 0.02);
    assert_true(o.result->extras[0].confidence > 0.6);
    clear(&o);
    heart_free(h);
  }
}

static void a_click_is_found_and_a_long_murmur_is_not_one(void **state) {
  (void)state;
  heart *h = slow(2000);
  for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s + 0.28, 0.022, 150, 0.3 * HEART_AMPLITUDE);
  outcome o = analyse(h, NULL, 0);
  const girthline_extra *click = kind_of(&o, GIRTHLINE_CLICK);
  assert_non_null(click);
  assert_near(click->delay_s, 0.28, 0.02);
  clear(&o);
  heart_free(h);
  h = slow(2000);
  heart_murmur(h, 0.2, 0.42, 150, -6);
  o = analyse(h, NULL, 0);
  assert_null(kind_of(&o, GIRTHLINE_CLICK));
  clear(&o);
  heart_free(h);
}

// A click comes sooner and later as the heart fills: in a long systole by more.
static void a_click_that_moves_a_little_is_found(void **state) {
  (void)state;
  static const double STEPS_S[] = {0.009, 0.030};
  for (size_t k = 0; k < 2; k++) {
    heart *h = slow(2000);
    for (size_t i = 0; i < h->n_beats; i++)
      heart_tone(h, h->beats[i].s1_onset_s + 0.28 + STEPS_S[k] * ((double)(i % 5) - 2), 0.022, 150, 0.3 * HEART_AMPLITUDE);
    outcome o = analyse(h, NULL, 0);
    assert_true((kind_of(&o, GIRTHLINE_CLICK) != NULL) == (k == 0));
    clear(&o);
    heart_free(h);
  }
}

// Loudest so long before S2, of a systole of 0.48 s and of a cat's of 0.15 s.
static void a_click_is_found_up_to_what_is_s2_s_own(void **state) {
  (void)state;
  static const struct { bool cat; double before_s; bool found; } CASES[] = {{false, 0.06, true}, {false, 0.035, false}, {true, 0.04, true}, {true, 0.022, false}};
  girthline_profile store;
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    const double systole_s = CASES[k].cat ? 0.15 : 0.48;
    heart *h = heart_new(2000, 24, CASES[k].cat ? 0.4 : 1.6, systole_s);
    memset(h->x, 0, h->n * sizeof *h->x);
    heart_noise(h, 0, 1e9, 0.0002, 1);
    for (size_t i = 0; i < h->n_beats; i++) {
      const girthline_beat *b = &h->beats[i];
      heart_tone(h, b->s1_onset_s, 0.04, 60, HEART_AMPLITUDE);
      heart_tone(h, b->s2_onset_s, 0.03, 80, HEART_AMPLITUDE);
      heart_tone(h, b->s2_onset_s - CASES[k].before_s - 0.005, 0.01, 250, 0.7 * HEART_AMPLITUDE);
    }
    outcome o = analyse_as(girthline_profile_of(CASES[k].cat ? GIRTHLINE_CAT : GIRTHLINE_HORSE, -1, &store), h, NULL, 0);
    assert_true((kind_of(&o, GIRTHLINE_CLICK) != NULL) == CASES[k].found);
    clear(&o);
    heart_free(h);
  }
}

static void a_split_second_sound_is_found_with_its_components_apart(void **state) {
  (void)state;
  heart *h = slow(2000);
  for (size_t i = 0; i < h->n; i++) h->x[i] = 0;
  heart_noise(h, 0, 1e9, 0.0005, 1);
  for (size_t i = 0; i < h->n_beats; i++) {
    heart_tone(h, h->beats[i].s1_onset_s, HEART_S1_S, 70, HEART_AMPLITUDE);
    heart_tone(h, h->beats[i].s2_onset_s, 0.03, 90, HEART_AMPLITUDE);
    heart_tone(h, h->beats[i].s2_onset_s + 0.05, 0.03, 90, 0.7 * HEART_AMPLITUDE);
  }
  outcome o = analyse(h, NULL, 0);
  const girthline_extra *split = kind_of(&o, GIRTHLINE_SPLIT_S2);
  assert_non_null(split);
  assert_near(split->delay_s, 0.05, 0.01);
  assert_null(kind_of(&o, GIRTHLINE_SPLIT_S1));
  clear(&o);
  heart_free(h);
}

// A sound after every S2 onset that is louder in some beats than in others.
static outcome with_moving(double after_s2_s, double length_s) {
  heart *h = slow(2000);
  gn_random r = gn_random_of(11);
  for (size_t i = 0; i < h->n_beats; i++) {
    const double share = 0.1 + 0.4 * gn_random_uniform(&r);
    heart_tone(h, h->beats[i].s2_onset_s + after_s2_s, length_s, 100, share * HEART_AMPLITUDE);
  }
  const outcome o = analyse(h, NULL, 0);
  heart_free(h);
  return o;
}

static void what_sets_in_after_a_sound_is_its_second_component_and_what_lasts_is_not(void **state) {
  (void)state;
  outcome component = with_moving(0.042, 0.05), murmur = with_moving(0.021, 0.14);
  assert_non_null(kind_of(&component, GIRTHLINE_SPLIT_S2));
  assert_null(kind_of(&murmur, GIRTHLINE_SPLIT_S2));
  clear(&component);
  clear(&murmur);
}

// A heart with S4 whose ninth beat drops: its sounds are silenced, its S4 stays, and before_s ahead of that is a sound of such a share.
static double with_dropped_beat(outcome *o, double before_s, double share) {
  heart *h = slow(2000);
  add_low(h, 1.6 - 0.2, 0.2);
  const double dropped_s = h->beats[8].s1_onset_s;
  for (size_t i = (size_t)((dropped_s - 0.02) * h->fs_hz); i < (size_t)((dropped_s + 0.62) * h->fs_hz); i++) h->x[i] = 0;
  heart_noise(h, dropped_s - 0.02, 0.64, 0.0005, 9);
  for (size_t i = 8; i + 1 < h->n_beats; i++) h->beats[i] = h->beats[i + 1];
  h->n_beats--;
  heart_tone(h, dropped_s - 0.2 - before_s, 0.08, 35, share * HEART_AMPLITUDE);
  *o = analyse(h, NULL, 0);
  heart_free(h);
  return dropped_s - 0.2;
}

static void an_atrial_sound_alone_in_a_pause_is_listed(void **state) {
  (void)state;
  outcome o;
  const double at_s = with_dropped_beat(&o, 0.1, 0);
  assert_int_equal(o.n_lone, 1);
  assert_near(o.lone_s[0], at_s, 0.03);
  clear(&o);
}

// Softer sounds before it are found first where the stretch that is searched ends between the two.
static void a_softer_sound_just_before_an_atrial_one_does_not_take_its_place(void **state) {
  (void)state;
  for (double before_s = 0.09; before_s < 0.15; before_s += 0.01) {
    outcome o;
    const double at_s = with_dropped_beat(&o, before_s, 0.1);
    assert_int_equal(o.n_lone, 1);
    assert_near(o.lone_s[0], at_s, 0.03);
    clear(&o);
  }
}

static void what_is_far_softer_than_the_first_sound_is_no_third_or_fourth_one(void **state) {
  (void)state;
  for (int soft = 0; soft < 2; soft++) {
    heart *h = slow(2000);
    const double share = soft ? 0.015 : 0.2; // its own band holds less of S1
    add_low(h, 0.48 + 0.16, share);
    add_low(h, 1.6 - 0.2, share);
    outcome o = analyse(h, NULL, 0);
    assert_int_equal(kind_of(&o, GIRTHLINE_EXTRA_S3) != NULL, !soft);
    assert_int_equal(kind_of(&o, GIRTHLINE_EXTRA_S4) != NULL, !soft);
    clear(&o);
    heart_free(h);
  }
}

static void sounds_strewn_at_random_are_not_claimed(void **state) {
  (void)state;
  heart *h = slow(2000);
  gn_random r = gn_random_of(3);
  for (size_t i = 0; i < h->n_beats; i++)
    heart_tone(h, h->beats[i].s2_onset_s + 0.12 + 0.8 * gn_random_uniform(&r), 0.08, 35, 0.2 * HEART_AMPLITUDE);
  outcome o = analyse(h, NULL, 0);
  assert_int_equal(o.result->n_extras, 0);
  clear(&o);
  heart_free(h);
}

static void gain_times_ten_and_windows_change_nothing(void **state) {
  (void)state;
  heart *h = slow(2000);
  add_low(h, 0.48 + 0.16, 0.2);
  outcome whole = analyse(h, NULL, 0);
  for (size_t i = 0; i < h->n; i++) h->x[i] *= 10;
  outcome parts = {.x = gn_extra_new(limits(), profile()), .result = gn_result_new()};
  const size_t cut = h->n / 2;
  const double cut_s = (double)cut / h->fs_hz;
  const gn_signal first = {h->x, cut + 6000, h->fs_hz, 0}, second = {h->x + cut - 6000, h->n - cut + 6000, h->fs_hz, cut_s - 3};
  assert_int_equal(collect(parts.x, &first, 0, cut_s, h, NULL, 0), GIRTHLINE_OK);
  assert_int_equal(collect(parts.x, &second, cut_s, 1e9, h, NULL, 0), GIRTHLINE_OK);
  assert_int_equal(gn_extra_finish(parts.x, parts.result, &parts.lone_s, &parts.n_lone), GIRTHLINE_OK);
  assert_int_equal(whole.result->n_extras, parts.result->n_extras);
  assert_near(whole.result->extras[0].delay_s, parts.result->extras[0].delay_s, 0.003);
  assert_near(whole.result->extras[0].level_db, parts.result->extras[0].level_db, 0.1);
  clear(&whole);
  clear(&parts);
  heart_free(h);
}

static void nothing_silence_and_nan_give_nothing(void **state) {
  (void)state;
  const float fills[] = {0, 0.5f, NAN};
  for (int k = 0; k < 3; k++) {
    heart *h = slow(2000);
    for (size_t i = 0; i < h->n; i++) h->x[i] = fills[k];
    outcome o = analyse(h, NULL, 0);
    assert_int_equal(o.result->n_extras, 0);
    clear(&o);
    h->n = k == 0 ? 0 : 1;
    o = analyse(h, NULL, 0);
    assert_int_equal(o.result->n_extras, 0);
    clear(&o);
    h->n_beats = 0;
    o = analyse(h, NULL, 0);
    assert_int_equal(o.result->n_extras, 0);
    clear(&o);
    heart_free(h);
  }
}

static void spoilt_spans_are_left_out(void **state) {
  (void)state;
  heart *h = slow(2000);
  add_low(h, 0.48 + 0.16, 0.2);
  const girthline_span all = {0, 1000};
  outcome o = analyse(h, &all, 1);
  assert_int_equal(o.result->n_extras, 0);
  clear(&o);
  heart_free(h);
}

static void refused_memory_is_reported_wherever_it_strikes(void **state) {
  (void)state;
  heart *h = slow(1000);
  add_low(h, 1.6 - 0.2, 0.2);
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  bool through = false;
  size_t k = 1;
  for (; !through && k < 200; k++) {
    girthline_result *r = gn_result_new();
    const double *lone_s;
    size_t n_lone;
    gn_memory_refuse(k);
    gn_extra *x = gn_extra_new(limits(), profile());
    girthline_status status = x ? collect(x, &whole, 0, 1e9, h, NULL, 0) : GIRTHLINE_NO_MEMORY;
    if (status == GIRTHLINE_OK) status = gn_extra_finish(x, r, &lone_s, &n_lone);
    gn_memory_refuse(0);
    assert_true(status == GIRTHLINE_OK || status == GIRTHLINE_NO_MEMORY);
    through = status == GIRTHLINE_OK;
    gn_extra_free(x);
    girthline_result_free(r);
  }
  assert_true(through && k > 8);
  gn_extra_free(NULL);
  heart_free(h);
}

/// Ten beats of diastoles of 0.6 s, with an S3, an S4 and a click; and a murmur over this part of a phase.
static girthline_result *with_murmur(girthline_phase phase, girthline_timing timing, double from, double to) {
  girthline_result *r = gn_result_new();
  r->beats = gn_new(10, sizeof *r->beats);
  r->n_beats = 10;
  for (size_t i = 0; i < 10; i++) r->beats[i] = (girthline_beat){.s1_onset_s = (double)i, .s2_onset_s = (double)i + 0.4};
  r->extras = gn_new(3, sizeof *r->extras);
  r->n_extras = 3;
  r->extras[0] = (girthline_extra){.kind = GIRTHLINE_EXTRA_S3, .delay_s = 0.18, .onsets_s = gn_new(1, sizeof(double))}; // at 0.3 of diastole
  r->extras[1] = (girthline_extra){.kind = GIRTHLINE_EXTRA_S4, .delay_s = 0.12, .onsets_s = gn_new(1, sizeof(double))}; // at 0.8
  r->extras[2] = (girthline_extra){.kind = GIRTHLINE_CLICK, .delay_s = 0.7, .onsets_s = gn_new(1, sizeof(double))};
  r->murmur.n_phases = 1;
  r->murmur.phases[0] = (girthline_murmur_phase){.phase = phase, .timing = timing, .start_fraction = from, .end_fraction = to};
  return r;
}

static void a_third_or_fourth_sound_within_a_murmur_in_mid_diastole_is_part_of_it(void **state) {
  (void)state;
  static const struct { girthline_phase phase; girthline_timing timing; double from, to; size_t left; girthline_extra_kind first; } CASES[] = {
      {GIRTHLINE_DIASTOLE, GIRTHLINE_MID, 0.31, 0.65, 2, GIRTHLINE_EXTRA_S4}, {GIRTHLINE_DIASTOLE, GIRTHLINE_MID, 0.25, 0.9, 1, GIRTHLINE_CLICK},
      {GIRTHLINE_DIASTOLE, GIRTHLINE_MID, 0.4, 0.7, 3, GIRTHLINE_EXTRA_S3},   {GIRTHLINE_DIASTOLE, GIRTHLINE_HOLO, 0, 0.9, 3, GIRTHLINE_EXTRA_S3},
      {GIRTHLINE_SYSTOLE, GIRTHLINE_MID, 0.2, 0.9, 3, GIRTHLINE_EXTRA_S3}};
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    girthline_result *r = with_murmur(CASES[k].phase, CASES[k].timing, CASES[k].from, CASES[k].to);
    gn_memory_refuse(1);
    assert_int_equal(gn_extra_leave_murmurs(r), GIRTHLINE_NO_MEMORY);
    gn_memory_refuse(0);
    assert_int_equal(r->n_extras, 3);
    assert_int_equal(gn_extra_leave_murmurs(r), GIRTHLINE_OK);
    assert_int_equal(r->n_extras, CASES[k].left);
    assert_int_equal(r->extras[0].kind, CASES[k].first);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_heart_without_extra_sounds_has_none),
      cmocka_unit_test(a_third_sound_is_found_where_it_is),
      cmocka_unit_test(a_fourth_sound_is_found_where_it_is),
      cmocka_unit_test(one_sound_in_a_short_diastole_has_one_name),
      cmocka_unit_test(a_click_is_found_and_a_long_murmur_is_not_one),
      cmocka_unit_test(a_click_that_moves_a_little_is_found),
      cmocka_unit_test(a_click_is_found_up_to_what_is_s2_s_own),
      cmocka_unit_test(a_split_second_sound_is_found_with_its_components_apart),
      cmocka_unit_test(what_sets_in_after_a_sound_is_its_second_component_and_what_lasts_is_not),
      cmocka_unit_test(an_atrial_sound_alone_in_a_pause_is_listed),
      cmocka_unit_test(a_softer_sound_just_before_an_atrial_one_does_not_take_its_place),
      cmocka_unit_test(what_is_far_softer_than_the_first_sound_is_no_third_or_fourth_one),
      cmocka_unit_test(sounds_strewn_at_random_are_not_claimed),
      cmocka_unit_test(gain_times_ten_and_windows_change_nothing),
      cmocka_unit_test(nothing_silence_and_nan_give_nothing),
      cmocka_unit_test(spoilt_spans_are_left_out),
      cmocka_unit_test(a_third_or_fourth_sound_within_a_murmur_in_mid_diastole_is_part_of_it),
      cmocka_unit_test(refused_memory_is_reported_wherever_it_strikes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
