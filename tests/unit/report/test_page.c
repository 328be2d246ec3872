// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "report/events.h"
#include "report/figures.h"
#include "report/text_parts.h"
#include "report/units.h"
#include "sample_result.h"

typedef struct sample {
  girthline_result *result;
  void *sound;
  girthline_report_input input;
} sample;

static sample sample_new(girthline_result *result) {
  sample s = {.result = result};
  size_t n = 0;
  sample_sound(&s.sound, &n);
  s.input = (girthline_report_input){result, "bay-mare.wav", NULL, s.sound, n, "xxh3-128:0"};
  return s;
}

static void sample_free(sample *s) {
  girthline_result_free(s->result);
  free(s->sound);
}

static char *page_of(const sample *s, const girthline_report_options *options) {
  girthline_error error = {0};
  char *page = girthline_report_html(&s->input, 1, options, &error);
  if (!page) print_error("%s\n", error.text);
  assert_non_null(page);
  return page;
}

static size_t count(const char *text, const char *what) {
  size_t n = 0;
  for (const char *at = text; (at = strstr(at, what)); at += strlen(what)) n++;
  return n;
}

static void the_parts_stand_in_reading_order(void **state) {
  (void)state;
  static const char *const ORDER[] = {"<!DOCTYPE html>",  "name=\"generator\" content=\"girthline\"",
                                      "class=\"answer\"", "class=\"trust\"",
                                      "class=\"listen\"", "class=\"numbers\"",
                                      "class=\"method\"", "class=\"caution\"",
                                      "</html>"};
  sample s = sample_new(sample_result_full());
  char *page = page_of(&s, NULL);
  const char *at = page;
  for (size_t i = 0; i < sizeof ORDER / sizeof ORDER[0]; i++) {
    at = strstr(at, ORDER[i]);
    if (!at) print_error("%s is missing or out of order\n", ORDER[i]);
    assert_non_null(at);
  }
  girthline_text_free(page);
  sample_free(&s);
}

static void a_recording_is_headed_by_its_file_s_own_name(void **state) {
  (void)state;
  static const char *const NAMES[][2] = {{"clinic/2026/bay-mare.wav", "bay-mare.wav"}, {"bay-mare.wav", "bay-mare.wav"}, {"clinic/", "clinic/"}, {NULL, "recording"}};
  sample s = sample_new(sample_result_full());
  for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) {
    char heading[64], title[64], file[64];
    s.input.name = NAMES[i][0];
    snprintf(heading, sizeof heading, "-name\">%s</h2>", NAMES[i][1]);
    snprintf(title, sizeof title, "<title>%s: heart sounds</title>", NAMES[i][1]);
    snprintf(file, sizeof file, "<dt>File</dt><dd>%s</dd>", NAMES[i][0] ? NAMES[i][0] : "recording");
    char *page = page_of(&s, NULL);
    assert_int_equal(count(page, heading), 1);
    assert_int_equal(count(page, title), 1);
    assert_int_equal(count(page, file), 1);
    girthline_text_free(page);
  }
  sample_free(&s);
}

static void the_page_carries_all_pictures_and_four_sounds(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  char *page = page_of(&s, NULL);
  assert_int_equal(count(page, "<figure"), GN_N_FIGURES + 2); // the pause and the early beat
  assert_int_equal(count(page, "<svg"), 2 * (GN_N_FIGURES + 2) - 1); // for a wide page and a telephone, but for the square one
  assert_int_equal(count(page, "<audio"), 4);
  assert_true(strlen(page) < 2000000);
  girthline_text_free(page);
  sample_free(&s);
}

static void a_murmur_that_the_findings_do_not_carry_is_uncertain(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  s.result->limits.findings.murmur_confidence = 0;
  char *page = page_of(&s, NULL);
  assert_null(strstr(page, "Uncertain: "));
  girthline_text_free(page);
  s.result->limits.findings.murmur_confidence = 1;
  page = page_of(&s, NULL);
  assert_non_null(strstr(page, "Uncertain: too little speaks for it."));
  girthline_text_free(page);
  sample_free(&s);
}

static void nothing_is_asked_of_the_network(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  char *page = page_of(&s, NULL);
  assert_non_null(strstr(page, "default-src 'none'"));
  assert_null(strstr(page, "unsafe-inline"));
  assert_null(strstr(page, " style="));
  for (const char *at = page; (at = strstr(at, "http")); at += 4) assert_true(!strncmp(at, "http-equiv", 10) || !strncmp(at, "http://www.w3.org/2000/svg", 26));
  assert_null(strstr(page, "src=\"/"));
  girthline_text_free(page);
  sample_free(&s);
}

