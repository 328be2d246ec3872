// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/wrap.h"

#include <string.h>

#include "base/memory.h"
#include "support.h"

static void is_row(const char *const *cells, const int *widths, size_t n, const char *expected) {
  gn_wrap w = {.width = 80};
  gn_wrap_row(&w, 2, cells, widths, n);
  char *text = gn_buffer_take(&w.out);
  assert_non_null(text);
  assert_string_equal(text, expected);
  gn_free(text);
}

static void a_row_that_fits_is_one_line_without_spaces_at_its_end(void **state) {
  (void)state;
  is_row((const char *const[]){"Rate", "36.7", ""}, (const int[]){6, 5, 4}, 3, "  Rate    36.7\n");
  is_row((const char *const[]){"", "first", "second"}, (const int[]){6, 5, 6}, 3, "          first  second\n");
}

static void a_long_cell_goes_on_in_its_column(void **state) {
  (void)state;
  is_row((const char *const[]){"Rate at rest, a minute", "crescendo-decrescendo", "within"}, (const int[]){13, 11, 6}, 3,
         "  Rate at rest,  crescendo-   within\n"
         "  a minute       decrescendo\n");
}

static void a_word_longer_than_its_column_is_broken(void **state) {
  (void)state;
  is_row((const char *const[]){"abcdefgh", "x"}, (const int[]){3, 1}, 2, "  abc  x\n  def\n  gh\n");
}

static void a_wide_character_is_never_halved(void **state) {
  (void)state;
  is_row((const char *const[]){"\xE9\xA6\xAC\xE9\xA6\xAC", "x"}, (const int[]){3, 1}, 2, "  \xE9\xA6\xAC   x\n  \xE9\xA6\xAC\n");
  is_row((const char *const[]){"\xE9\xA6\xAC", "x"}, (const int[]){1, 1}, 2, "  \xE9\xA6\xAC x\n");
}

static void a_number_and_its_unit_stand_on_one_line(void **state) {
  (void)state;
  gn_wrap w = {.width = 40};
  gn_wrap_paragraph(&w, GN_PLAIN, "", 0, 0, "The heart lies over the quiet parts by 8 dB or more.");
  char *text = gn_buffer_take(&w.out);
  assert_string_equal(text, "The heart lies over the quiet parts by\n8 dB or more.\n");
  gn_free(text);
}

static void nothing_is_an_empty_line(void **state) {
  (void)state;
  is_row((const char *const[]){"", ""}, (const int[]){3, 3}, 2, "\n");
}

static void what_acts_on_a_terminal_shows_as_a_question_mark(void **state) {
  (void)state;
  is_row((const char *const[]){"a\033[1m", "\xFF"}, (const int[]){5, 1}, 2, "  a?[1m  \xEF\xBF\xBD\n");
}

static void on_a_narrow_terminal_a_text_stands_under_its_label(void **state) {
  (void)state;
  gn_wrap w = {.width = 40};
  gn_wrap_paragraph(&w, GN_PLAIN, "soon", 2, 15, "An ECG at rest first, and rest until then.");
  gn_wrap_paragraph(&w, GN_PLAIN, "", 15, 15, "Echocardiography settles where it comes from.");
  char *text = gn_buffer_take(&w.out);
  assert_string_equal(text, "  soon\n    An ECG at rest first, and rest until\n    then.\n    Echocardiography settles where it\n    comes from.\n");
  gn_free(text);
}

static void a_label_too_long_for_its_column_stands_over_the_text(void **state) {
  (void)state;
  gn_wrap w = {.width = 48};
  gn_wrap_paragraph(&w, GN_PLAIN, "left mitral", 2, 14, "Rate: 36.");
  gn_wrap_paragraph(&w, GN_PLAIN, "left\nmitral!", 2, 14, "Rate: 37."); // reaches the column: no space would part them
  gn_wrap_paragraph(&w, GN_PLAIN, "behind the elbow with the foreleg advanced, the second time", 2, 14, "Rate: 38.");
  gn_wrap_heading(&w, "What was given by hand, of the animal and of all");
  char *text = gn_buffer_take(&w.out);
  assert_string_equal(text, "  left mitral Rate: 36.\n"
                            "  left?mitral!\n              Rate: 37.\n"
                            "  behind the elbow with the foreleg advanced,\n    the second time\n              Rate: 38.\n"
                            "\nWhat was given by hand, of the animal and of all\n");
  gn_free(text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_row_that_fits_is_one_line_without_spaces_at_its_end), cmocka_unit_test(a_long_cell_goes_on_in_its_column),
      cmocka_unit_test(a_word_longer_than_its_column_is_broken),               cmocka_unit_test(a_wide_character_is_never_halved),
      cmocka_unit_test(a_label_too_long_for_its_column_stands_over_the_text),
      cmocka_unit_test(on_a_narrow_terminal_a_text_stands_under_its_label),
      cmocka_unit_test(a_number_and_its_unit_stand_on_one_line),
      cmocka_unit_test(nothing_is_an_empty_line),                              cmocka_unit_test(what_acts_on_a_terminal_shows_as_a_question_mark),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
