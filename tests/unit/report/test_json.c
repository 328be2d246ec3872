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
#include "report/json.h"

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
  gn_result_undetermine(r, "/rate", "Too few beats.");
  gn_result_undetermine(r, "/rate/bpm", "The octave is not certain.");
  gn_result_undetermine(r, "/quality/best_span/start_s", "No clean run.");
  gn_result_undetermine(r, "/quality/best_span/end_s", "No clean run.");
  gn_result_undetermine(r, "/rhythm/pattern", "Eight intervals only.");
  json_t *root = written(r, "a.wav");
  const json_t *reasons = json_object_get(root, "undetermined");
  assert_string_equal(json_string_value(json_object_get(reasons, "/rate/bpm")), "The octave is not certain.");
  assert_string_equal(json_string_value(json_object_get(reasons, "/rate/min_bpm")), "Too few beats.");
  assert_string_equal(json_string_value(json_object_get(reasons, "/quality/best_span")), "No clean run.");
  assert_null(json_object_get(reasons, "/quality/best_span/end_s")); // a null has no parts
  assert_string_equal(json_string_value(json_object_get(reasons, "/rhythm/pattern")), "Eight intervals only.");
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

// Every field of the made result at its place and rounded, as support/made_result.c gives it.
static const char ALL_FIELDS[] =
    "/recording/duration_s 60\n/recording/sample_rate_hz 44100\n/recording/channels 1\n/recording/channel_used 1\n/recording/encoding WAV, 16-bit PCM\n"
    "/recording/repaired false\n/recording/recorded_at null\n/recording/side null\n/recording/area null\n/recording/minutes_after_exercise null\n"
    "/recording/from_s 0\n/recording/to_s 60\n/species horse\n/species_assumed true\n/age_days null\n/beats_source decoded\n/quality/grade good\n"
    "/quality/grade_reason the heart sounds stand 18 dB above the quiet parts\n/quality/usable_s 57.5\n/quality/heart_to_noise_db 18\n"
    "/quality/clipped_fraction 0\n/quality/hum_hz 50\n/quality/breaths_per_min 12.1\n/quality/problems/0/start_s 3.1\n/quality/problems/0/end_s 4.2\n"
    "/quality/problems/0/kind handling\n/quality/problems/1/start_s 30\n/quality/problems/1/end_s 31.4\n/quality/problems/1/kind breathing\n"
    "/quality/best_span/start_s 12.25\n/quality/best_span/end_s 22.75\n/beats/0/s1/onset_s 0.1\n/beats/0/s1/peak_s 0.14\n/beats/0/s1/offset_s 0.22\n"
    "/beats/0/s2/onset_s 0.6\n/beats/0/s2/peak_s 0.63\n/beats/0/s2/offset_s 0.68\n/beats/0/confidence 0.97\n/beats/0/name_confidence 0.95\n"
    "/extra_sounds/0/kind S4\n/extra_sounds/0/beats_fraction 0.8\n/extra_sounds/0/delay_s 0.21\n/extra_sounds/0/level_db -9.5\n"
    "/extra_sounds/0/confidence 0.9\n/extra_sounds/0/onsets_s/0 1.39\n/extra_sounds/0/onsets_s/1 2.89\n/rate/bpm 40\n/rate/mean_bpm 37.2\n"
    "/rate/settled_bpm 40\n/rate/settled_from_s 0\n/rate/min_bpm 34\n/rate/max_bpm 41.5\n/rate/counted/0/start_s 0\n/rate/counted/0/end_s 15\n"
    "/rate/counted/0/beats 10\n/rate/counted/0/bpm 40\n/rate/usual_range_bpm/0 28\n/rate/usual_range_bpm/1 44\n/rate/standing within\n"
    "/rhythm/pattern pauses\n/rhythm/explanation 38 of 40 intervals lie within 4 % of 1.50 s; one is 2.0 times as long\n/rhythm/confidence 0.93\n"
    "/rhythm/intervals/0/start_s 0.1\n/rhythm/intervals/0/end_s 1.6\n/rhythm/intervals/0/used true\n/rhythm/used_count 1\n/rhythm/mean_interval_s 1.5\n"
    "/rhythm/sdnn_ms 60.1\n/rhythm/rmssd_ms 71.3\n/rhythm/interval_cv_percent 4\n/rhythm/pnn50_percent 12.5\n/rhythm/sd1_ms 50.4\n/rhythm/sd2_ms 68.3\n"
    "/rhythm/sample_entropy null\n/rhythm/onset_jitter_ms 3.2\n/rhythm/longest_interval_s 3\n/rhythm/pauses/0/start_s 9.1\n/rhythm/pauses/0/end_s 12.1\n"
    "/rhythm/pauses/0/ratio 2\n/rhythm/pauses/0/atrial_onset_s/0 10.39\n/rhythm/early/0/onset_s 20.3\n/rhythm/early/0/ratio 0.71\n/murmur/present true\n"
    "/murmur/detection_limit_db/systole -24.2\n/murmur/detection_limit_db/diastole -26.6\n/murmur/phases/0/phase systole\n/murmur/phases/0/timing mid\n"
    "/murmur/phases/0/shape crescendo-decrescendo\n/murmur/phases/0/level_db -14.2\n/murmur/phases/0/level_db_interval/0 -15.1\n"
    "/murmur/phases/0/level_db_interval/1 -13\n/murmur/phases/0/loudness softer\n/murmur/phases/0/peak_hz 145\n/murmur/phases/0/band_hz/0 80\n"
    "/murmur/phases/0/band_hz/1 260\n/murmur/phases/0/musical false\n/murmur/phases/0/beats_fraction 0.92\n/murmur/phases/0/ends_before_s2 true\n"
    "/murmur/phases/0/start_fraction 0.2\n/murmur/phases/0/end_fraction 0.75\n/murmur/phases/0/confidence 0.9\n/findings/0/kind pauses\n"
    "/findings/0/text One pause of 3.00 s, 2.0 times the usual interval, with an atrial sound alone in it.\n"
    "/findings/0/evidence Longest interval 3.00 s against a usual 1.50 s.\n/findings/0/evidence_keys/0 /rhythm/pauses\n"
    "/findings/0/evidence_keys/1 /rhythm/longest_interval_s\n"
    "/findings/0/advice An ECG at rest settles what the pause is; exercise only on a veterinarian's decision.\n/findings/0/urgency routine\n";

