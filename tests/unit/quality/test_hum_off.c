// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <string.h>

#include "support.h"

#include "heart.h"

static const gn_quality_spans NOTHING_SPOILT = {.n = 0};
static const gn_quality_family AT_50 = {50, 1};

// Lines at multiples of mains that wander by off_hz and swell by a share, both over a minute; how much was put in, RMS.
static double add_mains(heart *h, double hz, double off_hz, double swell, double amplitude) {
  double turn = 0, sum = 0;
  for (size_t i = 0; i < h->n; i++) {
    const double minute = 2 * GN_PI * (double)i / FS_HZ / 60;
    turn += 2 * GN_PI * (hz + off_hz * gn_sin(minute)) / FS_HZ;
    double x = 0;
    for (int k = 1; k <= 5; k++)
      if (k != 4) x += amplitude / k * (1 + swell * gn_cos(minute)) * gn_sin(k * turn + k);
    h->samples[i] += (float)x;
    sum += x * x;
  }
  return sqrt(sum / (double)h->n);
}

static void take_off(heart *h, const gn_quality_family *mains, const gn_quality_spans *spoilt) {
  const gn_signal window = {h->samples, h->n, FS_HZ, 0};
  assert_int_equal(gn_quality_hum_off(mains, &(gn_quality_cut){&window, spoilt}, h->samples), 0);
}

static double rms_between(const heart *a, const heart *b, double from_s, double to_s) {
  double sum = 0;
  const size_t from = (size_t)(from_s * FS_HZ), end = (size_t)(to_s * FS_HZ);
  for (size_t i = from; i < end; i++) sum += ((double)a->samples[i] - (double)b->samples[i]) * ((double)a->samples[i] - (double)b->samples[i]);
  return sqrt(sum / (double)(end - from));
}

// Mains, a generator, a railway. 20 dB: what is left is a hundredth of the power, whatever the hum's level against the heart.
static void what_hums_is_taken_off(void **state) {
  (void)state;
  static const struct { double hz, off_hz, swell, amplitude, seconds, told_hz; int multiple; } MADE[] = {
      {50, 0, 0, 0.2, 30, 50, 1}, {50, 0, 0, 0.02, 30, 50, 1}, {60, 0, 0, 0.5, 5, 60, 1}, {49.9, 0, 0, 0.1, 61.3, 49.95, 3}, {50, 0.05, 0.3, 0.2, 60, 50, 1},
      {52.3, 0, 0, 0.2, 30, 52.2, 1}, {100.2, 0, 0, 0.2, 30, 16.68, 6}};
  for (size_t i = 0; i < sizeof MADE / sizeof *MADE; i++) {
    heart clean = heart_new(MADE[i].seconds, 1.6, 0.005), h = heart_new(MADE[i].seconds, 1.6, 0.005);
    const double put_in = add_mains(&h, MADE[i].hz, MADE[i].off_hz, MADE[i].swell, MADE[i].amplitude);
    take_off(&h, &(gn_quality_family){MADE[i].told_hz, MADE[i].multiple}, &NOTHING_SPOILT);
    const double left = rms_between(&h, &clean, 0, MADE[i].seconds);
    if (!(left < 0.1 * put_in)) fail_msg("row %zu: %.4f of %.4f is left", i, left, put_in);
    heart_free(&clean);
    heart_free(&h);
  }
}

// An even tone alone leaves nothing but what its segments, each of which fades into the next, do not share out: 1e-4 of it, for the rounding of what was
// found of it (a choice).
static void segments_fade_into_each_other_without_a_step(void **state) {
  (void)state;
  heart none = {calloc((size_t)(30 * FS_HZ), sizeof(float)), (size_t)(30 * FS_HZ), NULL, 0}, h = {calloc(none.n, sizeof(float)), none.n, NULL, 0};
  for (size_t i = 0; i < h.n; i++) h.samples[i] = (float)(0.2 * gn_sin(2 * GN_PI * 50 * (double)i / FS_HZ));
  take_off(&h, &AT_50, &NOTHING_SPOILT);
  double most = 0;
  for (double at_s = 0; at_s < 30; at_s += 0.1) most = fmax(most, rms_between(&h, &none, at_s, at_s + 0.1));
  if (!(most < 1e-4 * 0.2)) fail_msg("%.6f is left in a tenth of a second", most);
  free(none.samples);
  free(h.samples);
}

