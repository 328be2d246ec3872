// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "cli/batch_progress.h"

#define LINE 200

static gn_telling begun_at(double now_s) { return (gn_telling){.out = "out", .started_s = now_s, .last_s = now_s}; }

static const gn_batch_progress HALF = {.n_done = 50, .n_kept = 10, .n_failed = 3, .n_all = 100};

static void a_log_gets_a_line_a_minute(void **state) {
  (void)state;
  gn_telling t = begun_at(1000);
  char line[LINE];
  size_t n_lines = 0;
  for (int half_s = 1; half_s <= 2 * 600; half_s++) n_lines += gn_telling_line(&t, 1000 + 0.5 * half_s, &HALF, line, sizeof line);
  assert_int_equal(n_lines, 10);
}

static void the_first_line_of_a_log_comes_after_a_minute(void **state) {
  (void)state;
  gn_telling t = begun_at(7);
  char line[LINE];
  assert_false(gn_telling_line(&t, 7, &HALF, line, sizeof line));
  assert_false(gn_telling_line(&t, 66.9, &HALF, line, sizeof line));
  assert_true(gn_telling_line(&t, 67, &HALF, line, sizeof line));
  assert_string_equal(line, "50 of 100 done, 3 failed, about 75 s left"); // 40 new ones took a minute, 50 are left
  assert_false(gn_telling_line(&t, 126.9, &HALF, line, sizeof line));
}

static void a_terminal_is_told_each_time(void **state) {
  (void)state;
  gn_telling t = begun_at(0);
  char line[LINE];
  t.redraws = true;
  for (int k = 0; k < 5; k++) assert_true(gn_telling_line(&t, 0.5 * k, &HALF, line, sizeof line));
}

static void quiet_says_nothing_however_long_it_takes(void **state) {
  (void)state;
  gn_telling t = begun_at(0);
  char line[LINE] = "untouched";
  t.quiet = true;
  for (int redraws = 0; redraws < 2; redraws++) {
    t.redraws = redraws;
    assert_false(gn_telling_line(&t, 1e6, &HALF, line, sizeof line));
  }
  assert_string_equal(line, "untouched");
}

static void what_is_left_is_told_in_a_fitting_unit(void **state) {
  (void)state;
  static const struct {
    double passed_s;
    gn_batch_progress at;
    const char *end;
  } ROWS[] = {
      {1, {1, 0, 0, 2}, "1 of 2 done, 0 failed"}, // too early to tell
      {10, {1, 0, 0, 9}, "about 80 s left"},
      {60, {1, 0, 0, 3}, "about 2 min left"},
      {3600, {2, 0, 1, 10}, "about 4.0 h left"},
      {600, {4, 4, 0, 10}, "4 of 10 done, 0 failed"}, // kept ones took no time
      {600, {10, 0, 0, 10}, "10 of 10 done, 0 failed"},
  };
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    gn_telling t = begun_at(0);
    char line[LINE];
    t.redraws = true;
    assert_true(gn_telling_line(&t, ROWS[i].passed_s, &ROWS[i].at, line, sizeof line));
    assert_true(strlen(line) >= strlen(ROWS[i].end));
    assert_string_equal(line + strlen(line) - strlen(ROWS[i].end), ROWS[i].end);
  }
}

static void an_interrupted_run_says_how_to_go_on(void **state) {
  (void)state;
  gn_telling t = begun_at(0);
  char line[LINE];
  gn_telling_interrupted(&t, &HALF, line, sizeof line);
  assert_string_equal(line, "interrupted: 50 of 100 recordings are done and kept in out; the same command goes on from there");
  t.fresh = true;
  gn_telling_interrupted(&t, &HALF, line, sizeof line);
  assert_non_null(strstr(line, "the same command without --fresh goes on"));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_log_gets_a_line_a_minute),
      cmocka_unit_test(the_first_line_of_a_log_comes_after_a_minute),
      cmocka_unit_test(a_terminal_is_told_each_time),
      cmocka_unit_test(quiet_says_nothing_however_long_it_takes),
      cmocka_unit_test(what_is_left_is_told_in_a_fitting_unit),
      cmocka_unit_test(an_interrupted_run_says_how_to_go_on),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