static void flatten(const json_t *v, const char *pointer, char *out, size_t size) {
  char inner[300];
  for (void *i = json_object_iter((json_t *)v); i; i = json_object_iter_next((json_t *)v, i)) {
    snprintf(inner, sizeof inner, "%s/%s", pointer, json_object_iter_key(i));
    flatten(json_object_iter_value(i), inner, out, size);
  }
  for (size_t i = 0; i < json_array_size(v); i++) {
    snprintf(inner, sizeof inner, "%s/%zu", pointer, i);
    flatten(json_array_get(v, i), inner, out, size);
  }
  const size_t n = strlen(out);
  if (json_is_string(v)) snprintf(out + n, size - n, "%s %s\n", pointer, json_string_value(v));
  else if (json_is_number(v)) snprintf(out + n, size - n, "%s %g\n", pointer, json_number_value(v));
  else if (!json_is_object(v) && !json_is_array(v)) snprintf(out + n, size - n, "%s %s\n", pointer, json_is_null(v) ? "null" : json_is_true(v) ? "true" : "false");
}

static void every_field_stands_at_its_place(void **state) {
  (void)state;
  static const char *const APART[] = {"schema", "tool", "undetermined", "caution"};
  char got[8000] = "";
  girthline_result *r = made_result(1);
  json_t *root = written(r, "a.wav");
  for (size_t i = 0; i < sizeof APART / sizeof *APART; i++) assert_int_equal(json_object_del(root, APART[i]), 0);
  json_object_del(json_object_get(root, "recording"), "file");
  json_object_del(json_object_get(root, "recording"), "content_hash");
  flatten(root, "", got, sizeof got);
  assert_string_equal(got, ALL_FIELDS);
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
  root = written(r, "\xFF" "AZaz09-._~/%@[`{:"); // RFC 3986, 2.3: letters, digits and - . _ ~ stay; what stands beside them in ASCII does not
  assert_string_equal(json_string_value(at(root, "recording", "file_percent")), "%FFAZaz09-._~/%25%40%5B%60%7B%3A");
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

// A sink with room for so many pieces.
typedef struct pieces {
  gn_buffer text;
  size_t n, room, longest_bytes, n_refused;
} pieces;

static int take(void *user, const void *bytes, size_t n_bytes) {
  pieces *p = user;
  if (p->n == p->room) {
    p->n_refused++;
    return -1;
  }
  p->n++;
  if (n_bytes > p->longest_bytes) p->longest_bytes = n_bytes;
  gn_buffer_add(&p->text, bytes, n_bytes);
  return 0;
}

// 4000 beats make some megabyte: no piece is a tenth of it.
static void a_report_written_in_pieces_is_the_same(void **state) {
  (void)state;
  girthline_result *r = made_result(4000);
  const girthline_report_input inputs[] = {{.result = r, .name = "a"}, {.result = r, .name = "b"}};
  for (int form = 0; form < 3; form++) {
    const size_t n = form == 2 ? 2 : 1;
    char *whole = form == 0 ? girthline_report_json(inputs, 1, NULL) : girthline_reports_json(inputs, n, NULL);
    pieces p = {.room = SIZE_MAX};
    assert_int_equal(gn_json_write(inputs, n, form == 1, (gn_sink){take, &p}, NULL), GIRTHLINE_OK);
    assert_string_equal(p.text.text, whole);
    assert_true(p.n > 10 && 10 * p.longest_bytes < p.text.n);
    gn_buffer_clear(&p.text);
    for (size_t room = 0; room < p.n; room++) {
      pieces few = {.room = room};
      girthline_error error = {0};
      assert_int_equal(gn_json_write(inputs, n, form == 1, (gn_sink){take, &few}, &error), GIRTHLINE_CANNOT_WRITE);
      assert_int_equal(few.n, room);
      assert_int_equal(few.n_refused, 1); // a disk with room again would get a text with a hole
      assert_true(!room || !memcmp(few.text.text, whole, few.text.n));
      gn_buffer_clear(&few.text);
    }
    girthline_text_free(whole);
  }
  girthline_result_free(r);
}

static int drop(void *user, const void *bytes, size_t n_bytes) {
  (void)user, (void)bytes, (void)n_bytes;
  return 0;
}

static void refused_memory_ends_a_report_written_in_pieces(void **state) {
  (void)state;
  girthline_result *r = made_result(4);
  const girthline_report_input input = {.result = r, .name = "a\xFF.wav"};
  girthline_error error = {.status = GIRTHLINE_NO_MEMORY};
  size_t k = 0;
  while (error.status != GIRTHLINE_OK) {
    error = (girthline_error){0};
    gn_memory_refuse(++k);
    const girthline_status status = gn_json_write(&input, 1, false, (gn_sink){drop, NULL}, &error);
    gn_memory_refuse(0);
    assert_int_equal(status, error.status);
    assert_true(status == GIRTHLINE_OK || status == GIRTHLINE_NO_MEMORY);
  }
  assert_true(k > 5);
  girthline_result_free(r);
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
      cmocka_unit_test(every_field_stands_at_its_place),
      cmocka_unit_test(numbers_are_short_and_rounded),
      cmocka_unit_test(a_comma_locale_changes_nothing),
      cmocka_unit_test(hostile_names_stay_valid_and_come_back),
      cmocka_unit_test(a_name_that_is_not_utf8_keeps_its_bytes_in_percent_form),
      cmocka_unit_test(a_name_of_4096_bytes_is_written_whole),
      cmocka_unit_test(several_reports_have_pointers_of_their_own),
      cmocka_unit_test(a_report_written_in_pieces_is_the_same),
      cmocka_unit_test(refused_memory_ends_a_report_written_in_pieces),
      cmocka_unit_test(refused_memory_gives_no_report_and_one_sentence),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
