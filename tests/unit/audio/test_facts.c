// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "audio/facts.h"

static void a_date_is_given_as_iso_8601_or_not_at_all(void **state) {
  (void)state;
  static const struct { const char *date, *time, *want; } table[] = {
      {"2026-05-03", "14:22:11", "2026-05-03T14:22:11"}, {"2026_05_03", "14.22.11", "2026-05-03T14:22:11"},
      {"2026:05:03", "", "2026-05-03"},                  {"2026/05/03 07:08", NULL, "2026-05-03T07:08:00"},
      {"2026-05-03T14:22:11Z", NULL, "2026-05-03T14:22:11Z"}, {"  2026-02-28", NULL, "2026-02-28"},
      {"2024-02-29", NULL, "2024-02-29"},                {"2026-02-29", NULL, "2026-02"},
      {"2000-02-29", NULL, "2000-02-29"},                {"1900-02-29", NULL, "1900-02"},
      {"2026-05-03", "12:00:61", "2026-05-03"},          {"2016-12-31", "23:59:60", "2016-12-31T23:59:60"},
      {"2026", NULL, "2026"},                            {"2026-05", NULL, "2026-05"},
      {"2026-13-01", NULL, "2026"},                      {"2026-05-03", "25:00:00", "2026-05-03"},
      {"0000-00-00", "00:00:00", ""},                    {"", NULL, ""},
      {NULL, NULL, ""},                                  {"yesterday", NULL, ""},
      {"20260503", NULL, ""},                            {"03.05.2026", NULL, ""},
      {"\x80\xff\x01", NULL, ""},                        {"2026-05-03T", NULL, "2026-05-03"},
      {"2026-05-03 1", NULL, "2026-05-03"},
  };
  char text[40];
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    gn_audio_date(table[i].date, table[i].time, text, sizeof text);
    assert_string_equal(text, table[i].want);
  }
}

static void a_shown_name_is_valid_utf8_and_keeps_its_end(void **state) {
  (void)state;
  char name[1000], text[400];
  gn_audio_shown_name("h\xc3\xa4mmer \xe4\xb8\xad \xf0\x9f\x90\xb4.wav", text, sizeof text);
  assert_string_equal(text, "h\xc3\xa4mmer \xe4\xb8\xad \xf0\x9f\x90\xb4.wav");
  gn_audio_shown_name("latin\xe4.wav \xc0\xaf \xed\xa0\x80", text, sizeof text);
  assert_string_equal(text, "latin?.wav ?? ???");
  memset(name, 'x', sizeof name);
  strcpy(name + sizeof name - 9, "horse.wa");
  gn_audio_shown_name(name, text, sizeof text);
  assert_int_equal(strlen(text), 303);
  assert_memory_equal(text, "...", 3);
  assert_string_equal(text + 303 - 8, "horse.wa");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_date_is_given_as_iso_8601_or_not_at_all),
      cmocka_unit_test(a_shown_name_is_valid_utf8_and_keeps_its_end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
