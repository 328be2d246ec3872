// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/memory.h"
#include "quality/parts.h"

static void touching_spans_of_a_kind_become_one(void **state) {
  (void)state;
  gn_quality_spans l = {.join_s = 0.1};
  assert_int_equal(gn_quality_spans_add(&l, GIRTHLINE_HANDLING, 1, 2), 0);
  assert_int_equal(gn_quality_spans_add(&l, GIRTHLINE_DROPOUT, 1.5, 3), 0);
  assert_int_equal(gn_quality_spans_add(&l, GIRTHLINE_HANDLING, 2.05, 2.5), 0);
  assert_int_equal(gn_quality_spans_add(&l, GIRTHLINE_HANDLING, 3, 3), 0);    // empty
  assert_int_equal(gn_quality_spans_add(&l, GIRTHLINE_HANDLING, NAN, 9), 0);
  gn_quality_spans_sort(&l);
  assert_int_equal(l.n, 2);
  assert_near(l.items[0].span.end_s, 2.5, 0);
  assert_int_equal(l.items[1].kind, GIRTHLINE_DROPOUT);
  gn_quality_spans_clear(&l);
  gn_quality_spans_sort(&l);
  assert_int_equal(l.n, 0);
}

static void a_list_stays_bounded_and_loses_no_spoilt_time(void **state) {
  (void)state;
  gn_quality_spans l = {.join_s = 0.1};
  for (int i = 0; i < 60000; i++) assert_int_equal(gn_quality_spans_add(&l, GIRTHLINE_HANDLING, i, i + 0.5), 0);
  assert_true(l.n <= 10000);
  gn_quality_spans_sort(&l);
  for (int i = 0; i < 60000; i += 997)
    assert_true(gn_quality_spans_hit(l.items, l.n, 1u << GIRTHLINE_HANDLING, i + 0.1, i + 0.2));
  gn_quality_spans_clear(&l);
}

static void refused_memory_is_said_and_harms_nothing(void **state) {
  (void)state;
  gn_quality_spans l = {.join_s = 0.1};
  gn_memory_refuse(1);
  assert_int_equal(gn_quality_spans_add(&l, GIRTHLINE_HANDLING, 1, 2), -1);
  gn_memory_refuse(0);
  assert_int_equal(l.n, 0);
  gn_quality_spans_clear(&l);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(touching_spans_of_a_kind_become_one),
      cmocka_unit_test(a_list_stays_bounded_and_loses_no_spoilt_time),
      cmocka_unit_test(refused_memory_is_said_and_harms_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
