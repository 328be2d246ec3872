// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The examination file: what is read, what is refused, and in which words.
#include "support.h"

#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"
#include "clinic/date.h"
#include "clinic/exam.h"

#define REC "[recording a]\nfile = a.wav\n"

static girthline_status parse(const char *text, gn_exam **exam, girthline_error *error) {
  *exam = NULL;
  *error = (girthline_error){0};
  return gn_exam_parse(text, strlen(text), "visits/v.ini", exam, error);
}

static gn_exam *parsed(const char *text) {
  gn_exam *exam;
  girthline_error error;
  if (parse(text, &exam, &error) != GIRTHLINE_OK) print_error("%s\n", error.text);
  assert_non_null(exam);
  return exam;
}

static void each_fault_names_file_line_key_and_the_nearest_known_one(void **state) {
  (void)state;
  static const struct {
    const char *text, *says[3];
  } ROWS[] = {
      {"[animal]\nname = x\nspecis = horse\n" REC, {"visits/v.ini, line 3: ", "unknown key specis in [animal]", "did you mean species?"}},
      {"[animl]\n", {"line 1: ", "unknown section [animl]", "did you mean [animal]?"}},
      {"[recordng left]\n", {"line 1: ", "unknown section [recordng]", "did you mean [recording NAME]?"}},
      {"[qqqq]\n", {"line 1: ", "known are animal, examination, signs, recording NAME and elsewhere", ""}},
      {"[animal]\ncapillary_refill_s = 2\n", {"line 2: ", "the key capillary_refill_s belongs into [signs], not [animal]", ""}},
      {"[animal]\nqqqqqqq = 2\n", {"line 2: ", "unknown key qqqqqqq in [animal]; known are name, identifier", ""}},
      {"[signs]\n\ncapillary_refill_s = 2,5\n", {"line 3: ", "capillary_refill_s = 2,5: ", "a decimal point, not a comma"}},
      {"[signs]\npulse_per_min = 40 a minute\n", {"line 2: ", "pulse_per_min = 40 a minute: ", "without its unit"}},
      {"[signs]\npulse_per_min = nan\n", {"line 2: ", "not a plain number", ""}},
      {"[signs]\npulse_per_min = 1e3\n", {"line 2: ", "not a plain number", ""}},
      {"[signs]\ntemperature_c = 100.4\n", {"line 2: ", "from 25 to 45", ""}},
      {"[signs]\npulse_per_min = -1\n", {"line 2: ", "from 0 to 400", ""}},
      {"[animal]\nspecies = hose\n", {"line 2: ", "species = hose", "did you mean horse?"}},
      {"[recording a]\narea = mitrl\n", {"line 2: ", "area = mitrl", "did you mean mitral?"}},
      {"[recording a]\nside = middle\n", {"line 2: ", "write one of left, right", ""}},
      {"[recording a]\nminutes_after_exercise = 0,5\n", {"line 2: ", "minutes_after_exercise = 0,5", "not a comma"}},
      {"[examination]\ndate = 17.5.2026\n", {"line 2: ", "date = 17.5.2026", "write it as 2026-05-17"}},
      {"[examination]\ndate = 2026-02-30\n", {"line 2: ", "that is no day", ""}},
      {"[animal]\nborn = 2027-01-01\n[examination]\ndate = 2026-05-17\n" REC, {"line 2: ", "born lies after", ""}},
      {"[animal]\nname = a\nname = b\n", {"line 3: ", "the key name stands in line 2 of this section already", ""}},
      {"[animal]\nname =\nname = b\n", {"line 3: ", "stands in line 2", ""}},
      {"[animal]\n[signs]\n[animal]\n", {"line 3: ", "[animal] stands in line 1 already", ""}},
      {REC REC, {"line 3: ", "[recording a] stands in line 1 already", ""}},
      {"[recording]\n", {"line 1: ", "needs a name of its own", ""}},
      {"[animal x]\n", {"line 1: ", "only a recording's section has a name", ""}},
      {"[animal\n", {"line 1: ", "a section is written [name]", ""}},
      {"name = a\n", {"line 1: ", "before the first section", ""}},
      {"[animal]\nLinnet\n", {"line 2: ", "neither [section], key = value, nor a comment", ""}},
      {"[animal]\n= x\n", {"line 2: ", "the key before the = is missing", ""}},
      {"[signs]\nnotes = a\n pulse_per_mn = 40\n", {"line 3: ", "looks like a key", "first column"}},
      {"[signs]\nnotes = a\n [recording b]\n", {"line 3: ", "looks like a section", "first column"}},
      {"[recording a]\nnotes = b\n", {"line 1: ", "names no file", ""}},
      {"[animal]\nname = \xFF\n", {"line 2: ", "not UTF-8", ""}},
      {"\xFF\xFE[", {"line 1: ", "UTF-16", ""}},
      {"[animal]\nname = a\n", {"visits/v.ini: ", "no recording is named", ""}},
      {"", {"visits/v.ini: ", "no recording is named", ""}},
  };
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    gn_exam *exam;
    girthline_error error;
    const girthline_status status = parse(ROWS[i].text, &exam, &error);
    bool all = status == GIRTHLINE_BAD_HAND_FILE;
    for (int k = 0; k < 3; k++) all = all && strstr(error.text, ROWS[i].says[k]);
    if (!all) print_error("row %zu: status %d: %s\n", i, (int)status, error.text);
    assert_true(all);
    assert_null(exam);
  }
}

