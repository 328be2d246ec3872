// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The JSON report, read back with a reader of its own (jansson), which refuses ill-formed text and doubled keys.
#include "support.h"

#include <locale.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/report.h>
#include <jansson.h>

#include "base/memory.h"
#include "base/result.h"
#include "made_result.h"
#include "report/buffer.h"

static json_t *written(const girthline_result *result, const char *name) {
  const girthline_report_input input = {.result = result, .name = name, .content_hash = "xxh3-128:99aa06d3014798d86001c324468d497f"};
  girthline_error error = {0};
  char *text = girthline_report_json(&input, 1, &error);
  assert_non_null(text);
  json_error_t where;
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &where);
  if (!root) print_error("line %d: %s\n", where.line, where.text);
  assert_non_null(root);
  assert_int_equal(text[strlen(text) - 1], '\n');
  girthline_text_free(text);
  return root;
}

static const json_t *at(const json_t *root, const char *a, const char *b) { return json_object_get(json_object_get(root, a), b); }

// Counts the nulls below value; each must have a filled reason under its pointer.
static size_t nulls_with_reasons(const json_t *value, const char *pointer, const json_t *reasons) {
  size_t n = 0;
  char inner[300];
  if (json_is_null(value)) {
    const char *reason = json_string_value(json_object_get(reasons, pointer));
    if (!reason || !*reason) fail_msg("%s has no reason", pointer);
    return 1;
  }
  if (json_is_object(value)) {
    for (void *i = json_object_iter((json_t *)value); i; i = json_object_iter_next((json_t *)value, i)) {
      snprintf(inner, sizeof inner, "%s/%s", pointer, json_object_iter_key(i));
      n += nulls_with_reasons(json_object_iter_value(i), inner, reasons);
    }
  }
  for (size_t i = 0; json_is_array(value) && i < json_array_size(value); i++) {
    snprintf(inner, sizeof inner, "%s/%zu", pointer, i);
    n += nulls_with_reasons(json_array_get(value, i), inner, reasons);
  }
  return n;
}

static void every_null_of_an_empty_result_has_a_reason(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  json_t *root = written(r, "quiet.wav");
  const json_t *reasons = json_object_get(root, "undetermined");
  const size_t n = nulls_with_reasons(root, "", reasons);
  assert_true(n > 30);
  assert_int_equal(json_object_size(reasons), n);
  assert_true(json_is_null(at(root, "rate", "bpm")));
  assert_string_equal(json_string_value(at(root, "rhythm", "pattern")), "undetermined");
  json_decref(root);
  girthline_result_free(r);
}

static void every_null_of_a_beat_has_a_reason(void **state) {
  (void)state;
  girthline_result *r = made_result(5);
  r->beats[2].s2_onset_s = NAN;
  r->beats[3].s1_onset_s = NAN;
  r->beats[4].confidence = NAN;
  r->beats[4].s1_offset_s = NAN;
  json_t *root = written(r, "a.wav");
  const json_t *reasons = json_object_get(root, "undetermined");
  nulls_with_reasons(root, "", reasons);
  assert_non_null(json_object_get(reasons, "/beats/2/s2"));
  assert_non_null(json_object_get(reasons, "/beats/3/s1"));
  assert_non_null(json_object_get(reasons, "/beats/4/confidence"));
  assert_non_null(json_object_get(reasons, "/beats/4/s1/offset_s"));
  json_decref(root);
  girthline_result_free(r);
}

static void a_reason_comes_from_the_stage_then_from_the_part_around_it(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  gn_result_undetermine(r, "/rate", "too few beats");
  gn_result_undetermine(r, "/rate/bpm", "the octave is not certain");
  gn_result_undetermine(r, "/quality/best_span/start_s", "no clean run");
  gn_result_undetermine(r, "/rhythm/pattern", "eight intervals only");
  json_t *root = written(r, "a.wav");
  const json_t *reasons = json_object_get(root, "undetermined");
  assert_string_equal(json_string_value(json_object_get(reasons, "/rate/bpm")), "the octave is not certain");
  assert_string_equal(json_string_value(json_object_get(reasons, "/rate/min_bpm")), "too few beats");
  assert_string_equal(json_string_value(json_object_get(reasons, "/quality/best_span")), "no clean run");
  assert_string_equal(json_string_value(json_object_get(reasons, "/rhythm/pattern")), "eight intervals only");
  json_decref(root);
  girthline_result_free(r);
}

