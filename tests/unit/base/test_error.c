// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/error.h"

static void the_first_error_wins(void **state) {
  (void)state;
  girthline_error error = {0};
  assert_int_equal(gn_error_set(&error, GIRTHLINE_NOT_AUDIO, "audio", "%s is no sound", "a.wav"), GIRTHLINE_NOT_AUDIO);
  assert_int_equal(gn_error_set(&error, GIRTHLINE_NO_MEMORY, "segment", "later"), GIRTHLINE_NO_MEMORY);
  assert_int_equal(error.status, GIRTHLINE_NOT_AUDIO);
  assert_string_equal(error.stage, "audio");
  assert_string_equal(error.text, "a.wav is no sound");
}

static void no_error_object_is_fine(void **state) {
  (void)state;
  assert_int_equal(gn_error_set(NULL, GIRTHLINE_LIMIT, "audio", "x"), GIRTHLINE_LIMIT);
  assert_int_equal(gn_error_memory(NULL, "audio"), GIRTHLINE_NO_MEMORY);
}

static void control_characters_in_a_name_cannot_break_the_line(void **state) {
  (void)state;
  girthline_error error = {0};
  gn_error_set(&error, GIRTHLINE_CANNOT_READ, "audio", "%s", "a\nb\x1b[31m\x7f caf\xc3\xa9");
  assert_string_equal(error.text, "a?b?[31m? caf\xc3\xa9");
}

static void a_text_too_long_is_cut_and_ended(void **state) {
  (void)state;
  girthline_error error = {0};
  char name[3000];
  memset(name, 'n', sizeof name - 1);
  name[sizeof name - 1] = 0;
  gn_error_set(&error, GIRTHLINE_CANNOT_READ, "a stage with a name far too long for its room", "%s", name);
  assert_int_equal(strlen(error.text), sizeof error.text - 1);
  assert_int_equal(strlen(error.stage), sizeof error.stage - 1);
}

static void every_status_has_its_own_sentence(void **state) {
  (void)state;
  for (int i = GIRTHLINE_OK; i <= GIRTHLINE_REFUSED; i++) {
    const char *text = girthline_status_text((girthline_status)i);
    assert_true(strlen(text) > 3);
    for (int j = GIRTHLINE_OK; j < i; j++) assert_string_not_equal(text, girthline_status_text((girthline_status)j));
  }
  assert_non_null(girthline_status_text((girthline_status)99));
}

static void a_memory_error_names_a_remedy(void **state) {
  (void)state;
  girthline_error error = {0};
  gn_error_memory(&error, "murmur");
  assert_string_equal(error.stage, "murmur");
  assert_non_null(strstr(error.text, "--from"));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_first_error_wins),
      cmocka_unit_test(no_error_object_is_fine),
      cmocka_unit_test(control_characters_in_a_name_cannot_break_the_line),
      cmocka_unit_test(a_text_too_long_is_cut_and_ended),
      cmocka_unit_test(every_status_has_its_own_sentence),
      cmocka_unit_test(a_memory_error_names_a_remedy),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