// S1 at 45 Hz and S2 at 60 Hz hold much of either frequency, and at 1.6 s they come in step with both.
static void the_hearts_own_50_and_60_hz_stay(void **state) {
  (void)state;
  static const double INTERVAL_S[] = {1.6, 0.5, 1.23};
  static const gn_quality_family MAINS[] = {{50, 1}, {60, 1}};
  for (size_t i = 0; i < 6; i++) {
    heart clean = heart_new(40, INTERVAL_S[i / 2], 0.005), h = heart_new(40, INTERVAL_S[i / 2], 0.005);
    const heart none = {calloc(h.n, sizeof(float)), h.n, NULL, 0};
    take_off(&h, &MAINS[i % 2], &NOTHING_SPOILT);
    const double lost = rms_between(&h, &clean, 0, 40), whole = rms_between(&clean, &none, 0, 40);
    if (!(lost < 0.01 * whole)) fail_msg("row %zu: %.5f of %.4f is lost", i, lost, whole);
    free(none.samples);
    heart_free(&clean);
    heart_free(&h);
  }
}

static void no_hum_is_put_where_there_was_none(void **state) {
  (void)state;
  heart quiet = heart_new(40, 1.6, 0.005), h = heart_new(40, 1.6, 0.005);
  add_mains(&h, 50, 0, 0, 0.1);
  const size_t end = (size_t)(22.5 * FS_HZ); // within what is looked at as one
  memcpy(h.samples + end, quiet.samples + end, (h.n - end) * sizeof *h.samples);
  take_off(&h, &AT_50, &NOTHING_SPOILT);
  assert_true(rms_between(&h, &quiet, 0, 15) < 0.01);
  assert_true(rms_between(&h, &quiet, 22.5, 24) < 0.005);
  assert_true(rms_between(&h, &quiet, 24, 40) < 0.005);
  heart_free(&quiet);
  heart_free(&h);
}

static void what_was_lost_stays_silent(void **state) {
  (void)state;
  heart h = heart_new(20, 1.6, 0.005);
  add_mains(&h, 50, 0, 0, 0.1);
  for (size_t i = (size_t)(5 * FS_HZ); i < (size_t)(8 * FS_HZ); i++) h.samples[i] = 0;
  gn_quality_spans lost = {.join_s = 0.1};
  assert_int_equal(gn_quality_spans_add(&lost, GIRTHLINE_DROPOUT, 5, 8), 0);
  take_off(&h, &AT_50, &lost);
  for (size_t i = (size_t)(5 * FS_HZ); i < (size_t)(8 * FS_HZ); i++) assert_true(h.samples[i] == 0);
  gn_quality_spans_clear(&lost);
  heart_free(&h);
}

static void the_gain_changes_nothing(void **state) {
  (void)state;
  heart h = heart_new(20, 1.6, 0.005), loud = heart_new(20, 1.6, 0.005);
  add_mains(&h, 50, 0, 0, 0.1);
  for (size_t i = 0; i < h.n; i++) loud.samples[i] = 1024 * h.samples[i];
  take_off(&h, &AT_50, &NOTHING_SPOILT);
  take_off(&loud, &AT_50, &NOTHING_SPOILT);
  for (size_t i = 0; i < h.n; i++) assert_true(loud.samples[i] == 1024 * h.samples[i]);
  heart_free(&h);
  heart_free(&loud);
}

// Bursts at 150 Hz in every systole keep step with the heart, not with the mains.
static void a_musical_murmur_at_a_multiple_stays(void **state) {
  (void)state;
  heart whole = heart_new(40, 1.63, 0.005);
  for (size_t i = 0; i < whole.n_beats; i++) heart_burst(&whole, whole.beats[i].s1_onset_s + 0.12, 0.3, 150, 0.1);
  heart h = heart_new(40, 1.63, 0.005);
  memcpy(h.samples, whole.samples, h.n * sizeof *h.samples);
  take_off(&h, &AT_50, &NOTHING_SPOILT);
  assert_true(rms_between(&h, &whole, 0, 40) < 0.003);
  heart_free(&whole);
  heart_free(&h);
}

static void silence_and_the_shortest_window_stay_as_they_are(void **state) {
  (void)state;
  heart h = {calloc(4000, sizeof(float)), 4000, NULL, 0};
  for (h.n = 0; h.n <= 4000; h.n += 250) {
    take_off(&h, &AT_50, &NOTHING_SPOILT);
    for (size_t i = 0; i < h.n; i++) assert_true(h.samples[i] == 0);
  }
  heart_free(&h);
}

