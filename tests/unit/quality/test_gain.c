// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <string.h>

#include "base/statistics.h"
#include "support.h"

#include "heart.h"

// A recorder's gain over time, dB.
typedef double course(double t_s);
static double up_half_way(double t_s) { return t_s < 15 ? -15 : 0; }
static double down_half_way(double t_s) { return t_s < 15 ? 0 : -15; }
static double in_three_steps(double t_s) { return t_s < 8 ? -9 : t_s < 20 ? 0 : -18; }
static double swinging(double t_s) { return 8 * gn_sin(2 * GN_PI * t_s / 14); }
static double up_a_little(double t_s) { return t_s < 15 ? -3 : 0; }
static double up_by_six_db(double t_s) { return t_s < 15 ? -6 : 0; }
static double up_for_a_moment(double t_s) { return t_s < 12 || t_s > 14 ? 0 : 12; }
static double turned_up_slowly(double t_s) { return 20 * t_s / 30; }
static const struct { course *gain_db; size_t n_steps; } COURSES[] = {{up_half_way, 1},      {down_half_way, 1},    {in_three_steps, 2}, {swinging, 0},
                                                                      {turned_up_slowly, 0}, {up_by_six_db, 1}};
enum { N_COURSES = sizeof COURSES / sizeof *COURSES };

static void turn(heart *h, course *gain_db) {
  for (size_t i = 0; i < h->n; i++) h->samples[i] *= (float)sqrt(gn_from_db(gain_db((double)i / FS_HZ)));
}

// Whether a change of gain was found in a window that begins there.
static bool even_at(heart *h, double start_s) {
  gn_quality_frames f;
  const gn_signal window = {h->samples, h->n, FS_HZ, start_s};
  assert_int_equal(gn_quality_frames_init(&f, heart_limits(), heart_profile(), FS_HZ), 0);
  assert_int_equal(gn_quality_frames_cover(&f, &window), 0);
  const int changed = gn_quality_even_gain(&f, &window, h->samples);
  gn_quality_frames_clear(&f);
  assert_in_range(changed, 0, 1);
  return changed;
}

static bool even(heart *h) { return even_at(h, 0); }

// Of S1, dB.
static double loudness_of(const heart *h, size_t beat) {
  double sum = 0;
  const size_t from = (size_t)(h->beats[beat].s1_onset_s * FS_HZ);
  for (size_t i = from; i < from + (size_t)(0.12 * FS_HZ); i++) sum += (double)h->samples[i] * (double)h->samples[i];
  return gn_db(sum);
}

static heart heard(double interval_s, course *gain_db) {
  heart h = heart_new(30, interval_s, 0.005);
  turn(&h, gain_db);
  return h;
}

// But for one beside each step, and some where the gain swings.
static void beats_are_as_loud_as_they_were(void **state) {
  (void)state;
  static const double INTERVAL_S[] = {2, 1.6, 0.9};
  for (size_t i = 0; i < 3 * N_COURSES; i++) {
    heart h = heard(INTERVAL_S[i % 3], COURSES[i / 3].gain_db), as_it_was = heart_new(30, INTERVAL_S[i % 3], 0.005);
    assert_true(even(&h));
    double off[64];
    size_t n = 0;
    for (size_t k = 0; k < h.n_beats; k++) off[n++] = loudness_of(&h, k) - loudness_of(&as_it_was, k);
    const double middle = gn_median(off, n);
    size_t n_far = 0;
    const size_t most = COURSES[i / 3].n_steps ? COURSES[i / 3].n_steps : n / 3;
    for (size_t k = 0; k < n; k++) n_far += fabs(off[k] - middle) > 3;
    if (n_far > most) fail_msg("row %zu: %zu of %zu beats are more than 3 dB off", i, n_far, n);
    heart_free(&h);
    heart_free(&as_it_was);
  }
}

static void stays(heart *h, const char *what) {
  float *const before = malloc(h->n * sizeof *before);
  memcpy(before, h->samples, h->n * sizeof *before);
  if (even(h) || memcmp(before, h->samples, h->n * sizeof *before)) fail_msg("%s was taken for a change of gain", what);
  free(before);
  heart_free(h);
}

// Each moves the beats or the quiet, or some bands.
static void what_is_no_change_of_gain_stays(void **state) {
  (void)state;
  heart h = heart_new(30, 1.6, 0.005);
  stays(&h, "nothing");
  h = heart_new(30, 1.6, 0.005);
  for (int k = 0; k < 5; k++) heart_noise(&h, 6 * k, 6 * k + 3, 0.03, (uint64_t)k);
  stays(&h, "breath");
  h = heart_new(30, 1.6, 0.005);
  heart_noise(&h, 10, 30, 0.03, 1);
  stays(&h, "a room that grows louder");
  h = heart_new(30, 1.6, 0.005);
  for (size_t i = h.n_beats / 2; i < h.n_beats; i++) heart_burst(&h, h.beats[i].s1_onset_s, 0.12, 45, 0.9);
  stays(&h, "a heart that beats harder");
  h = heart_new(30, 1.6, 0.005);
  heart_noise(&h, 12, 13.4, 0.5, 1);
  stays(&h, "a rub");
  h = heart_new(30, 1.6, 0.005);
  for (size_t i = 0; i < (size_t)(6 * FS_HZ); i++) h.samples[i] *= 0.002f;
  stays(&h, "a loss");
  h = heart_new(30, 1.6, 0.005);
  for (size_t i = 0; i < (size_t)(26 * FS_HZ); i++) h.samples[i] *= 0.002f;
  stays(&h, "a chest piece put on at the end");
  h = heart_new(30, 1.6, 0);
  for (size_t i = (size_t)(25 * FS_HZ); i < h.n; i++) h.samples[i] *= 3;
  heart_noise(&h, 0, 25, 0.005, 1);
  heart_noise(&h, 25, 30, 0.001, 2);
  stays(&h, "a heart that beats harder as the room falls quiet");
  h = heart_new(30, 1.6, 0);
  heart_burst(&h, 0, 60, 45, 0.002);
  turn(&h, up_half_way);
  heart_noise(&h, 0, 30, 0.0005, 1);
  stays(&h, "a heart that beats harder over a rumble that grows");
  h = heard(1.6, up_a_little);
  stays(&h, "three dB");
  h = heard(0.9, up_for_a_moment);
  stays(&h, "a moment");
  h = heart_new(30, 1.6, 0);
  memset(h.samples, 0, h.n * sizeof *h.samples);
  stays(&h, "silence");
  h = heart_new(4, 1.6, 0.005);
  stays(&h, "so short a recording");
}

