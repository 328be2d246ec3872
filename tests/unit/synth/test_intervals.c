// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "whole.h"

static const char *const PLACE = "test-intervals.csv"; // in the folder the tests run in

static girthline_status read_text(const char *text, gn_synth_intervals *out, girthline_error *error) {
  FILE *f = fopen(PLACE, "w");
  assert_non_null(f);
  fputs(text, f);
  fclose(f);
  const girthline_status status = gn_synth_intervals_read(PLACE, out, error);
  unlink(PLACE);
  return status;
}

static void a_list_of_intervals_is_read_with_its_early_ones(void **state) {
  (void)state;
  gn_synth_intervals list;
  assert_int_equal(read_text("# where from\n\ninterval_s,early\n0.6,0\n0.45,1\r\n0.75,0\n", &list, NULL), GIRTHLINE_OK);
  assert_int_equal(list.n, 3);
  assert_near(list.len_s[1], 0.45, 1e-12);
  assert_true(list.early[1] && !list.early[0] && !list.early[2]);
  gn_synth_intervals_clear(&list);
  assert_int_equal(read_text("interval_s\n1.5\n", &list, NULL), GIRTHLINE_OK);
  assert_int_equal(list.n, 1);
  gn_synth_intervals_clear(&list);
  gn_synth_intervals_clear(NULL);
}

static void what_is_no_list_of_intervals_is_refused_with_its_line(void **state) {
  (void)state;
  static const struct { const char *text, *line; } bad[] = {{"", ""}, {"interval_s\n", ""}, {"0.6\n0.7\n", ", line 1:"}, {"interval_s\n0.6\n0.1\n", ", line 3:"},
      {"interval_s\n21\n", ", line 2:"}, {"# mine\ninterval_s\n0,6\n", ", line 3:"}, {"interval_s\nnan\n", ", line 2:"}, {"interval_s\n-1\n", ", line 2:"},
      {"interval_s,early\n0.6,2\n", ", line 2:"}, {"interval_s\n0.6 s\n", ", line 2:"}};
  for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
    gn_synth_intervals list;
    girthline_error error = {0};
    assert_int_equal(read_text(bad[i].text, &list, &error), GIRTHLINE_BAD_HAND_FILE);
    assert_non_null(strstr(error.text, PLACE));
    assert_non_null(strstr(error.text, bad[i].line));
    assert_null(list.len_s);
  }
  girthline_error error = {0};
  gn_synth_intervals list;
  assert_int_equal(gn_synth_intervals_read("no-such-folder/x.csv", &list, &error), GIRTHLINE_CANNOT_READ);
}

static void refused_memory_leaves_no_list(void **state) {
  (void)state;
  for (size_t k = 1; k <= 2; k++) {
    gn_synth_intervals list;
    gn_memory_refuse(k);
    const girthline_status status = read_text("interval_s\n0.6\n", &list, NULL);
    gn_memory_refuse(0);
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
    assert_null(list.len_s);
  }
}

static void given_intervals_are_used_in_turn_and_over_again(void **state) {
  (void)state;
  double len_s[] = {0.8, 1.0, 0.55, 1.25};
  bool early[] = {false, false, true, false};
  const gn_synth_intervals list = {len_s, early, 4};
  gn_synth_spec spec = usual();
  spec.species = GIRTHLINE_HUMAN;
  spec.intervals = &list;
  whole *w = made(&spec);
  assert_true(w->facts.n_intervals > 25);
  for (size_t i = 0; i < w->facts.n_intervals; i++) assert_near(w->facts.intervals_s[i], len_s[i % 4], 1e-9);
  assert_true(w->facts.n_early >= 7);
  size_t s1 = 0;
  for (size_t k = 0; k < w->n_sounds; k++) {
    if (w->sounds[k].number != 1) continue;
    if (s1 == 3) assert_near(w->facts.early_s[0], w->sounds[k].onset_s, 1e-9); // the beat that ends the third interval
    s1++;
  }
  done(w);
}

static void an_empty_list_of_intervals_is_refused(void **state) {
  (void)state;
  const gn_synth_intervals none = {0};
  gn_synth_spec spec = usual();
  spec.intervals = &none;
  assert_int_equal(gn_synth_spec_check(&spec, NULL), GIRTHLINE_BAD_ARGUMENT);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_list_of_intervals_is_read_with_its_early_ones),
      cmocka_unit_test(what_is_no_list_of_intervals_is_refused_with_its_line),
      cmocka_unit_test(refused_memory_leaves_no_list),
      cmocka_unit_test(given_intervals_are_used_in_turn_and_over_again),
      cmocka_unit_test(an_empty_list_of_intervals_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