static void a_reason_for_a_value_that_was_determined_is_dropped(void **state) {
  (void)state;
  girthline_result *r = made_result(3);
  gn_result_undetermine(r, "/rate/bpm", "stale");
  gn_result_undetermine(r, "/extra_sounds", "kept: the list could not be judged as a whole");
  json_t *root = written(r, "a.wav");
  assert_null(json_object_get(json_object_get(root, "undetermined"), "/rate/bpm"));
  assert_non_null(json_object_get(json_object_get(root, "undetermined"), "/extra_sounds"));
  json_decref(root);
  girthline_result_free(r);
}

static void keys_stand_in_the_stated_order(void **state) {
  (void)state;
  static const char *const KEYS[] = {"schema",       "tool", "recording", "species", "species_assumed", "age_days",     "beats_source", "quality", "beats",
                                     "extra_sounds", "rate", "rhythm",    "murmur",  "findings",        "undetermined", "caution"};
  girthline_result *r = made_result(3);
  json_t *root = written(r, "a.wav");
  size_t i = 0;
  for (void *it = json_object_iter(root); it; it = json_object_iter_next(root, it)) assert_string_equal(json_object_iter_key(it), KEYS[i++]);
  assert_int_equal(i, sizeof KEYS / sizeof *KEYS);
  json_decref(root);
  girthline_result_free(r);
}

static void values_come_back_as_they_were_given(void **state) {
  (void)state;
  girthline_result *r = made_result(3);
  json_t *root = written(r, "a.wav");
  assert_near(json_number_value(at(root, "rate", "mean_bpm")), 37.2, 0);
  assert_near(json_number_value(at(root, "rhythm", "sdnn_ms")), 60.1, 0);
  const json_t *s1 = json_object_get(json_array_get(json_object_get(root, "beats"), 1), "s1");
  assert_near(json_number_value(json_object_get(s1, "onset_s")), 1.6, 0);
  assert_near(json_number_value(json_object_get(s1, "offset_s")), 1.72, 0);
  assert_near(json_number_value(at(json_object_get(root, "murmur"), "detection_limit_db", "diastole")), -26.6, 0);
  assert_true(json_is_true(at(root, "murmur", "present")));
  const json_t *phase = json_array_get(at(root, "murmur", "phases"), 0);
  assert_true(json_is_false(json_object_get(phase, "musical")));
  assert_string_equal(json_string_value(json_object_get(phase, "shape")), "crescendo-decrescendo");
  assert_string_equal(json_string_value(at(root, "quality", "grade")), "good");
  json_decref(root);
  girthline_result_free(r);
}

static void check_number(double value, int decimals, const char *want) {
  gn_buffer b = {0};
  gn_buffer_number(&b, value, decimals);
  char *text = gn_buffer_take(&b);
  assert_string_equal(text, want);
  gn_free(text);
}

static void numbers_are_short_and_rounded(void **state) {
  (void)state;
  check_number(0.1 + 0.2, 4, "0.3");
  check_number(38, 2, "38");
  check_number(-0.00001, 4, "0");
  check_number(-2.25, 2, "-2.25");
  check_number(-0.5, 1, "-0.5");
  check_number(1.005, 2, "1"); // the double lies below 1.005
  check_number(86399.99996, 4, "86400");
  check_number(1234.50, 3, "1234.5");
  check_number(1e18, 4, "1.0000000000000000e+18");
}

static void a_comma_locale_changes_nothing(void **state) {
  (void)state;
  if (!setlocale(LC_ALL, "de_DE.UTF-8") && !setlocale(LC_ALL, "de_DE")) {
    print_message("skipped: no comma locale on this machine\n");
    skip();
  }
  girthline_result *r = made_result(2);
  r->rate.max_bpm = 1e18;
  json_t *root = written(r, "a.wav");
  json_decref(root);
  girthline_result_free(r);
  setlocale(LC_ALL, "C");
}