static void the_recordings_own_gain_changes_nothing(void **state) {
  (void)state;
  heart h = heard(1.6, up_half_way), loud = heard(1.6, up_half_way);
  for (size_t i = 0; i < h.n; i++) loud.samples[i] *= 1024;
  assert_true(even(&h) && even(&loud));
  for (size_t i = 0; i < h.n; i++) assert_float_equal(loud.samples[i], 1024 * h.samples[i], 1e-4 * 1024);
  heart_free(&h);
  heart_free(&loud);
}

// A murmur's shape within the beat is more.
static void a_small_step_is_undone_slowly(void **state) {
  (void)state;
  heart h = heard(1.6, up_by_six_db), before = heard(1.6, up_by_six_db);
  assert_true(even(&h));
  const size_t apart = (size_t)(0.2 * FS_HZ);
  for (size_t i = 0; i + apart < h.n; i += 20) {
    const double now = (double)h.samples[i] / (double)before.samples[i], then = (double)h.samples[i + apart] / (double)before.samples[i + apart];
    assert_true(fabs(gn_db(then * then / (now * now))) < 1.6);
  }
  heart_free(&h);
  heart_free(&before);
}

// [from_s, from_s + 30) of a minute whose first 20 s are softer, evened out.
static gn_signal evened(gn_quality *q, double from_s, heart *store) {
  *store = heart_new(60, 1.6, 0.005);
  for (size_t i = 0; i < (size_t)(20 * FS_HZ); i++) store->samples[i] *= 0.2f;
  float *const samples = store->samples + (size_t)(from_s * FS_HZ);
  const gn_signal w = {samples, (size_t)(30 * FS_HZ), FS_HZ, from_s};
  gn_quality_window *seen = gn_quality_window_new();
  const girthline_problem *problems;
  size_t n;
  assert_int_equal(gn_quality_begin(q, seen, from_s, from_s + 30), GIRTHLINE_OK);
  assert_int_equal(gn_quality_even_out(q, &w, samples), GIRTHLINE_OK);
  assert_int_equal(gn_quality_mark(q, seen, &w, &problems, &n), GIRTHLINE_OK);
  gn_quality_window_free(seen);
  return w;
}

static void a_window_is_evened_out_whatever_came_before_it(void **state) {
  (void)state;
  heart first, after, alone;
  gn_quality *q = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0), *fresh = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0);
  evened(q, 0, &first);
  const gn_signal a = evened(q, 10, &after), b = evened(fresh, 10, &alone);
  assert_memory_equal(a.samples, b.samples, a.n * sizeof *a.samples);
  heart_free(&first);
  heart_free(&after);
  heart_free(&alone);
  gn_quality_free(q);
  gn_quality_free(fresh);
}

static void a_windows_place_in_the_recording_changes_nothing(void **state) {
  (void)state;
  heart h = heard(1.6, up_half_way), later = heard(1.6, up_half_way);
  assert_true(even(&h) && even_at(&later, 100));
  for (size_t i = 0; i < h.n; i++) assert_float_equal(later.samples[i], h.samples[i], 1e-6);
  heart_free(&h);
  heart_free(&later);
}

// 15 dB more is what a hand's thumps have over beats.
static void the_louder_half_is_not_handled(void **state) {
  (void)state;
  for (int evened_out = 0; evened_out < 2; evened_out++) {
    heart h = heard(1.6, up_half_way);
    if (evened_out) assert_true(even(&h));
    girthline_result *r = heart_judge(&h);
    double handled_s = 0;
    for (size_t i = 0; i < r->quality.n_problems; i++) {
      const girthline_problem *p = &r->quality.problems[i];
      if (p->kind == GIRTHLINE_HANDLING) handled_s += p->span.end_s - p->span.start_s;
    }
    if (evened_out) assert_true(handled_s < 1);
    else assert_true(handled_s > 2);
    girthline_result_free(r);
    heart_free(&h);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(beats_are_as_loud_as_they_were),
      cmocka_unit_test(what_is_no_change_of_gain_stays),
      cmocka_unit_test(the_recordings_own_gain_changes_nothing),
      cmocka_unit_test(a_small_step_is_undone_slowly),
      cmocka_unit_test(a_window_is_evened_out_whatever_came_before_it),
      cmocka_unit_test(a_windows_place_in_the_recording_changes_nothing),
      cmocka_unit_test(the_louder_half_is_not_handled),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
