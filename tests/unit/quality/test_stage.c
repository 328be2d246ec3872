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
      cmocka_unit_test(every_null_has_its_reason),
      cmocka_unit_test(gain_changes_nothing),
      cmocka_unit_test(every_refused_allocation_is_survived),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
