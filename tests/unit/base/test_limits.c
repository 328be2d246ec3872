// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The table of the method's limits.
#include "support.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include <girthline/limits.h>

static bool is_count(const girthline_limit *row) { return strlen(row->name) > 2 && !strcmp(row->name + strlen(row->name) - 2, "_n"); }

static void every_usual_value_lies_in_its_range(void **state) {
  (void)state;
  const girthline_limit *row;
  size_t n = 0;
  for (; (row = girthline_limit_at(n)) != NULL; n++) {
    if (!(row->lowest < row->highest && row->usual >= row->lowest && row->usual <= row->highest)) fail_msg("%s.%s", row->section, row->name);
    if (is_count(row) && (row->usual != floor(row->usual) || row->lowest != floor(row->lowest))) fail_msg("%s.%s is no count", row->section, row->name);
    assert_true(strlen(row->what) > 3 && strlen(row->source) > 3);
  }
  assert_int_equal(n, sizeof(girthline_limits) / sizeof(double));
  assert_null(girthline_limit_at(n));
  assert_null(girthline_limit_at((size_t)-1));
}

static void no_name_stands_twice_in_a_section(void **state) {
  (void)state;
  const girthline_limit *a;
  for (size_t i = 0; (a = girthline_limit_at(i)) != NULL; i++) {
    assert_int_equal(strspn(a->name, "abcdefghijklmnopqrstuvwxyz0123456789_"), strlen(a->name));
    for (size_t k = 0; k < i; k++) {
      const girthline_limit *b = girthline_limit_at(k);
      if (!strcmp(a->section, b->section) && !strcmp(a->name, b->name)) fail_msg("%s.%s", a->section, a->name);
      assert_true(a->offset != b->offset);
    }
  }
}

static void what_is_set_is_got_and_counted(void **state) {
  (void)state;
  girthline_limits limits = girthline_limits_default();
  assert_int_equal(girthline_limits_changed(&limits), 0);
  assert_int_equal(girthline_limits_changed(NULL), 0);
  const girthline_limit *row;
  size_t n = 0;
  for (; (row = girthline_limit_at(n)) != NULL; n++) {
    assert_true(girthline_limit_get(row, &limits) == row->usual);
    girthline_limit_set(row, &limits, row->highest > row->usual ? row->highest : row->lowest);
    assert_int_equal(girthline_limits_changed(&limits), n + 1);
  }
  limits = girthline_limits_default();
  limits.rhythm.pause_ratio = 2;
  for (n = 0; (row = girthline_limit_at(n)) != NULL; n++)
    if (!strcmp(row->section, "rhythm") && !strcmp(row->name, "pause_ratio")) assert_true(girthline_limit_get(row, &limits) == 2);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_usual_value_lies_in_its_range),
      cmocka_unit_test(no_name_stands_twice_in_a_section),
      cmocka_unit_test(what_is_set_is_got_and_counted),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