static void without_sound_no_sound_is_in_it(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  const girthline_report_options options = {.no_sound = true};
  char *page = page_of(&s, &options);
  assert_null(strstr(page, "<audio"));
  assert_null(strstr(page, "data:audio"));
  assert_non_null(strstr(page, "left out of this page on request"));
  girthline_text_free(page);
  sample_free(&s);
}

static void what_is_not_determined_says_why(void **state) {
  (void)state;
  sample s = sample_new(sample_result_empty());
  const girthline_report_options options = {.no_sound = true};
  char *page = page_of(&s, &options);
  assert_true(count(page, "No beat was found that could be relied on.") >= 10);
  assert_true(count(page, "Not determined") >= 3);
  assert_null(strstr(page, ">nan"));
  assert_null(strstr(page, ">-nan"));
  assert_non_null(strstr(page, "Unusable recording."));
  girthline_text_free(page);
  sample_free(&s);
}

static void of_an_unusable_recording_what_is_not_determined_is_folded(void **state) {
  (void)state;
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_empty());
  char *page = page_of(&s, &options);
  assert_int_equal(count(page, "class=\"folded\""), 1);
  assert_null(strstr(page, "<span class=\"missing\">")); // no row of the table is without a number
  assert_null(strstr(page, "none found"));               // nothing is said to be missing where nothing was heard
  assert_non_null(strstr(page, "<li>Mean rate: "));
  assert_null(strstr(page, ">Rhythm</th>")); // nor a heading without a row
  girthline_text_free(page);
  sample_free(&s);
  s = sample_new(sample_result_full());
  s.result->rhythm.sample_entropy = NAN;
  page = page_of(&s, &options);
  assert_null(strstr(page, "class=\"folded\""));
  assert_non_null(strstr(page, "<span class=\"missing\">"));
  assert_int_equal(count(page, "<tbody "), 5);
  assert_int_equal(count(page, "</tbody>"), 5);
  girthline_text_free(page);
  sample_free(&s);
}

static void a_part_is_not_told_as_the_whole(void **state) {
  (void)state;
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_full());
  s.result->recording.from_s = 0, s.result->recording.to_s = s.result->recording.duration_s;
  for (int part = 0; part < 2; part++) {
    if (part) s.result->recording.from_s = 5;
    char *page = page_of(&s, &options);
    assert_int_equal(count(page, " (analysed: <"), part);
    assert_int_equal(count(page, " of the part analysed could be used"), part);
    assert_int_equal(count(page, "Spoilt by handling 0.6\xC2\xA0s, breathing 2.4\xC2\xA0s."), 1); // and what covered the rest is said
    girthline_text_free(page);
  }
  sample_free(&s);
}

static void of_a_silent_recording_no_seconds_are_told(void **state) {
  (void)state;
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_empty());
  for (int silent = 0; silent < 2; silent++) {
    s.result->quality.silent = silent;
    char *page = page_of(&s, &options);
    assert_int_equal(strstr(page, " are not spoilt") == NULL, silent);
    assert_non_null(strstr(page, "How far to trust it"));
    girthline_text_free(page);
  }
  sample_free(&s);
}

// 115 a minute over all, 110 at the end: at rest the second is the answer, after exercise the first, as in the findings.
static void a_rate_after_exercise_is_headed_by_that_of_the_whole(void **state) {
  (void)state;
  const girthline_report_options options = {.no_sound = true};
  for (int after = 0; after < 2; after++) {
    sample s = sample_new(sample_result_full());
    s.result->settings.minutes_after_exercise = after ? 1 : -1;
    s.result->rate.bpm = 115, s.result->rate.settled_bpm = 110, s.result->rate.settled_from_s = 35;
    char *page = page_of(&s, &options);
    assert_non_null(strstr(page, after ? "value=\"115.00\">115</data> beats a minute" : "value=\"110.00\">110</data> beats a minute"));
    assert_int_equal(strstr(page, "It fell to ") != NULL, after);
    assert_non_null(strstr(page, after ? "110</data> from <data" : "Settled from <data"));
    assert_int_equal(strstr(page, "1 minute after exercise") != NULL, after);
    assert_near(gn_text_bpm(s.result), after ? 115 : 110, 0);
    girthline_text_free(page);
    sample_free(&s);
  }
}

