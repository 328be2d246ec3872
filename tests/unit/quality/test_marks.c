// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/memory.h"
#include "heart.h"

static const unsigned ANY = 0x3f, HANDLING = 1u << GIRTHLINE_HANDLING, DROPOUT = 1u << GIRTHLINE_DROPOUT;
static const unsigned NOTHING_HEARD = 1u << GIRTHLINE_NOISE | 1u << GIRTHLINE_NO_HEART_SOUND;

static gn_quality_spans mark(const heart *h) {
  gn_quality *q = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0);
  gn_quality_window *seen = gn_quality_window_new();
  assert_true(q && seen);
  const gn_signal w = {h->samples, h->n, FS_HZ, 0};
  const girthline_problem *problems;
  gn_quality_spans out = {.join_s = 0};
  size_t n;
  assert_int_equal(gn_quality_begin(q, seen, 0, (double)h->n / FS_HZ), GIRTHLINE_OK);
  assert_int_equal(gn_quality_mark(q, seen, &w, &problems, &n), GIRTHLINE_OK);
  for (size_t i = 0; i < n; i++) {
    assert_true(problems[i].span.start_s >= 0 && problems[i].span.end_s <= (double)h->n / FS_HZ + 1e-9);
    assert_true(i == 0 || problems[i].span.start_s >= problems[i - 1].span.start_s);
    gn_quality_spans_add(&out, problems[i].kind, problems[i].span.start_s, problems[i].span.end_s);
  }
  gn_quality_window_free(seen);
  gn_quality_free(q);
  return out;
}

static void a_clean_heart_has_no_marks(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.005);
  gn_quality_spans s = mark(&h);
  assert_int_equal(s.n, 0);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// Two beats: a third of the recording may hold none, and says nothing of what is usual.
static void a_few_seconds_of_a_clean_heart_have_no_marks(void **state) {
  (void)state;
  const double lengths_s[] = {3.6, 5.2, 7.2}, intervals_s[] = {1.6, 1.6, 3.4};
  for (int k = 0; k < 3; k++) {
    heart h = heart_new(lengths_s[k], intervals_s[k], 0.005);
    gn_quality_spans s = mark(&h);
    assert_near(marked_s(s.items, s.n, HANDLING, 0, lengths_s[k]), 0, 1e-9);
    gn_quality_spans_clear(&s);
    heart_free(&h);
  }
}

static void a_rub_is_marked_from_end_to_end(void **state) {
  (void)state;
  const double gains[] = {1, 10, 0.01};
  for (int g = 0; g < 3; g++) {
    heart h = heart_new(40, 1.6, 0.005);
    heart_noise(&h, 12, 12.6, 0.2, 3);
    for (size_t i = 0; i < h.n; i++) h.samples[i] *= (float)gains[g];
    gn_quality_spans s = mark(&h);
    assert_near(marked_s(s.items, s.n, HANDLING, 12, 12.6), 0.6, 0.01);
    assert_true(marked_s(s.items, s.n, ANY, 0, 40) < 1.0);
    gn_quality_spans_clear(&s);
    heart_free(&h);
  }
}

// After a pause, or in an irregular heart, one beat may be 5 dB louder than the others.
static void one_louder_beat_is_not_handling(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.005);
  heart_burst(&h, h.beats[10].s1_onset_s, 0.120, 45, 0.3 * 0.78);
  heart_burst(&h, h.beats[10].s2_onset_s, 0.085, 60, 0.2 * 0.78);
  gn_quality_spans s = mark(&h);
  assert_int_equal(s.n, 0);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// None of these reaches the limit that holds over all of the heart's bands together.
static void a_thump_or_rub_in_one_band_is_marked(void **state) {
  (void)state;
  const double sounds[][3] = {{18, 0.2, 0.5}, {95, 0.15, 0.4}, {180, 0.3, 0.2}, {600, 0.3, 0.2}}; // Hz, s, amplitude
  for (int k = 0; k < 4; k++) {
    heart h = heart_new(40, 1.6, 0.005);
    heart_burst(&h, 12.2, sounds[k][1], sounds[k][0], sounds[k][2]);
    gn_quality_spans s = mark(&h);
    assert_true(marked_s(s.items, s.n, HANDLING, 12.2, 12.2 + sounds[k][1]) > 0.9 * sounds[k][1]);
    assert_true(marked_s(s.items, s.n, ANY, 0, 40) < sounds[k][1] + 0.4);
    gn_quality_spans_clear(&s);
    heart_free(&h);
  }
}

