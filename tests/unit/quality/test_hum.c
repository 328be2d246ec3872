// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "heart.h"

static void add_tone_from(heart *h, double from_s, double hz, double amplitude) {
  for (size_t i = (size_t)(from_s * FS_HZ); i < h->n; i++) h->samples[i] += (float)(amplitude * gn_sin(2 * GN_PI * hz * (double)i / FS_HZ + 1));
}

static void add_tone(heart *h, double hz, double amplitude) { add_tone_from(h, 0, hz, amplitude); }

static gn_quality_hum heard(const heart *h) {
  gn_quality_hum hum = {.limits = heart_limits()};
  const gn_signal window = {h->samples, h->n, FS_HZ, 0};
  assert_int_equal(gn_quality_hum_add(&hum, &(gn_quality_cut){&window, &(gn_quality_spans){.n = 0}}), 0);
  return hum;
}

static double hum_with(const heart *h, const gn_quality_spans *spoilt, double beat_hz) {
  gn_quality_hum hum = {.limits = heart_limits()};
  const gn_signal window = {h->samples, h->n, FS_HZ, 0};
  assert_int_equal(gn_quality_hum_add(&hum, &(gn_quality_cut){&window, spoilt}), 0);
  return gn_quality_hum_hz(&hum, beat_hz);
}

static double hum_beside(const heart *h, const gn_quality_spans *spoilt) { return hum_with(h, spoilt, NAN); }

static double hum_of(const heart *h) { return hum_beside(h, &(gn_quality_spans){.n = 0}); }

static void a_line_is_found_within_a_tenth_of_a_hertz(void **state) {
  (void)state;
  const double hz[] = {50, 60, 49.8, 37.3, 120, 333.4};
  for (int i = 0; i < 6; i++) {
    heart h = heart_new(20, 1.6, 0.02);
    add_tone(&h, hz[i], 0.02);
    assert_near(hum_of(&h), hz[i], 0.1);
    heart_free(&h);
  }
}

static void the_hum_is_the_lowest_of_its_harmonics(void **state) {
  (void)state;
  heart h = heart_new(20, 1.6, 0.01);
  add_tone(&h, 50, 0.015);
  add_tone(&h, 100, 0.03);
  add_tone(&h, 150, 0.01);
  assert_near(hum_of(&h), 50, 0.1);
  heart_free(&h);
}

// The fundamental lies under the heart; two harmonics tell it.
static void a_hidden_fundamental_is_told_by_its_harmonics(void **state) {
  (void)state;
  heart h = heart_new(20, 1.6, 0.01);
  add_tone(&h, 180, 0.03);
  add_tone(&h, 300, 0.01);
  assert_near(hum_of(&h), 60, 0.1);
  heart_free(&h);
}

static void an_odd_multiple_of_the_mains_alone_tells_the_mains(void **state) {
  (void)state;
  const double line_hz[] = {150, 180, 250, 300, 100}, hum_hz[] = {50, 60, 50, 60, 100};
  for (int i = 0; i < 5; i++) {
    heart h = heart_new(20, 1.6, 0.01);
    add_tone(&h, line_hz[i], 0.03);
    assert_near(hum_of(&h), hum_hz[i], 0.1);
    heart_free(&h);
  }
}

// A third of the recording is lost; the rest hums.
static void a_lost_connection_does_not_hide_the_hum(void **state) {
  (void)state;
  heart h = heart_new(18, 1.6, 0.01);
  add_tone(&h, 50, 0.02);
  for (size_t i = (size_t)(5 * FS_HZ); i < (size_t)(11 * FS_HZ); i++) h.samples[i] *= 0.001f;
  gn_quality_spans lost = {.join_s = 0.1};
  assert_int_equal(gn_quality_spans_add(&lost, GIRTHLINE_DROPOUT, 5, 11), 0);
  assert_near(hum_beside(&h, &lost), 50, 0.1);
  gn_quality_spans_clear(&lost);
  heart_free(&h);
}

static void a_steady_heart_and_noise_have_no_hum(void **state) {
  (void)state;
  const double interval_s[] = {1.6, 0.75, 100};
  for (int i = 0; i < 3; i++) {
    heart h = heart_new(40, interval_s[i], 0.01);
    assert_near(hum_of(&h), 0, 0);
    heart_free(&h);
  }
}

// In a few seconds noise alone may hold a line for once: then it is not determined, and where it is, hardly ever wrong.
static void in_a_few_seconds_noise_makes_no_hum(void **state) {
  (void)state;
  int n_lines = 0, n = 0;
  for (double len_s = 3; len_s < 5; len_s += 0.25)
    for (uint64_t seed = 1; seed <= 40; seed++, n++) {
      heart h = heart_new(len_s, 0.75, 0);
      heart_noise(&h, 0, len_s, 0.01, seed);
      const double hz = hum_of(&h);
      n_lines += hz > 0;
      heart_free(&h);
    }
  if (n_lines > 2) fail_msg("%d lines in %d hearts", n_lines, n);
}