static void advice_that_findings_share_is_read_once(void **state) {
  (void)state;
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_full());
  girthline_finding *f = s.result->findings;
  char *page = page_of(&s, &options), *other = f[1].advice;
  assert_int_equal(count(page, "class=\"advice\""), 2);
  girthline_text_free(page);
  f[1].advice = f[0].advice;
  page = page_of(&s, &options);
  assert_int_equal(count(page, "class=\"advice\""), 1);
  girthline_text_free(page);
  f[1].advice = other;
  sample_free(&s);
}

static void a_level_that_rounds_to_nothing_has_no_sign(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  s.result->murmur.phases[0].level_db_interval[1] = -0.3;
  char *page = page_of(&s, NULL);
  assert_null(strstr(page, "\xE2\x88\x92</span>0</data>"));
  assert_non_null(strstr(page, "value=\"-0.3\">0</data>"));
  girthline_text_free(page);
  sample_free(&s);
}

static void how_the_rate_stands_against_the_usual_range_is_said_with_it(void **state) {
  (void)state;
  static const struct { double bpm; girthline_standing standing; const char *says; } ROWS[] = {
      {20, GIRTHLINE_BELOW, ">Below the usual <"}, {36, GIRTHLINE_WITHIN, ">Within the usual <"}, {70, GIRTHLINE_ABOVE, ">Above the usual <"}, {36, GIRTHLINE_STANDING_UNKNOWN, NULL}};
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_full());
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    s.result->rate.bpm = s.result->rate.mean_bpm = s.result->rate.settled_bpm = ROWS[i].bpm;
    s.result->rate.standing = ROWS[i].standing;
    char *page = page_of(&s, &options);
    for (size_t k = 0; k < 3; k++) assert_int_equal(strstr(page, ROWS[k].says) != NULL, k == i);
    girthline_text_free(page);
  }
  sample_free(&s);
}

// The mean stands beside the rate where it differs, and not where it or the rate is not known.
static void a_mean_that_differs_stands_beside_the_rate(void **state) {
  (void)state;
  static const double MEANS[][2] = {{40, 40}, {40, 39}, {40, 34}, {40, NAN}, {NAN, 34}};
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_full());
  for (size_t i = 0; i < sizeof MEANS / sizeof *MEANS; i++) {
    s.result->rate.bpm = MEANS[i][0], s.result->rate.mean_bpm = MEANS[i][1];
    char *page = page_of(&s, &options);
    assert_int_equal(strstr(page, "The mean over all beats is ") != NULL, i == 2);
    girthline_text_free(page);
  }
  sample_free(&s);
}

// A ring as high as a pause is seen as one: what it is stands below.
static void what_is_not_counted_is_explained_where_it_is_drawn(void **state) {
  (void)state;
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_full());
  girthline_rhythm *y = &s.result->rhythm;
  assert_true(y->n_intervals > 2);
  for (size_t left_out = 0; left_out < 2; left_out++) {
    y->used_count = y->n_intervals - left_out;
    s.result->rate.n_counted = left_out ? 0 : s.result->rate.n_counted;
    char *page = page_of(&s, &options), said[40];
    snprintf(said, sizeof said, ", %zu of them counted, mean ", y->used_count);
    assert_int_equal(strstr(page, said) != NULL, left_out);
    assert_int_equal(strstr(page, " Rings: not counted, because ") != NULL, left_out);
    assert_int_equal(strstr(page, "could be counted whole. Dots: each interval for itself.") != NULL, left_out);
    assert_int_equal(strstr(page, "Bars: whole beats counted over ") != NULL, !left_out);
    girthline_text_free(page);
  }
  sample_free(&s);
}

static void of_what_happened_nothing_is_said_to_be_missing_where_nothing_was_heard(void **state) {
  (void)state;
  const girthline_report_options options = {.no_sound = true};
  sample s = sample_new(sample_result_empty());
  assert_int_equal(s.result->n_beats, 0);
  char *page = page_of(&s, &options);
  assert_int_equal(count(page, gn_events_name(GN_EVENTS_PAUSES)), 0);
  assert_true(count(page, gn_events_name(GN_EVENTS_SPOILT)) > 0);
  girthline_text_free(page);
  sample_free(&s);
}