static void a_zero_byte_is_refused_with_its_line(void **state) {
  (void)state;
  static const char TEXT[] = "[animal]\nname = a\0b\n" REC;
  gn_exam *exam = NULL;
  girthline_error error = {0};
  assert_int_equal(gn_exam_parse(TEXT, sizeof TEXT - 1, "v.ini", &exam, &error), GIRTHLINE_BAD_HAND_FILE);
  assert_non_null(strstr(error.text, "v.ini, line 2: a zero byte"));
}

static void the_template_can_be_read_as_it_is(void **state) {
  (void)state;
  gn_exam *e = parsed(gn_exam_template());
  assert_int_equal(e->n_recordings, 4); // the one after exercise is left empty
  assert_int_equal(e->recordings[3].side, GIRTHLINE_RIGHT);
  assert_int_equal(e->recordings[3].area, GIRTHLINE_TRICUSPID);
  assert_true(e->species_given);
  assert_null(gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_NAME));
  gn_exam_free(e);
}

static void the_template_holds_every_key(void **state) {
  (void)state;
  for (int s = 0; s < GN_N_SECTIONS; s++)
    for (size_t k = 0; k < gn_exam_sections[s].n_keys; k++) {
      char line[80];
      snprintf(line, sizeof line, "\n%s =", gn_exam_sections[s].keys[k].name);
      if (!strstr(gn_exam_template(), line)) print_error("%s is missing\n", line + 1);
      assert_non_null(strstr(gn_exam_template(), line));
    }
}

static void values_are_read_as_written(void **state) {
  (void)state;
  gn_exam *e = parsed("\xEF\xBB\xBF# a comment\r\n; another\r\n[animal]\r\nname = \"Linnet\"\r\nspecies: foal ; young\r\nborn = 2026-05-01\r\n"
                      "[examination]\r\ndate = 2026-05-17T09:30\r\n[signs]\r\ncapillary_refill_s = 1.5 # quick\r\n  pulse_per_min = 80\r\n"
                      "[recording left mitral]\r\nfile = sub/a;b #1.wav\r\nside = left\r\narea = mitral\r\nminutes_after_exercise = 0");
  assert_string_equal(gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_NAME), "\"Linnet\"");
  assert_int_equal(e->species, GIRTHLINE_FOAL);
  assert_near(e->age_days, 16, 0);
  assert_false(e->age_is_least);
  assert_near(gn_exam_number(e, GN_SECTION_SIGNS, GN_SIGN_REFILL), 1.5, 0);
  assert_near(gn_exam_number(e, GN_SECTION_SIGNS, GN_SIGN_PULSE), 80, 0);
  assert_true(isnan(gn_exam_number(e, GN_SECTION_SIGNS, GN_SIGN_BREATHS)));
  assert_string_equal(e->recordings[0].name, "left mitral");
  assert_string_equal(e->recordings[0].path, "visits/sub/a;b #1.wav");
  assert_near(e->recordings[0].minutes_after_exercise, 0, 0);
  gn_exam_free(e);
}