// A whistle of 300 ms in every systole keeps step with the heart: it is no hum.
static void a_musical_murmur_is_not_hum(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.01);
  for (size_t i = 0; i < h.n_beats; i++) heart_burst(&h, h.beats[i].s1_onset_s + 0.12, 0.3, 210, 0.1);
  assert_near(hum_of(&h), 0, 0);
  heart_free(&h);
}

static void too_little_sound_is_not_determined(void **state) {
  (void)state;
  heart h = heart_new(2, 1.6, 0.01);
  assert_true(isnan(hum_of(&h)));
  heart_free(&h);
}

// Half a second of a heart at 180 holds more than one beat: what repeats with it looks like a line at a multiple of 3 Hz.
static void a_multiple_of_a_fast_hearts_rate_is_no_hum_but_of_the_mains(void **state) {
  (void)state;
  const gn_quality_spans none = {.n = 0};
  const double hz[] = {36.1, 60, 37.5, 36.1}, beat_hz[] = {3, 3, 3, 0.6}, want_hz[] = {0, 60, 37.5, 36.1};
  for (int i = 0; i < 4; i++) {
    heart h = heart_new(20, 1.6, 0.01);
    add_tone(&h, hz[i], 0.03);
    assert_near(hum_with(&h, &none, beat_hz[i]), want_hz[i], 0.1);
    heart_free(&h);
  }
}

// Mains, a railway's 16.7 Hz, a generator, a ship's or an aircraft's 400 Hz; a lone low line may be the heart's own.
static void what_hums_is_told_with_what_it_is_a_multiple_of(void **state) {
  (void)state;
  static const struct { double lines_hz[5]; size_t n_families; double hz, times; } MADE[] = {
      {{50, 100}, 1, 50, 2},   {{150}, 1, 50, 3},  {{180, 300}, 1, 60, 5}, {{16.7, 33.4, 83.5}, 1, 16.7, 5}, {{52.3, 104.6}, 1, 52.3, 2},
      {{400}, 1, 400, 1}, {{38.9}, 0, 0, 0}, {{0}, 0, 0, 0},        {{38.9, 77.8}, 1, 38.9, 2},          {{50, 237}, 2, 237, 1},
      {{50, 100, 300}, 1, 50, 6}, {{37.5, 150}, 1, 50, 3}}; // and a line counts once: the lone one has none beside it
  for (size_t i = 0; i < sizeof MADE / sizeof *MADE; i++) {
    heart h = heart_new(20, 1.6, 0.01);
    for (size_t k = 0; k < 5 && MADE[i].lines_hz[k] > 0; k++) add_tone(&h, MADE[i].lines_hz[k], 0.03 + 0.01 * (double)k); // the last one is the strongest
    const gn_quality_hum hum = heard(&h);
    if (hum.n_families != MADE[i].n_families) fail_msg("row %zu: %zu families", i, hum.n_families);
    if (hum.n_families) {
      assert_near(hum.families[0].hz, MADE[i].hz, 0.05);
      assert_near(hum.families[0].multiple, MADE[i].times, 0);
    }
    heart_free(&h);
  }
}

// Rounding to 16 bits puts lines at its odd multiples, more than are kept, all of them far weaker.
static void a_tone_and_nothing_else_is_its_own_hum(void **state) {
  (void)state;
  static const double TONES_HZ[] = {50, 60, 37};
  for (size_t i = 0; i < 3; i++) {
    heart h = heart_new(20, 100, 0);
    for (size_t k = 0; k < h.n; k++) h.samples[k] = 0;
    add_tone(&h, TONES_HZ[i], 0.3);
    for (size_t k = 0; k < h.n; k++) h.samples[k] = roundf(32768 * h.samples[k]) / 32768;
    assert_near(hum_of(&h), TONES_HZ[i], 0.05);
    heart_free(&h);
  }
}

// Switched on after 28 or 20 of 40 s: it can be taken off there, and is no hum of the recording's; after 10 it is.
static void a_part_that_hums_is_told(void **state) {
  (void)state;
  static const struct { double from_s, hum_hz; } MADE[] = {{28, 0}, {20, 0}, {10, 60}};
  for (size_t i = 0; i < sizeof MADE / sizeof *MADE; i++) {
    heart h = heart_new(40, 1.6, 0.01);
    add_tone_from(&h, MADE[i].from_s, 60, 0.05);
    gn_quality_hum hum = heard(&h);
    assert_int_equal(hum.n_families, 1);
    assert_near(hum.families[0].hz, 60, 0.05);
    assert_near(gn_quality_hum_hz(&hum, NAN), MADE[i].hum_hz, 0.05);
    heart_free(&h);
  }
}

// The last 20 s of the longest window; and the last 10 s of a shorter one, whose parts are as long (choices of the stage).
static void a_part_that_hums_is_told_however_long_the_window(void **state) {
  (void)state;
  static const double LENGTH_S[] = {120, 40};
  for (int i = 0; i < 2; i++) {
    heart h = heart_new(LENGTH_S[i], 1.6, 0.01);
    assert_int_equal(heard(&h).n_families, 0);
    add_tone_from(&h, LENGTH_S[i] - (i ? 10 : 20), 50, 0.05);
    const gn_quality_hum hum = heard(&h);
    assert_int_equal(hum.n_families, 1);
    assert_near(hum.families[0].hz, 50, 0.1);
    heart_free(&h);
  }
}