static void minutes_after_exercise_are_those_given(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  s.result->settings.minutes_after_exercise = 2.5;
  char *page = page_of(&s, NULL);
  assert_non_null(strstr(page, ", 2.5 minutes after exercise"));
  girthline_text_free(page);
  sample_free(&s);
}

static void no_hum_is_said_in_a_word(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  const girthline_report_options options = {.no_sound = true};
  s.result->quality.hum_hz = 0;
  char *page = page_of(&s, &options);
  assert_non_null(strstr(page, "<data data-key=\"/quality/hum_hz\" value=\"0\">none</data>"));
  girthline_text_free(page);
  s.result->quality.hum_hz = 50;
  page = page_of(&s, &options);
  assert_non_null(strstr(page, ">50</data>\xC2\xA0Hz"));
  girthline_text_free(page);
  sample_free(&s);
}

// What is read on it: outside markup, pictures, style and script.
static void no_line_of_the_page_ends_between_a_number_and_its_unit(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  const girthline_report_options options = {.no_sound = true};
  char *page = page_of(&s, &options);
  bool in_tag = false;
  const char *end = strstr(page, "<script>"), *from = strstr(page, "<body>");
  assert_true(from && end);
  for (const char *at = from; at < end; at++) {
    if (!strncmp(at, "<svg", 4)) at = strstr(at, "</svg>");
    if (*at == '<' || *at == '>') in_tag = *at == '<';
    if (in_tag || !gn_unit_space(page, (size_t)(at - page))) continue;
    print_error("%.40s\n", at - 20);
    fail();
  }
  girthline_text_free(page);
  sample_free(&s);
}

static void hostile_names_stay_text(void **state) {
  (void)state;
  for (size_t i = 0; SAMPLE_HOSTILE[i]; i++) {
    sample s = sample_new(sample_result_full());
    const girthline_report_options options = {.no_sound = true};
    char *plain = page_of(&s, &options);
    s.input.name = s.input.content_hash = SAMPLE_HOSTILE[i];
    strncpy(s.result->recording.recorded_at, SAMPLE_HOSTILE[i], sizeof s.result->recording.recorded_at - 1);
    strncpy(s.result->recording.encoding, SAMPLE_HOSTILE[i], sizeof s.result->recording.encoding - 1);
    strncpy(s.result->quality.grade_reason, SAMPLE_HOSTILE[i], sizeof s.result->quality.grade_reason - 1);
    strncpy(s.result->rhythm.explanation, SAMPLE_HOSTILE[i], sizeof s.result->rhythm.explanation - 1);
    char *page = page_of(&s, &options);
    assert_int_equal(count(page, "<"), count(plain, "<"));
    assert_int_equal(count(page, ">"), count(plain, ">"));
    assert_int_equal(count(page, "\""), count(plain, "\""));
    assert_null(strstr(page, "\xE2\x80\xAE"));
    assert_null(strchr(page, '\x1B'));
    girthline_text_free(plain);
    girthline_text_free(page);
    sample_free(&s);
  }
}

static void the_same_result_gives_the_same_bytes(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  char *first = page_of(&s, NULL), *second = page_of(&s, NULL);
  assert_string_equal(first, second);
  girthline_text_free(first);
  girthline_text_free(second);
  sample_free(&s);
}

static void several_recordings_share_one_page_and_no_id(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  const girthline_report_input inputs[] = {s.input, s.input, s.input};
  const girthline_report_options options = {.no_sound = true};
  char *page = girthline_report_html(inputs, 3, &options, NULL);
  assert_non_null(page);
  assert_int_equal(count(page, "<article"), 3);
  assert_int_equal(count(page, "<html"), 1);
  assert_int_equal(count(page, "id=\"r2-sound\""), 1);
  assert_int_equal(count(page, "<title>3 recordings: heart sounds</title>"), 1);
  assert_int_equal(count(page, "<a href=\"#recording-3\">"), 1);
  girthline_text_free(page);
  page = page_of(&s, &options);
  assert_int_equal(count(page, "<a href=\"#recording-"), 0); // one alone is not listed
  girthline_text_free(page);
  sample_free(&s);
}

static void a_long_recording_carries_its_best_stretch_only(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  s.result->recording.duration_s = s.result->recording.to_s = 7200;
  char *page = page_of(&s, NULL);
  assert_int_equal(count(page, "<audio"), 4);
  assert_non_null(strstr(page, "too long to be carried whole"));
  girthline_text_free(page);
  sample_free(&s);
}