// A rub in five of eight blocks of 3.4 s, each louder than any beat.
static void rubs_in_most_blocks_are_marked(void **state) {
  (void)state;
  const double at_s[] = {1.5, 5.2, 8.6, 12.0, 15.3};
  heart h = heart_new(30, 1.6, 0.005);
  for (int k = 0; k < 5; k++) heart_noise(&h, at_s[k], at_s[k] + 0.5, 1, (uint64_t)(20 + k));
  gn_quality_spans s = mark(&h);
  for (int k = 0; k < 5; k++) assert_near(marked_s(s.items, s.n, HANDLING, at_s[k], at_s[k] + 0.5), 0.5, 0.01);
  assert_true(marked_s(s.items, s.n, ANY, 0, 30) < 4.5);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

static void lost_signal_is_a_dropout_at_its_place(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.005);
  for (size_t i = 20000; i < 24000; i++) h.samples[i] *= 0.01f; // 10 to 12 s, 40 dB down
  gn_quality_spans s = mark(&h);
  assert_near(marked_s(s.items, s.n, DROPOUT, 10, 12), 2, 0.05);
  assert_true(marked_s(s.items, s.n, ANY, 0, 40) < 2.1);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// So much of it is lost that a low quantile of the whole would be the lost signal's own.
static void a_signal_lost_for_a_quarter_of_the_recording_is_a_dropout(void **state) {
  (void)state;
  heart h = heart_new(16, 1.6, 0.005);
  for (size_t i = 10000; i < 18000; i++) h.samples[i] *= 0.01f; // 5 to 9 s, 40 dB down
  gn_quality_spans s = mark(&h);
  assert_near(marked_s(s.items, s.n, DROPOUT, 5, 9), 4, 0.05);
  assert_true(marked_s(s.items, s.n, ANY, 0, 16) < 4.1);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// Where a dropped beat follows a lost connection, two in seven stretches hold no beat, and the heart is not too loud for that.
static void what_is_left_of_a_stretch_mostly_lost_does_not_make_beats_handling(void **state) {
  (void)state;
  heart h = heart_new(15, 1.68, 0.005);
  for (size_t i = 5400; i < 12300; i++) h.samples[i] *= 0.003f; // 2.7 to 6.15 s, 50 dB down
  gn_random r = gn_random_of(5);
  for (size_t i = 12300; i < 16600; i++) h.samples[i] = (float)(0.005 * gn_random_normal(&r)); // and no beat up to 8.3 s
  gn_quality_spans s = mark(&h);
  assert_near(marked_s(s.items, s.n, HANDLING, 0, 15), 0, 0);
  assert_near(marked_s(s.items, s.n, DROPOUT, 2.7, 6.15), 3.45, 0.05);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// What falls still at the end of each diastole, for over a quarter of the time, is no lost signal: a beat follows in time.
static void the_quiet_before_each_beat_is_no_dropout(void **state) {
  (void)state;
  heart h = heart_new(16, 1.6, 0.005);
  for (double beat_s = 1.6; beat_s < 16; beat_s += 1.6)
    for (size_t i = (size_t)((beat_s - 0.45) * 2000); i < (size_t)((beat_s - 0.01) * 2000); i++) h.samples[i] *= 0.01f;
  gn_quality_spans s = mark(&h);
  assert_near(marked_s(s.items, s.n, DROPOUT, 0, 16), 0, 0);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// A chest piece that is moved thumps below the heart's bands; a hand on the hair rustles above them.
static void a_thump_under_the_heart_and_a_rustle_over_it_are_marked(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.005);
  heart_burst(&h, 12.9, 0.25, 16, 0.25);
  heart_burst(&h, 20.9, 0.25, 330, 0.25);
  gn_quality_spans s = mark(&h);
  assert_true(marked_s(s.items, s.n, HANDLING, 12.9, 13.15) > 0.2);
  assert_true(marked_s(s.items, s.n, HANDLING, 20.9, 21.15) > 0.2);
  assert_true(marked_s(s.items, s.n, ANY, 0, 40) < 1.2);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// The heart still comes through a lost connection, 34 dB down, and stands above the quiet of a good recording's background there.
static void a_heart_heard_faintly_through_a_lost_connection_leaves_it_a_dropout(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.006);
  for (size_t i = 20000; i < 25000; i++) h.samples[i] *= 0.02f; // 10 to 12.5 s
  gn_quality_spans s = mark(&h);
  assert_near(marked_s(s.items, s.n, DROPOUT, 10, 12.5), 2.5, 0.1);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// The chest piece comes off between two beats and is put back 19 s later, a third of the recording: the span begins and ends there to within
// the step of a second or so, and the beats of the rest are not taken for handling because they stand out of that third.
static void a_heart_that_is_not_heard_for_a_while_is_marked_where_it_was(void **state) {
  (void)state;
  heart h = heart_new(60, 1.6, 0), quiet = heart_new(60, 100, 0.005);
  const double off_s = 20.4, on_s = 39.6;
  for (size_t i = 0; i < h.n; i++) h.samples[i] = (double)i / FS_HZ < off_s || (double)i / FS_HZ > on_s ? h.samples[i] + quiet.samples[i] : quiet.samples[i];
  gn_quality_spans s = mark(&h);
  assert_true(marked_s(s.items, s.n, NOTHING_HEARD, off_s, on_s) > on_s - off_s - 1);
  assert_true(marked_s(s.items, s.n, NOTHING_HEARD, 0, 60) < on_s - off_s + 2.5);
  assert_near(marked_s(s.items, s.n, ANY & ~NOTHING_HEARD, 0, 60), 0, 0.01);
  gn_quality_spans_clear(&s);
  heart_free(&h);
  heart_free(&quiet);
}

static void silence_noise_and_a_tone_hold_no_heart(void **state) {
  (void)state;
  for (int kind = 0; kind < 4; kind++) {
    heart h = heart_new(20, 100, kind == 1 ? 0.1 : 0);
    for (size_t i = 0; i < h.n && kind == 2; i++) h.samples[i] = (float)(0.3 * gn_sin(2 * GN_PI * 100 * (double)i / FS_HZ));
    for (size_t i = 0; i < h.n && kind == 3; i++) h.samples[i] = 0.5f;
    gn_quality_spans s = mark(&h);
    assert_near(marked_s(s.items, s.n, NOTHING_HEARD, 0, 20), 20, 0.1);
    gn_quality_spans_clear(&s);
    heart_free(&h);
  }
}

static void nothing_one_sample_and_nan_are_borne(void **state) {
  (void)state;
  const size_t lengths[] = {0, 1, 100, 129};
  for (int i = 0; i < 4; i++) {
    heart h = heart_new(1, 100, 0.1);
    h.n = lengths[i];
    gn_quality_spans s = mark(&h);
    gn_quality_spans_clear(&s);
    heart_free(&h);
  }
  heart h = heart_new(20, 1.6, 0.005);
  for (size_t i = 1000; i < h.n; i += 5000) h.samples[i] = (float)NAN;
  gn_quality_spans s = mark(&h);
  assert_int_equal(s.n, 0);
  gn_quality_spans_clear(&s);
  heart_free(&h);
}

// A window that starts in the midst of what is known gives the frames the whole gives, bit for bit.
static void frames_do_not_depend_on_the_windows(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.01);
  gn_quality_frames whole, cut;
  assert_int_equal(gn_quality_frames_init(&whole, heart_limits(), heart_profile(), FS_HZ), 0);
  assert_int_equal(gn_quality_frames_init(&cut, heart_limits(), heart_profile(), FS_HZ), 0);
  assert_int_equal(gn_quality_frames_cover(&whole, &(gn_signal){h.samples, h.n, FS_HZ, 0}), 0);
  for (size_t at = 0; at < 60000; at += 9973) {
    assert_int_equal(gn_quality_frames_cover(&cut, &(gn_signal){h.samples + at, 20000, FS_HZ, (double)at / FS_HZ}), 0);
    assert_true(cut.n > 480);
    assert_memory_equal(cut.rows, whole.rows + cut.first, cut.n * sizeof *cut.rows);
  }
  gn_quality_frames_clear(&whole);
  gn_quality_frames_clear(&cut);
  heart_free(&h);
}

// White noise of mean square 1: a band of B Hz holds B / (fs / 2) of it.
static void band_powers_are_mean_squares(void **state) {
  (void)state;
  heart h = heart_new(60, 100, 1);
  memset(h.samples, 0, h.n * sizeof *h.samples);
  heart_noise(&h, 0, 60, 1, 11);
  gn_quality_frames f;
  assert_int_equal(gn_quality_frames_init(&f, heart_limits(), heart_profile(), FS_HZ), 0);
  assert_int_equal(gn_quality_frames_cover(&f, &(gn_signal){h.samples, h.n, FS_HZ, 0}), 0);
  double wide = 0;
  for (size_t i = 0; i < f.n; i++) wide += (double)f.rows[i][GN_BAND_WIDE] / (double)f.n;
  const double band_hz = (double)(f.hi[GN_BAND_WIDE] - f.lo[GN_BAND_WIDE]) * FS_HZ / (double)f.n_fft;
  assert_near(wide / (band_hz / 1000), 1, 0.03);
  gn_quality_frames_clear(&f);
  heart_free(&h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_few_seconds_of_a_clean_heart_have_no_marks),
      cmocka_unit_test(a_clean_heart_has_no_marks),          cmocka_unit_test(a_rub_is_marked_from_end_to_end),
      cmocka_unit_test(one_louder_beat_is_not_handling),     cmocka_unit_test(a_thump_or_rub_in_one_band_is_marked),
      cmocka_unit_test(rubs_in_most_blocks_are_marked),
      cmocka_unit_test(lost_signal_is_a_dropout_at_its_place),
      cmocka_unit_test(a_signal_lost_for_a_quarter_of_the_recording_is_a_dropout),
      cmocka_unit_test(what_is_left_of_a_stretch_mostly_lost_does_not_make_beats_handling),
      cmocka_unit_test(the_quiet_before_each_beat_is_no_dropout),
      cmocka_unit_test(a_thump_under_the_heart_and_a_rustle_over_it_are_marked),
      cmocka_unit_test(a_heart_heard_faintly_through_a_lost_connection_leaves_it_a_dropout),
      cmocka_unit_test(a_heart_that_is_not_heard_for_a_while_is_marked_where_it_was),
      cmocka_unit_test(silence_noise_and_a_tone_hold_no_heart), cmocka_unit_test(nothing_one_sample_and_nan_are_borne),
      cmocka_unit_test(frames_do_not_depend_on_the_windows), cmocka_unit_test(band_powers_are_mean_squares),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