static void notes_hold_any_text(void **state) {
  (void)state;
  gn_exam *e = parsed("[signs]\nnotes = one ; two # three = \"four\": [five] caf\xC3\xA9 \xF0\x9F\x90\xB4 <b>&amp;\n  # not a comment\n\n\t[ six ]\n; a comment\n  x = y\noedema = none\n" REC);
  assert_string_equal(gn_exam_text(e, GN_SECTION_SIGNS, GN_SIGN_NOTES),
                      "one ; two # three = \"four\": [five] caf\xC3\xA9 \xF0\x9F\x90\xB4 <b>&amp;\n# not a comment\n\n[ six ]\nx = y");
  assert_string_equal(gn_exam_text(e, GN_SECTION_SIGNS, GN_SIGN_OEDEMA), "none");
  gn_exam_free(e);
}

static void notes_of_four_kilobytes_on_one_line_are_kept_whole(void **state) {
  (void)state;
  char *text = malloc(6000), *notes = text + 16;
  int n = sprintf(text, "[signs]\nnotes = ");
  for (int i = 0; i < 4096; i++) text[n++] = i % 7 ? 'a' : ';';
  memcpy(text + n, "\n" REC, sizeof "\n" REC);
  gn_exam *e = parsed(text);
  assert_int_equal(strlen(gn_exam_text(e, GN_SECTION_SIGNS, GN_SIGN_NOTES)), 4096);
  assert_memory_equal(gn_exam_text(e, GN_SECTION_SIGNS, GN_SIGN_NOTES), notes, 4096);
  gn_exam_free(e);
  free(text);
}

static void a_value_of_more_than_64_kib_is_refused(void **state) {
  (void)state;
  const size_t n = GN_EXAM_MOST_VALUE_BYTES + 100;
  char *text = malloc(n);
  memset(text, 'a', n);
  memcpy(text, "[signs]\nnotes = ", 16);
  gn_exam *exam = NULL;
  girthline_error error = {0};
  assert_int_equal(gn_exam_parse(text, n, "v.ini", &exam, &error), GIRTHLINE_BAD_HAND_FILE);
  assert_non_null(strstr(error.text, "line 2: the value is longer than 64 KiB"));
  free(text);
}

static void absolute_and_parent_paths_are_kept(void **state) {
  (void)state;
  gn_exam *e = parsed("[recording a]\nfile = ../x.wav\n[recording b]\nfile = /y.wav\n[recording c]\nfile =\n");
  assert_int_equal(e->n_recordings, 2);
  assert_string_equal(e->recordings[0].path, "visits/../x.wav");
  assert_string_equal(e->recordings[1].path, "/y.wav");
  gn_exam_free(e);
}

static void a_year_of_birth_gives_the_least_age(void **state) {
  (void)state;
  gn_exam *e = parsed("[animal]\nborn = 2024\n[examination]\ndate = 2026-01-01\n" REC);
  assert_near(e->age_days, 366, 0); // from 2024-12-31
  assert_true(e->age_is_least);
  gn_exam_free(e);
}