// A quiet that the hum alone filled, between noises that fill the rest of the beat, is no gap once the hum is off.
static void a_quiet_heart_in_a_hum_has_no_gaps(void **state) {
  (void)state;
  heart h = heart_new(30, 3, 0.00002);
  for (size_t i = 0; i < h.n_beats; i++) {
    const double at_s = h.beats[i].s1_onset_s;
    heart_noise(&h, at_s + 0.12, at_s + 0.45, 0.02, 2 * i);
    heart_noise(&h, at_s + 1.1, at_s + 3, 0.02, 2 * i + 1);
  }
  add_mains(&h, 50, 0, 0, 0.02);
  gn_quality *q = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0);
  gn_quality_window *seen = gn_quality_window_new();
  const gn_signal w = {h.samples, h.n, FS_HZ, 0};
  const girthline_problem *problems;
  size_t n;
  assert_int_equal(gn_quality_begin(q, seen, 0, 30), GIRTHLINE_OK);
  assert_int_equal(gn_quality_mark(q, seen, &w, &problems, &n), GIRTHLINE_OK);
  assert_true(gn_quality_hums(q));
  assert_int_equal(gn_quality_take_hum_off(q, seen, &w, h.samples, &problems, &n), GIRTHLINE_OK);
  for (size_t i = 0; i < n; i++) assert_int_not_equal(problems[i].kind, GIRTHLINE_DROPOUT);
  gn_quality_window_free(seen);
  gn_quality_free(q);
  heart_free(&h);
}

// Half a minute of a heart in a hum whose gain is turned up after 20 s: [from_s, from_s + 30), evened out and, in the first one, without its hum.
static heart evened_in_a_hum(gn_quality *q, double from_s) {
  heart h = heart_new(60, 1.6, 0.005);
  add_mains(&h, 50, 0, 0, 0.05);
  for (size_t i = 0; i < (size_t)(20 * FS_HZ); i++) h.samples[i] *= 0.2f;
  float *const samples = h.samples + (size_t)(from_s * FS_HZ);
  const gn_signal w = {samples, (size_t)(30 * FS_HZ), FS_HZ, from_s};
  gn_quality_window *seen = gn_quality_window_new();
  const girthline_problem *problems;
  size_t n;
  if (from_s > 0) assert_int_equal(gn_quality_even_out(q, &w, samples), GIRTHLINE_OK);
  assert_int_equal(gn_quality_begin(q, seen, from_s, from_s + 30), GIRTHLINE_OK);
  assert_int_equal(gn_quality_mark(q, seen, &w, &problems, &n), GIRTHLINE_OK);
  assert_true(gn_quality_hums(q));
  if (!(from_s > 0)) assert_int_equal(gn_quality_take_hum_off(q, seen, &w, samples, &problems, &n), GIRTHLINE_OK);
  gn_quality_window_free(seen);
  return h;
}

static void what_was_heard_without_its_hum_is_heard_anew_in_the_next_window(void **state) {
  (void)state;
  gn_quality *q = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0), *fresh = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0);
  heart first = evened_in_a_hum(q, 0), after = evened_in_a_hum(q, 10), alone = evened_in_a_hum(fresh, 10);
  assert_memory_equal(after.samples, alone.samples, after.n * sizeof *after.samples);
  heart_free(&first);
  heart_free(&after);
  heart_free(&alone);
  gn_quality_free(q);
  gn_quality_free(fresh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_hums_is_taken_off),               cmocka_unit_test(segments_fade_into_each_other_without_a_step),
      cmocka_unit_test(the_hearts_own_50_and_60_hz_stay),
      cmocka_unit_test(no_hum_is_put_where_there_was_none),   cmocka_unit_test(what_was_lost_stays_silent),
      cmocka_unit_test(the_gain_changes_nothing),             cmocka_unit_test(a_musical_murmur_at_a_multiple_stays),
      cmocka_unit_test(silence_and_the_shortest_window_stay_as_they_are), cmocka_unit_test(a_quiet_heart_in_a_hum_has_no_gaps),
      cmocka_unit_test(what_was_heard_without_its_hum_is_heard_anew_in_the_next_window),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
