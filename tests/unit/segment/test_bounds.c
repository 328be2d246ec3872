// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <math.h>

#include "segment/bounds.h"

// Ten seconds from the recording's third on, at 2 kHz: the last sample lies at 12.9995 s.
static const gn_signal WINDOW = {NULL, 20000, 2000, 3};
static const double LAST_S = 12.9995;

enum { N = 4 };

// Beats two seconds apart, the first at 4 s, S2 half a second behind S1; each sound is loudest after 20 ms and lasts 90.
static void lay(girthline_beat beats[N]) {
  for (size_t i = 0; i < N; i++)
    beats[i] = (girthline_beat){.s1_onset_s = 4 + 2 * (double)i, .s2_onset_s = 4.5 + 2 * (double)i, .s1_peak_s = 0.02f, .s1_offset_s = 0.09f,
                                .s2_peak_s = 0.02f, .s2_offset_s = 0.09f, .confidence = 1, .unbroken = 1};
}

static void assert_no_s2(const girthline_beat *b) {
  assert_true(isnan(b->s2_onset_s) && isnan((double)b->s2_peak_s) && isnan((double)b->s2_offset_s));
}

static void beats_that_hold_stay_as_they_are(void **state) {
  (void)state;
  girthline_beat beats[N], as_laid[N];
  lay(beats);
  lay(as_laid);
  const girthline_span hidden[] = {{8.6, 9.9}, {5, 5.5}}; // between the sounds; in any order
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, hidden, 2), N);
  for (size_t i = 0; i < N; i++) {
    assert_true(beats[i].s1_onset_s == as_laid[i].s1_onset_s && beats[i].s2_onset_s == as_laid[i].s2_onset_s);
    assert_true(beats[i].s1_offset_s == 0.09f && beats[i].s2_offset_s == 0.09f && beats[i].s2_peak_s == 0.02f && beats[i].unbroken == 1);
  }
  assert_int_equal(gn_beats_bound(beats, 0, &WINDOW, NULL, 0), 0);
}

static void no_sound_lasts_into_the_next(void **state) {
  (void)state;
  girthline_beat beats[N];
  lay(beats);
  for (size_t i = 0; i < N; i++) beats[i].s1_offset_s = beats[i].s2_offset_s = 3, beats[i].s1_peak_s = beats[i].s2_peak_s = 2;
  beats[2].s1_onset_s = NAN;
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, NULL, 0), N);
  for (size_t i = 0; i < N; i++) {
    const double s2_lasts_s = i == 1 ? 2 : i + 1 < N ? 1.5 : LAST_S - 10.5; // the next is an S2; and the last one ends with the window
    if (i != 2) assert_near((double)beats[i].s1_offset_s, 0.5, 1e-6);
    assert_near((double)beats[i].s2_offset_s, s2_lasts_s, 1e-6);
    assert_true(beats[i].s1_peak_s <= beats[i].s1_offset_s && beats[i].s2_peak_s <= beats[i].s2_offset_s);
  }
}

static void a_sound_that_begins_behind_the_window_is_none(void **state) {
  (void)state;
  girthline_beat beats[N];
  lay(beats);
  beats[3].s1_onset_s = LAST_S - 0.01;
  beats[3].s2_onset_s = LAST_S + 0.001;
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, NULL, 0), N);
  assert_no_s2(&beats[3]);
  assert_near((double)beats[3].s1_offset_s, 0.01, 1e-6);
  assert_near((double)beats[3].s1_peak_s, 0.01, 1e-6);
  lay(beats);
  beats[3].s1_onset_s = LAST_S + 0.001;
  beats[3].s2_onset_s = NAN;
  beats[2].s2_offset_s = 5;
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, NULL, 0), N - 1);
  assert_near((double)beats[2].s2_offset_s, LAST_S - 8.5, 1e-6);
}

static void an_s2_moved_past_the_next_beat_is_none(void **state) {
  (void)state;
  girthline_beat beats[N];
  lay(beats);
  beats[1].s2_onset_s = beats[2].s1_onset_s + 0.06;
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, NULL, 0), N);
  assert_no_s2(&beats[1]);
  lay(beats);
  beats[1].s2_onset_s = beats[1].s1_onset_s - 0.01;
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, NULL, 0), N);
  assert_no_s2(&beats[1]);
  lay(beats);
  beats[0].s1_onset_s = NAN; // it has only that S2
  beats[0].s2_onset_s = beats[1].s1_onset_s + 0.06;
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, NULL, 0), N - 1);
  assert_true(beats[0].s1_onset_s == 6);
}

static void a_beat_whose_first_sound_is_hidden_is_left_out_and_breaks_the_row(void **state) {
  (void)state;
  girthline_beat beats[N];
  lay(beats);
  const girthline_span hidden[] = {{10.4, 10.6}, {7.9, 8.001}};
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, hidden, 2), N - 1);
  assert_true(beats[0].unbroken == 1 && beats[1].unbroken == GN_BROKEN && beats[2].s1_onset_s == 10);
  assert_no_s2(&beats[2]); // the other span hides it
  lay(beats);
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, &(girthline_span){4, 10.001}, 1), 0); // a span holds its start
  lay(beats);
  assert_int_equal(gn_beats_bound(beats, N, &WINDOW, &(girthline_span){3, 4}, 1), N); // and not its end
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(beats_that_hold_stay_as_they_are),
      cmocka_unit_test(no_sound_lasts_into_the_next),
      cmocka_unit_test(a_sound_that_begins_behind_the_window_is_none),
      cmocka_unit_test(an_s2_moved_past_the_next_beat_is_none),
      cmocka_unit_test(a_beat_whose_first_sound_is_hidden_is_left_out_and_breaks_the_row),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