static void dates_are_days_of_the_calendar(void **state) {
  (void)state;
  gn_date d;
  assert_true(gn_date_parse("1970-01-01", false, &d));
  assert_int_equal(d.first, 0);
  assert_true(gn_date_parse("2000-03-01", false, &d)); // 11017: 30 years with 8 leap days, 31 + 29 days
  assert_int_equal(d.first, 11017);
  assert_true(gn_date_parse("2026-05-17T09:30:00+02:00", false, &d));
  assert_true(gn_date_parse("2024-02-29", false, &d));
  assert_false(gn_date_parse("2023-02-29", false, &d));
  assert_false(gn_date_parse("1900-02-29", false, &d));
  assert_false(gn_date_parse("2026-05", false, &d));
  assert_true(gn_date_parse("2026-05", true, &d));
  assert_int_equal(d.last - d.first, 30);
  assert_false(gn_date_parse("2026-05-17 ", false, &d));
  assert_false(gn_date_parse("2026-05-17T24:00", false, &d));
  assert_true(gn_date_parse("2026-05-17T23:59:60", false, &d)); // ISO 8601 has a leap second
  assert_false(gn_date_parse("2026-05-17T23:59:61", false, &d));
  assert_false(gn_date_parse("2026-05-17T23:60", false, &d));
  assert_false(gn_date_parse("1899-12-31", false, &d)); // a slip of the pen: no animal of a history is so old
  assert_false(gn_date_parse("2026-13-01", true, &d));
  assert_false(gn_date_parse("", true, &d));
}

static void what_is_no_regular_file_is_not_opened(void **state) {
  (void)state;
  char folder[] = "exam-XXXXXX", path[40];
  assert_non_null(mkdtemp(folder));
  snprintf(path, sizeof path, "%s/pipe", folder);
  assert_int_equal(mkfifo(path, 0600), 0);
  static const char *const ODD[] = {NULL, "/dev/zero", "."};
  for (int i = 0; i < 3; i++) {
    gn_exam *exam = NULL;
    girthline_error error = {0};
    assert_int_equal(gn_exam_read(ODD[i] ? ODD[i] : path, &exam, &error), GIRTHLINE_CANNOT_READ);
    assert_non_null(strstr(error.text, "not a regular file"));
  }
  unlink(path);
  rmdir(folder);
}

// Every request refused once: an error each time, and nothing kept (the leak checker looks).
static void refused_memory_is_said_wherever_it_happens(void **state) {
  (void)state;
  static const char TEXT[] = "[animal]\nname = a\nspecies = horse\n[signs]\nnotes = b\n  c\n\n  d\n[recording x]\nfile = x.wav\n[recording y]\nfile = y.wav\nside = left\n[recording z]\n";
  gn_exam *exam = NULL;
  size_t k = 1;
  for (;; k++) {
    girthline_error error = {0};
    gn_memory_refuse(k);
    const girthline_status status = gn_exam_parse(TEXT, sizeof TEXT - 1, "v/v.ini", &exam, &error);
    gn_memory_refuse(0);
    if (status == GIRTHLINE_OK) break;
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
    assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
  }
  assert_true(k > 10);
  gn_exam_free(exam);
  gn_exam_free(NULL);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_fault_names_file_line_key_and_the_nearest_known_one),
      cmocka_unit_test(a_zero_byte_is_refused_with_its_line),
      cmocka_unit_test(the_template_can_be_read_as_it_is),
      cmocka_unit_test(the_template_holds_every_key),
      cmocka_unit_test(values_are_read_as_written),
      cmocka_unit_test(notes_hold_any_text),
      cmocka_unit_test(notes_of_four_kilobytes_on_one_line_are_kept_whole),
      cmocka_unit_test(a_value_of_more_than_64_kib_is_refused),
      cmocka_unit_test(absolute_and_parent_paths_are_kept),
      cmocka_unit_test(a_year_of_birth_gives_the_least_age),
      cmocka_unit_test(dates_are_days_of_the_calendar),
      cmocka_unit_test(what_is_no_regular_file_is_not_opened),
      cmocka_unit_test(refused_memory_is_said_wherever_it_happens),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
