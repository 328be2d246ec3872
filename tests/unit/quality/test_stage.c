// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/memory.h"
#include "heart.h"

static const char *reason_of(const girthline_result *r, const char *pointer) {
  for (size_t i = 0; i < r->n_undetermined; i++)
    if (!strcmp(r->undetermined[i].pointer, pointer)) return r->undetermined[i].reason;
  return NULL;
}

static void a_clean_heart_is_good(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.005);
  girthline_result *r = heart_judge(&h);
  assert_non_null(r);
  assert_int_equal(r->quality.grade, GIRTHLINE_GOOD);
  assert_near(r->quality.usable_s, 40, 0.01);
  assert_near(r->quality.clipped_fraction, 0, 0);
  assert_near(r->quality.hum_hz, 0, 0);
  assert_true(r->quality.best_span.end_s - r->quality.best_span.start_s > 9);
  girthline_result_free(r);
  heart_free(&h);
}

// A sound that clips at 17 s, and others; the window is from 16 to 24 s. lost_s: where nothing comes through for half a second, twice (0: nowhere).
static bool clips_by_beats(const double others_s[2], double lost_s) {
  heart h = heart_new(32, 100, 0.001);
  heart_burst(&h, 17, 0.5, 60, 20);
  for (size_t k = 0; k < 2; k++)
    if (others_s[k] > 0) heart_burst(&h, others_s[k], 0.5, 60, 20);
  for (size_t i = 0; i < h.n; i++) h.samples[i] = fminf(1, fmaxf(-1, h.samples[i]));
  for (size_t i = 0; i < (size_t)(0.5 * FS_HZ) && lost_s > 0; i++) h.samples[(size_t)(lost_s * FS_HZ) + i] = h.samples[(size_t)((lost_s + 2) * FS_HZ) + i] = 0;
  gn_quality *q = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0);
  gn_quality_window *seen = gn_quality_window_new();
  const gn_signal w = {h.samples + (size_t)(16 * FS_HZ), (size_t)(8 * FS_HZ), FS_HZ, 16};
  const girthline_problem *problems;
  size_t n_problems, n_clipped = 0;
  bool by_beats = false;
  assert_int_equal(gn_quality_push(q, h.samples, h.n), GIRTHLINE_OK);
  assert_int_equal(gn_quality_begin(q, seen, 16, 24), GIRTHLINE_OK);
  assert_int_equal(gn_quality_mark(q, seen, &w, &problems, &n_problems), GIRTHLINE_OK);
  for (size_t i = 0; i < n_problems; i++) {
    assert_true(problems[i].span.start_s >= 16); // cut to the window
    if (problems[i].kind != GIRTHLINE_CLIPPING) continue;
    by_beats = gn_quality_clips_by_beats(seen, problems[i].span);
    n_clipped++;
  }
  assert_int_equal(n_clipped, 1);
  gn_quality_window_free(seen);
  gn_quality_free(q);
  heart_free(&h);
  return by_beats;
}

static void a_clipped_sound_is_told_from_a_bang_by_those_before_the_window(void **state) {
  (void)state;
  assert_true(clips_by_beats((double[]){9, 13}, 0));
  assert_false(clips_by_beats((double[]){13, 0}, 0));
  assert_false(clips_by_beats((double[]){0, 0}, 0));
  assert_false(clips_by_beats((double[]){5, 13}, 0));  // too far
  assert_false(clips_by_beats((double[]){25, 13}, 0)); // how far was read behind the window says nothing
  assert_false(clips_by_beats((double[]){13, 0}, 9));  // what was lost is no beat
}

static void every_null_has_its_reason(void **state) {
  (void)state;
  const double seconds[] = {0, 0.001, 1, 20};
  for (int i = 0; i < 4; i++) {
    heart h = heart_new(seconds[i], 100, 0);
    girthline_result *r = heart_judge(&h);
    assert_non_null(r);
    const girthline_quality *q = &r->quality;
    assert_int_equal(q->grade, GIRTHLINE_UNUSABLE);
    assert_true(strlen(q->grade_reason) > 0);
    assert_true(isnan(q->heart_to_noise_db) == (reason_of(r, "/quality/heart_to_noise_db") != NULL));
    assert_true(isnan(q->clipped_fraction) == (reason_of(r, "/quality/clipped_fraction") != NULL));
    assert_true(isnan(q->hum_hz) == (reason_of(r, "/quality/hum_hz") != NULL));
    if (isnan(q->hum_hz)) assert_non_null(strstr(reason_of(r, "/quality/hum_hz"), "a little over 4 s")); // of one of 4.0 s it is not said to be shorter than 4 s
    assert_true(isnan(q->breaths_per_min) == (reason_of(r, "/quality/breaths_per_min") != NULL));
    assert_true(isnan(q->best_span.start_s) && reason_of(r, "/quality/best_span"));
    girthline_result_free(r);
    heart_free(&h);
  }
}

static void gain_changes_nothing(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.01);
  heart_noise(&h, 12, 12.6, 0.6, 3);
  girthline_result *a = heart_judge(&h);
  for (size_t i = 0; i < h.n; i++) h.samples[i] *= 10;
  girthline_result *b = heart_judge(&h);
  assert_non_null(a);
  assert_non_null(b);
  assert_int_equal(a->quality.n_problems, b->quality.n_problems);
  for (size_t i = 0; i < a->quality.n_problems; i++) assert_near(a->quality.problems[i].span.end_s, b->quality.problems[i].span.end_s, 1e-9);
  assert_near(a->quality.heart_to_noise_db, b->quality.heart_to_noise_db, 0.01);
  assert_int_equal(a->quality.grade, b->quality.grade);
  girthline_result_free(a);
  girthline_result_free(b);
  heart_free(&h);
}

static void every_refused_allocation_is_survived(void **state) {
  (void)state;
  heart h = heart_new(12, 1.6, 0.01);
  heart_noise(&h, 8, 8.5, 0.6, 3);
  size_t k = 1;
  for (; k < 500; k++) {
    gn_memory_refuse(k);
    girthline_result *r = heart_judge(&h);
    gn_memory_refuse(0);
    const bool done = r != NULL;
    girthline_result_free(r);
    if (done) break;
  }
  assert_true(k > 20 && k < 500);
  heart_free(&h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_clean_heart_is_good),
      cmocka_unit_test(a_clipped_sound_is_told_from_a_bang_by_those_before_the_window),
      cmocka_unit_test(every_null_has_its_reason),
      cmocka_unit_test(gain_changes_nothing),
      cmocka_unit_test(every_refused_allocation_is_survived),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