static void hostile_names_stay_valid_and_come_back(void **state) {
  (void)state;
  static const char *const NAMES[] = {"", "\"quoted\" \\ back.wav", "two\nlines\tand\x01.wav", "</script><b>.wav", "\xE2\x80\xAEvaw.exe", "caf\xC3\xA9 \xF0\x9F\x90\xB4.wav", "\x7F.wav"};
  girthline_result *r = made_result(1);
  for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) {
    json_t *root = written(r, NAMES[i]);
    assert_string_equal(json_string_value(at(root, "recording", "file")), NAMES[i]);
    assert_null(at(root, "recording", "file_percent"));
    json_decref(root);
  }
  girthline_result_free(r);
}

static void a_name_that_is_not_utf8_keeps_its_bytes_in_percent_form(void **state) {
  (void)state;
  girthline_result *r = made_result(1);
  json_t *root = written(r, "a\xFF/\xC0\xAF \xED\xA0\x80.wav");
  assert_string_equal(json_string_value(at(root, "recording", "file")),
                      "a\xEF\xBF\xBD/\xEF\xBF\xBD\xEF\xBF\xBD \xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD.wav");
  assert_string_equal(json_string_value(at(root, "recording", "file_percent")), "a%FF/%C0%AF%20%ED%A0%80.wav");
  json_decref(root);
  girthline_result_free(r);
}

static void a_name_of_4096_bytes_is_written_whole(void **state) {
  (void)state;
  char *name = gn_new(4097, 1);
  memset(name, 'x', 4096);
  girthline_result *r = made_result(1);
  json_t *root = written(r, name);
  assert_string_equal(json_string_value(at(root, "recording", "file")), name);
  json_decref(root);
  girthline_result_free(r);
  gn_free(name);
}

static void several_reports_have_pointers_of_their_own(void **state) {
  (void)state;
  girthline_result *a = made_result(2), *b = gn_result_new();
  const girthline_report_input inputs[] = {{.result = a, .name = "a"}, {.result = b, .name = "b"}};
  char *text = girthline_report_json(inputs, 2, NULL);
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
  assert_string_equal(json_string_value(json_object_get(root, "schema")), "girthline.reports.v1");
  const json_t *reports = json_object_get(root, "reports");
  assert_int_equal(json_array_size(reports), 2);
  for (size_t i = 0; i < 2; i++) {
    const json_t *report = json_array_get(reports, i);
    nulls_with_reasons(report, "", json_object_get(report, "undetermined"));
  }
  json_decref(root);
  girthline_text_free(text);
  text = girthline_reports_json(inputs, 1, NULL);
  root = json_loads(text, 0, NULL);
  assert_int_equal(json_array_size(json_object_get(root, "reports")), 1);
  json_decref(root);
  girthline_text_free(text);
  girthline_result_free(a);
  girthline_result_free(b);
}

static void refused_memory_gives_no_report_and_one_sentence(void **state) {
  (void)state;
  girthline_result *r = made_result(300);
  r->beats[1].s2_onset_s = NAN;
  const girthline_report_input input = {.result = r, .name = "a\xFF.wav"};
  for (size_t k = 1;; k++) {
    girthline_error error = {0};
    gn_memory_refuse(k);
    char *text = girthline_report_json(&input, 1, &error);
    gn_memory_refuse(0);
    if (text) {
      assert_true(k > 5);
      assert_int_equal(error.status, GIRTHLINE_OK);
      girthline_text_free(text);
      break;
    }
    assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
  }
  girthline_result_free(r);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_null_of_an_empty_result_has_a_reason),
      cmocka_unit_test(every_null_of_a_beat_has_a_reason),
      cmocka_unit_test(a_reason_comes_from_the_stage_then_from_the_part_around_it),
      cmocka_unit_test(a_reason_for_a_value_that_was_determined_is_dropped),
      cmocka_unit_test(keys_stand_in_the_stated_order),
      cmocka_unit_test(values_come_back_as_they_were_given),
      cmocka_unit_test(numbers_are_short_and_rounded),
      cmocka_unit_test(a_comma_locale_changes_nothing),
      cmocka_unit_test(hostile_names_stay_valid_and_come_back),
      cmocka_unit_test(a_name_that_is_not_utf8_keeps_its_bytes_in_percent_form),
      cmocka_unit_test(a_name_of_4096_bytes_is_written_whole),
      cmocka_unit_test(several_reports_have_pointers_of_their_own),
      cmocka_unit_test(refused_memory_gives_no_report_and_one_sentence),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