static void extreme_numbers_do_no_harm(void **state) {
  (void)state;
  static const double NUMBERS[] = {0, -1, 1e300, -1e300};
  for (size_t i = 0; i < sizeof NUMBERS / sizeof NUMBERS[0]; i++) {
    sample s = sample_new(sample_result_full());
    s.input.data = NULL;
    s.result->rate.bpm = s.result->rate.settled_bpm = s.result->rate.counted[0].bpm = NUMBERS[i];
    s.result->quality.best_span.start_s = NUMBERS[i];
    s.result->rhythm.intervals[3].span.end_s = NUMBERS[i];
    s.result->pictures.cycle_db[1][7] = (float)fmin(fmax(NUMBERS[i], -1e30), 1e30);
    s.result->pictures.cycle_interval_s = NUMBERS[i];
    girthline_text_free(girthline_report_html(&s.input, 1, NULL, NULL));
    sample_free(&s);
  }
}

static void no_recording_is_a_fault_of_the_caller(void **state) {
  (void)state;
  girthline_error error = {0};
  assert_null(girthline_report_html(NULL, 0, NULL, &error));
  assert_int_equal(error.status, GIRTHLINE_BAD_ARGUMENT);
}

static void refused_memory_gives_no_page_and_leaks_none(void **state) {
  (void)state;
  sample s = sample_new(sample_result_full());
  s.input.n_bytes = 44 + 2 * 4000; // one second is enough here
  s.result->recording.duration_s = s.result->recording.to_s = 1;
  s.result->quality.best_span = (girthline_span){0.1, 0.9};
  // The first requests one by one, then every fifth: a page asks some hundred times.
  for (size_t k = 1; k < 5000; k += k < 40 ? 1 : 5) {
    girthline_error error = {0};
    gn_memory_refuse(k);
    char *page = girthline_report_html(&s.input, 1, NULL, &error);
    gn_memory_refuse(0);
    if (page) {
      girthline_text_free(page);
      assert_true(k > 20);
      break;
    }
    assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
  }
  sample_free(&s);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(the_parts_stand_in_reading_order),
                                     cmocka_unit_test(a_recording_is_headed_by_its_file_s_own_name),
                                     cmocka_unit_test(the_page_carries_all_pictures_and_four_sounds),
                                     cmocka_unit_test(a_murmur_that_the_findings_do_not_carry_is_uncertain),
                                     cmocka_unit_test(nothing_is_asked_of_the_network),
                                     cmocka_unit_test(without_sound_no_sound_is_in_it),
                                     cmocka_unit_test(what_is_not_determined_says_why),
                                     cmocka_unit_test(of_an_unusable_recording_what_is_not_determined_is_folded),
                                     cmocka_unit_test(a_part_is_not_told_as_the_whole),
                                     cmocka_unit_test(of_a_silent_recording_no_seconds_are_told),
                                     cmocka_unit_test(how_the_rate_stands_against_the_usual_range_is_said_with_it),
                                     cmocka_unit_test(a_mean_that_differs_stands_beside_the_rate),
                                     cmocka_unit_test(what_is_not_counted_is_explained_where_it_is_drawn),
                                     cmocka_unit_test(of_what_happened_nothing_is_said_to_be_missing_where_nothing_was_heard),
                                     cmocka_unit_test(a_rate_after_exercise_is_headed_by_that_of_the_whole),
                                     cmocka_unit_test(advice_that_findings_share_is_read_once),
                                     cmocka_unit_test(a_level_that_rounds_to_nothing_has_no_sign),
                                     cmocka_unit_test(minutes_after_exercise_are_those_given),
                                     cmocka_unit_test(no_hum_is_said_in_a_word),
                                     cmocka_unit_test(no_line_of_the_page_ends_between_a_number_and_its_unit),
                                     cmocka_unit_test(hostile_names_stay_text),
                                     cmocka_unit_test(the_same_result_gives_the_same_bytes),
                                     cmocka_unit_test(several_recordings_share_one_page_and_no_id),
                                     cmocka_unit_test(a_long_recording_carries_its_best_stretch_only),
                                     cmocka_unit_test(extreme_numbers_do_no_harm),
                                     cmocka_unit_test(no_recording_is_a_fault_of_the_caller),
                                     cmocka_unit_test(refused_memory_gives_no_page_and_leaks_none)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