// What is too short to look at leaves what was told before.
static void a_short_end_hums_as_the_window_before_it(void **state) {
  (void)state;
  heart h = heart_new(20, 1.6, 0.01);
  add_tone(&h, 50, 0.05);
  gn_quality_hum hum = heard(&h);
  const gn_signal end = {h.samples, (size_t)(2 * FS_HZ), FS_HZ, 20};
  assert_int_equal(gn_quality_hum_add(&hum, &(gn_quality_cut){&end, &(gn_quality_spans){.n = 0}}), 0);
  assert_int_equal(hum.n_families, 1);
  assert_near(hum.families[0].hz, 50, 0.05);
  heart_free(&h);
}

// The recording's last part is lost but for two seconds, too few to look for lines in.
static void a_part_that_was_lost_is_not_looked_at(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.01);
  add_tone(&h, 60, 0.05);
  for (size_t i = (size_t)(31 * FS_HZ); i < (size_t)(39 * FS_HZ); i++) h.samples[i] = 0;
  gn_quality_spans lost = {.join_s = 0.1};
  assert_int_equal(gn_quality_spans_add(&lost, GIRTHLINE_DROPOUT, 31, 39), 0);
  gn_quality_hum hum = {.limits = heart_limits()};
  const gn_signal window = {h.samples, h.n, FS_HZ, 0};
  assert_int_equal(gn_quality_hum_add(&hum, &(gn_quality_cut){&window, &lost}), 0);
  assert_near(hum.heard_s, 30, 1e-9);
  assert_near(gn_quality_hum_hz(&hum, NAN), 60, 0.05);
  gn_quality_spans_clear(&lost);
  heart_free(&h);
}

static bool holds(const gn_quality_hum *hum, double hz) {
  for (size_t i = 0; i < hum->lines.n; i++)
    if (fabs(hum->lines.items[i].hz - hz) < 0.1) return true;
  return false;
}

static void of_more_lines_than_are_kept_the_strongest_stay(void **state) {
  (void)state;
  heart h = heart_new(20, 1.6, 0.001);
  for (int k = 0; k < GN_QUALITY_LINES + 2; k++) add_tone(&h, 150 + 37 * k, 0.02);
  add_tone(&h, 851, 0.1);
  add_tone(&h, 903, 0.2);
  const gn_quality_hum hum = heard(&h);
  assert_int_equal(hum.lines.n, GN_QUALITY_LINES);
  assert_true(holds(&hum, 851) && holds(&hum, 903));
  heart_free(&h);
}

// In each minute other lines, and more of them than are kept; the one that stays comes last.
static void a_line_that_stays_is_kept_among_many_that_go(void **state) {
  (void)state;
  gn_quality_hum hum = {.limits = heart_limits()};
  for (int i = 0; i < 6; i++) {
    heart h = heart_new(60, 1.6, 0.001);
    if (i < 2) for (int k = 0; k < 9; k++) add_tone(&h, 230 + 40 * k + 7 * i, 0.03);
    else add_tone(&h, 180, 0.03), add_tone(&h, 120, 0.03);
    const gn_signal window = {h.samples, h.n, FS_HZ, 0};
    assert_int_equal(gn_quality_hum_add(&hum, &(gn_quality_cut){&window, &(gn_quality_spans){.n = 0}}), 0);
    heart_free(&h);
  }
  assert_near(gn_quality_hum_hz(&hum, NAN), 60, 0.1);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_multiple_of_a_fast_hearts_rate_is_no_hum_but_of_the_mains),
      cmocka_unit_test(a_line_is_found_within_a_tenth_of_a_hertz), cmocka_unit_test(the_hum_is_the_lowest_of_its_harmonics),
      cmocka_unit_test(a_hidden_fundamental_is_told_by_its_harmonics), cmocka_unit_test(an_odd_multiple_of_the_mains_alone_tells_the_mains),
      cmocka_unit_test(a_lost_connection_does_not_hide_the_hum),
      cmocka_unit_test(a_steady_heart_and_noise_have_no_hum),      cmocka_unit_test(in_a_few_seconds_noise_makes_no_hum),
      cmocka_unit_test(a_musical_murmur_is_not_hum),
      cmocka_unit_test(what_hums_is_told_with_what_it_is_a_multiple_of), cmocka_unit_test(a_part_that_hums_is_told),
      cmocka_unit_test(a_tone_and_nothing_else_is_its_own_hum),
      cmocka_unit_test(a_part_that_hums_is_told_however_long_the_window),
      cmocka_unit_test(a_short_end_hums_as_the_window_before_it),
      cmocka_unit_test(a_part_that_was_lost_is_not_looked_at),
      cmocka_unit_test(of_more_lines_than_are_kept_the_strongest_stay),
      cmocka_unit_test(a_line_that_stays_is_kept_among_many_that_go),
      cmocka_unit_test(too_little_sound_is_not_determined),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
