// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "whole.h"

static double cv_of(const double *x, size_t n) {
  double mean = 0, square = 0;
  for (size_t i = 0; i < n; i++) mean += x[i] / (double)n;
  for (size_t i = 0; i < n; i++) square += (x[i] - mean) * (x[i] - mean) / (double)(n - 1);
  return sqrt(square) / mean;
}

static whole *long_rhythm(gn_synth_rhythm_kind kind) {
  gn_synth_spec spec = usual();
  spec.rhythm = kind;
  spec.bpm = 40;
  spec.seconds = 900;
  spec.rate_hz = 1600;
  return made(&spec);
}

static void a_regular_rhythm_varies_by_about_one_per_cent(void **state) {
  (void)state;
  whole *w = long_rhythm(GN_SYNTH_REGULAR);
  const double cv = cv_of(w->facts.intervals_s, w->facts.n_intervals);
  assert_true(cv > 0.007 && cv < 0.02);
  assert_near((double)w->facts.n_intervals, 600, 8);
  done(w);
}

static void a_cyclic_rhythm_swings_by_eight_to_twelve_per_cent(void **state) {
  (void)state;
  whole *w = long_rhythm(GN_SYNTH_CYCLIC);
  const double cv = cv_of(w->facts.intervals_s, w->facts.n_intervals); // amplitude over the square root of two
  assert_true(cv > 0.05 && cv < 0.09);
  done(w);
}

static void pauses_come_every_three_to_eight_beats_and_last_two_intervals(void **state) {
  (void)state;
  whole *w = long_rhythm(GN_SYNTH_PAUSES);
  size_t since = 0, found = 0;
  for (size_t i = 0; i < w->facts.n_intervals; i++, since++) {
    if (w->facts.intervals_s[i] < 2.2) {
      assert_near(w->facts.intervals_s[i], 1.5, 0.12);
      continue;
    }
    assert_near(w->facts.intervals_s[i], 2.95, 0.20);
    assert_true(since >= 3 && since <= 8 + 1);
    since = 0;
    found++;
  }
  assert_int_equal(found, w->facts.n_pauses);
  assert_true(found > 60);
  done(w);
}

static void early_beats_couple_at_0_55_to_0_8(void **state) {
  (void)state;
  whole *w = long_rhythm(GN_SYNTH_EARLY_BEATS);
  size_t early = 0;
  for (size_t i = 0; i < w->facts.n_intervals; i++) early += w->facts.intervals_s[i] < 1.25;
  assert_near((double)early, (double)w->facts.n_early, 1);
  assert_true(early > 40);
  for (size_t i = 0; i < w->facts.n_intervals; i++) assert_true(w->facts.intervals_s[i] > 0.53 * 1.5 && w->facts.intervals_s[i] < 1.5 * 1.52);
  done(w);
}

static void an_irregular_rhythm_has_no_pattern(void **state) {
  (void)state;
  whole *w = long_rhythm(GN_SYNTH_IRREGULAR);
  const double *x = w->facts.intervals_s;
  const size_t n = w->facts.n_intervals;
  const double cv = cv_of(x, n);
  assert_true(cv > 0.16 && cv < 0.31);
  // Turning points of a random series: 2 (n - 2) / 3, variance (16 n - 29) / 90 (Kendall).
  size_t turns = 0;
  for (size_t i = 1; i + 1 < n; i++) turns += (x[i] > x[i - 1]) == (x[i] > x[i + 1]);
  assert_near((double)turns, 2 * ((double)n - 2) / 3, 4 * sqrt((16 * (double)n - 29) / 90));
  done(w);
}

static void no_beat_comes_before_the_heart_has_refilled(void **state) {
  (void)state;
  static const struct { girthline_species species; double bpm; gn_synth_rhythm_kind rhythm; } CASES[] = {
      {GIRTHLINE_DOG, 180, GN_SYNTH_IRREGULAR}, {GIRTHLINE_HORSE, 110, GN_SYNTH_IRREGULAR}, {GIRTHLINE_CAT, 240, GN_SYNTH_EARLY_BEATS}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    gn_synth_spec spec = usual();
    spec.species = CASES[i].species;
    spec.bpm = CASES[i].bpm;
    spec.rhythm = CASES[i].rhythm;
    spec.seconds = 600;
    spec.rate_hz = 1600;
    whole *w = made(&spec);
    for (size_t k = 0; k < w->facts.n_intervals; k++) assert_true(w->facts.intervals_s[k] > 0.49 * 60 / CASES[i].bpm);
    for (size_t k = 0; k + 2 < w->n_sounds; k += 2) {
      const double systole_s = w->sounds[k + 1].onset_s - w->sounds[k].onset_s;
      assert_true(systole_s < 0.73 * (w->sounds[k + 2].onset_s - w->sounds[k].onset_s));
    }
    done(w);
  }
}

static void the_second_sound_is_softer_after_an_early_beat(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  spec.rhythm = GN_SYNTH_EARLY_BEATS;
  spec.bpm = 40;
  spec.seconds = 200;
  spec.snr_db = 80;
  whole *w = made(&spec);
  double usual_sum = 0, early_sum = 0, usual_n = 0, early_n = 0;
  for (size_t k = 2; k + 1 < w->n_sounds; k += 2) {
    const double interval_s = w->sounds[k].onset_s - w->sounds[k - 2].onset_s;
    const double size = largest(w, w->sounds[k + 1].onset_s, w->sounds[k + 1].end_s);
    if (interval_s < 1.25) early_sum += size, early_n++;
    else usual_sum += size, usual_n++;
  }
  assert_true(early_n > 5 && usual_n > 50);
  assert_true(early_sum / early_n < 0.85 * usual_sum / usual_n);
  done(w);
}

static void a_settling_recording_slows_to_the_rate_asked_for(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  spec.settle_percent = 40;
  spec.bpm = 40;
  spec.seconds = 90;
  whole *w = made(&spec);
  assert_true(60 / w->facts.intervals_s[0] > 48);
  assert_near(60 / w->facts.intervals_s[w->facts.n_intervals - 1], 40, 2);
  done(w);
}

static void a_fourth_sound_stands_alone_in_a_pause(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  spec.rhythm = GN_SYNTH_PAUSES;
  spec.s4 = true;
  spec.pause_beats = 2;
  whole *w = made(&spec);
  assert_true(w->facts.n_pauses > 0);
  size_t in_pause = 0;
  for (size_t k = 0; k < w->n_sounds; k++)
    in_pause += w->sounds[k].number == 4 && w->sounds[k].onset_s > w->facts.pauses[0].start_s && w->sounds[k].onset_s < w->facts.pauses[0].end_s;
  assert_int_equal(in_pause, 3); // two of dropped beats, one of the beat that ends the pause
  done(w);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_regular_rhythm_varies_by_about_one_per_cent),
      cmocka_unit_test(a_cyclic_rhythm_swings_by_eight_to_twelve_per_cent),
      cmocka_unit_test(pauses_come_every_three_to_eight_beats_and_last_two_intervals),
      cmocka_unit_test(early_beats_couple_at_0_55_to_0_8),
      cmocka_unit_test(an_irregular_rhythm_has_no_pattern),
      cmocka_unit_test(no_beat_comes_before_the_heart_has_refilled),
      cmocka_unit_test(the_second_sound_is_softer_after_an_early_beat),
      cmocka_unit_test(a_settling_recording_slows_to_the_rate_asked_for),
      cmocka_unit_test(a_fourth_sound_stands_alone_in_a_pause),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
