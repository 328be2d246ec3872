// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The summary for a terminal.
#include "support.h"

#include <stdbool.h>
#include <string.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "base/result.h"
#include "made_result.h"
#include "report/utf8.h"

static char *written(const girthline_result *result, const char *name, int width, bool colour) {
  const girthline_report_input input = {.result = result, .name = name};
  const girthline_report_options options = {.width = width, .colour = colour};
  char *text = girthline_report_text(&input, 1, &options, NULL);
  assert_non_null(text);
  return text;
}

static void assert_says(const char *text, const char *words) {
  if (!strstr(text, words)) fail_msg("\"%s\" is missing in:\n%s", words, text);
}

static int widest_line(const char *text) {
  int widest = 0, columns = 0;
  while (*text) {
    uint32_t code;
    bool ok;
    text += gn_utf8_next(text, &code, &ok);
    columns = code == '\n' ? 0 : columns + gn_utf8_columns(code);
    if (columns > widest) widest = columns;
  }
  return widest;
}

static void lines_keep_within_the_width(void **state) {
  (void)state;
  char name[400];
  memset(name, 'n', 399);
  name[399] = 0;
  girthline_result *r = made_result(40);
  for (int width = 40; width <= 100; width += 5) {
    char *text = written(r, name, width, false);
    assert_true(widest_line(text) <= width);
    girthline_text_free(text);
  }
  girthline_result_free(r);
}

static void an_answer_that_the_findings_do_not_carry_is_said_to_be_uncertain(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  char *text = written(r, "a.wav", 400, false);
  assert_says(text, "a murmur in the middle of systole, softer than the first sound\n");
  girthline_text_free(text);
  const double usual = r->limits.findings.names_confidence;
  r->limits.findings.names_confidence = 1.1; // over what any name can have
  text = written(r, "a.wav", 400, false);
  assert_says(text, "softer than the first sound; uncertain, the first and the second sound may be exchanged");
  girthline_text_free(text);
  r->murmur.phases[0].phase = GIRTHLINE_CONTINUOUS; // it lies in both anyhow
  text = written(r, "a.wav", 400, false);
  assert_null(strstr(text, "may be exchanged"));
  girthline_text_free(text);
  r->murmur.phases[0].phase = GIRTHLINE_SYSTOLE;
  r->limits.findings.names_confidence = usual;
  r->limits.findings.murmur_confidence = 0.95; // the made murmur's is 0.9
  text = written(r, "a.wav", 400, false);
  assert_says(text, "softer than the first sound; uncertain, too little speaks for it");
  girthline_text_free(text);
  r->quality.grade = GIRTHLINE_UNUSABLE;
  text = written(r, "a.wav", 400, false);
  assert_says(text, "softer than the first sound; uncertain, the recording cannot be used");
  girthline_text_free(text);
  girthline_result_free(r);
}

static void shares_are_not_rounded_up(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  for (size_t i = 0; i < r->n_beats; i++) r->beats[i].name_confidence = 0.866f;
  char *text = written(r, "a.wav", 400, false);
  assert_says(text, "told apart with 86 % confidence");
  girthline_text_free(text);
  girthline_result_free(r);
}

// Each of these rounds up from the places that the JSON report gives, as the page does, and down without them.
static void a_number_is_rounded_from_what_the_json_report_gives(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  r->rate.bpm = 95.497, r->rate.mean_bpm = 85.496, r->rate.settled_bpm = 90.498, r->rate.settled_from_s = 29.49997;
  r->rhythm.sdnn_ms = 25.46, r->rhythm.rmssd_ms = 19.48;
  r->rhythm.longest_interval_s = 3.26497;
  r->quality.breaths_per_min = 11.47, r->quality.hum_hz = 56.48, r->quality.usable_s = 24.44998;
  r->murmur.phases[0].peak_hz = 307.47, r->murmur.phases[0].beats_fraction = 0.9548;
  r->murmur.phases[0].level_db = -14.47, r->murmur.phases[0].level_db_interval[0] = -15.47, r->murmur.phases[0].level_db_interval[1] = -12.46;
  r->extras[0].beats_fraction = 0.9348, r->extras[0].delay_s = 0.13497;
  r->recording.duration_s = r->recording.to_s = 60.04997;
  char *text = written(r, "a.wav", 400, false);
  static const char *const SAYS[] = {"96 a minute", "86 by the mean", "settled at 91 from 30 s on", "SDNN 26 ms, RMSSD 20 ms", "longest interval 3.27 s", "breathing 12 a minute",
                                     "a hum at 57 Hz", "24.5 s of 60.1 s", "strongest near 308 Hz", "in 96 % of clean beats",
                                     "\xE2\x88\x92" "15 dB against the first sound (\xE2\x88\x92" "16 to \xE2\x88\x92" "13), strongest", "in 94 % of beats, 0.14 s"};
  for (size_t i = 0; i < sizeof SAYS / sizeof *SAYS; i++) assert_says(text, SAYS[i]);
  girthline_text_free(text);
  girthline_result_free(r);
}

// Where the grade's sentence says it, the next one does not say it again.
static void the_level_over_the_noise_is_said_once(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  for (int names = 0; names < 2; names++) {
    r->quality.grade_names_level = names;
    char *text = written(r, "a.wav", 400, false);
    assert_int_equal(strstr(text, "the heart lies 18 dB over the quiet parts") == NULL, names);
    girthline_text_free(text);
  }
  girthline_result_free(r);
}

static void where_a_murmur_ends_is_said_as_far_as_it_is_known(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  for (int known = GIRTHLINE_UNKNOWN; known <= GIRTHLINE_YES; known++)
    for (int timing = GIRTHLINE_EARLY; timing <= GIRTHLINE_HOLO; timing++) {
      const bool middle = timing == GIRTHLINE_EARLY || timing == GIRTHLINE_MID; // to say of these that they reach S2 would say two things
      r->murmur.phases[0].ends_before_s2 = (girthline_tristate)known;
      r->murmur.phases[0].timing = (girthline_timing)timing;
      char *text = written(r, "a.wav", 400, false);
      assert_int_equal(strstr(text, ", ends before S2") != NULL, known == GIRTHLINE_YES);
      assert_int_equal(strstr(text, ", reaches S2") != NULL, known == GIRTHLINE_NO && !middle);
      assert_int_equal(strstr(text, ", was not seen to end before S2") != NULL, known == GIRTHLINE_NO && middle);
      girthline_text_free(text);
    }
  girthline_result_free(r);
}

static void what_is_spoilt_is_added_up_and_its_places_counted(void **state) {
  (void)state;
  girthline_problem spoilt[] = {{{1, 2}, GIRTHLINE_HANDLING}, {{3, 4.5}, GIRTHLINE_CLIPPING}, {{5, 7}, GIRTHLINE_HANDLING}};
  girthline_result *r = made_result(40);
  girthline_problem *const own = r->quality.problems;
  const size_t n_own = r->quality.n_problems;
  r->quality.problems = spoilt;
  r->quality.n_problems = 3;
  char *text = written(r, "a.wav", 400, false);
  assert_says(text, "Spoilt by handling 3.0 s in 2 places, clipping 1.5 s.");
  girthline_text_free(text);
  r->quality.problems = own;
  r->quality.n_problems = n_own;
  girthline_result_free(r);
}

static void one_interval_is_no_intervals(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  for (size_t n = 1; n < 3; n++) {
    r->rhythm.used_count = n;
    char *text = written(r, "a.wav", 400, false);
    assert_says(text, n == 1 ? " over 1 interval. Heart-sound" : " over 2 intervals. Heart-sound");
    girthline_text_free(text);
  }
  girthline_result_free(r);
}

static void minutes_after_exercise_are_those_given(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  r->settings.minutes_after_exercise = 2.25;
  char *text = written(r, "a.wav", 400, false);
  assert_says(text, ", 2.25 min after exercise");
  girthline_text_free(text);
  girthline_result_free(r);
}

static void the_answer_stands_before_everything_else(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  char *text = written(r, "a.wav", 80, false);
  const char *rate = strstr(text, "\nRate "), *rhythm = strstr(text, "\nRhythm "), *murmur = strstr(text, "\nBetween the beats "), *trust = strstr(text, "How far to trust it");
  assert_true(rate && rhythm && murmur && trust);
  assert_true(rate < rhythm && rhythm < murmur && murmur < trust);
  girthline_text_free(text);
  girthline_result_free(r);
}

static void median_and_mean_rate_are_both_shown_where_they_differ(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  char *text = written(r, "a.wav", 100, false);
  assert_says(text, "40 a minute by the median interval, 37 by the mean");
  girthline_text_free(text);
  r->rate.mean_bpm = 38.1; // 4.75 % below
  text = written(r, "a.wav", 100, false);
  assert_null(strstr(text, "by the mean"));
  girthline_text_free(text);
  girthline_result_free(r);
}

static void an_assumed_species_and_given_beats_are_said(void **state) {
  (void)state;
  girthline_result *r = made_result(4);
  r->beats_given = true;
  char *text = written(r, "a.wav", 100, false);
  assert_says(text, "assumed");
  assert_says(text, "given by hand");
  assert_says(text, "  4 beats, a second sound in 4.\n"); // that they are right is not measured
  girthline_text_free(text);
  r->settings.species_assumed = r->beats_given = false;
  text = written(r, "a.wav", 100, false);
  assert_null(strstr(text, "assumed"));
  assert_null(strstr(text, "given by hand"));
  girthline_text_free(text);
  girthline_result_free(r);
}

static void an_empty_result_says_what_was_not_determined_and_why(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  gn_result_undetermine(r, "/rate/bpm", "no beats stand out of the noise");
  char *text = written(r, "a.wav", 100, false);
  assert_says(text, "Rate               not determined: no beats stand out of the noise");
  assert_says(text, "Not determined\n");
  assert_null(strstr(text, "nan"));
  girthline_text_free(text);
  girthline_result_free(r);
}

static void of_a_silent_recording_no_seconds_are_told(void **state) {
  (void)state;
  girthline_result *r = made_result(4);
  r->quality.grade = GIRTHLINE_UNUSABLE;
  snprintf(r->quality.grade_reason, sizeof r->quality.grade_reason, "No heart beats were found: the recording is silent.");
  for (int silent = 0; silent < 2; silent++) {
    r->quality.silent = silent;
    char *text = written(r, "a.wav", 400, false);
    assert_says(text, silent ? "the recording is silent.\n" : "the recording is silent. ");
    assert_int_equal(strstr(text, "are not spoilt") == NULL, silent);
    assert_int_equal(strstr(text, "Spoilt by ") == NULL, silent);
    girthline_text_free(text);
  }
  girthline_result_free(r);
}

static void the_title_says_where_and_when(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  r->settings.species_assumed = false;
  char *text = written(r, "a.wav", 100, false);
  assert_says(text, "a.wav: horse, 60.0 s\n");
  girthline_text_free(text);
  r->settings.side = GIRTHLINE_LEFT, r->settings.area = GIRTHLINE_MITRAL, r->settings.minutes_after_exercise = 0;
  text = written(r, "a.wav", 100, false);
  assert_says(text, "a.wav: horse, 60.0 s, left side, mitral area, 0 min after exercise\n");
  girthline_text_free(text);
  girthline_result_free(r);
}

static void a_part_is_not_told_as_the_whole(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  r->settings.species_assumed = false;
  r->recording.from_s = 0, r->recording.to_s = 60;
  char *text = written(r, "a.wav", 400, false);
  assert_says(text, "a.wav: horse, 60.0 s\n");
  assert_says(text, " of 60.0 s can be used");
  girthline_text_free(text);
  for (int end = 0; end < 2; end++) {
    r->recording.from_s = end ? 0 : 5.04, r->recording.to_s = end ? 12 : 60;
    text = written(r, "a.wav", 400, false);
    assert_says(text, end ? "a.wav: horse, 60.0 s (analysed: 0.0 to 12.0 s)\n" : "a.wav: horse, 60.0 s (analysed: 5.0 to 60.0 s)\n");
    assert_says(text, " of the part analysed can be used");
    girthline_text_free(text);
  }
  girthline_result_free(r);
}

static void each_finding_stands_with_its_urgency_and_advice(void **state) {
  (void)state;
  girthline_result *r = made_result(40);
  r->findings[0].urgency = GIRTHLINE_BEFORE_WORK;
  char *text = written(r, "a.wav", 100, false);
  assert_says(text, "Findings\n  before work  One pause of 3.00 s, 2.0 times");
  assert_says(text, "               An ECG at rest settles what the pause is;");
  assert_says(text, "  The evidence for each stands in the page and in the JSON report.\n");
  assert_null(strstr(text, "None."));
  girthline_text_free(text);
  const size_t n = r->n_findings;
  r->n_findings = 0;
  text = written(r, "a.wav", 100, false);
  assert_says(text, "Findings\n  None.\n");
  assert_null(strstr(text, "The evidence for each"));
  girthline_text_free(text);
  r->n_findings = n;
  girthline_result_free(r);
}

static void nothing_that_acts_on_a_terminal_passes(void **state) {
  (void)state;
  girthline_result *r = made_result(1);
  char *text = written(r, "a\033[2J\xE2\x80\xAE\xC2\x9B\xFF\r.wav", 80, false);
  for (const char *c = text; *c; c++) assert_true((unsigned char)*c >= 0x20 || *c == '\n');
  assert_null(strstr(text, "\xE2\x80\xAE"));
  assert_true(gn_utf8_valid(text));
  girthline_text_free(text);
  girthline_result_free(r);
}

static void colour_is_off_unless_asked_for(void **state) {
  (void)state;
  girthline_result *r = made_result(1);
  char *plain = written(r, "a.wav", 80, false), *coloured = written(r, "a.wav", 80, true);
  assert_null(strchr(plain, '\033'));
  assert_non_null(strchr(coloured, '\033'));
  girthline_text_free(plain);
  girthline_text_free(coloured);
  girthline_result_free(r);
}

static void refused_memory_gives_no_summary(void **state) {
  (void)state;
  girthline_result *r = made_result(4);
  const girthline_report_input input = {.result = r, .name = "a.wav"};
  for (size_t k = 1;; k++) {
    girthline_error error = {0};
    gn_memory_refuse(k);
    char *text = girthline_report_text(&input, 1, NULL, &error);
    gn_memory_refuse(0);
    if (text) {
      assert_true(k > 5);
      girthline_text_free(text);
      break;
    }
    assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
  }
  girthline_result_free(r);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lines_keep_within_the_width),
      cmocka_unit_test(an_answer_that_the_findings_do_not_carry_is_said_to_be_uncertain),
      cmocka_unit_test(shares_are_not_rounded_up),
      cmocka_unit_test(a_number_is_rounded_from_what_the_json_report_gives),
      cmocka_unit_test(the_level_over_the_noise_is_said_once), cmocka_unit_test(minutes_after_exercise_are_those_given),
      cmocka_unit_test(where_a_murmur_ends_is_said_as_far_as_it_is_known), cmocka_unit_test(what_is_spoilt_is_added_up_and_its_places_counted),
      cmocka_unit_test(one_interval_is_no_intervals), cmocka_unit_test(the_answer_stands_before_everything_else),
      cmocka_unit_test(median_and_mean_rate_are_both_shown_where_they_differ),
      cmocka_unit_test(an_assumed_species_and_given_beats_are_said),
      cmocka_unit_test(an_empty_result_says_what_was_not_determined_and_why),
      cmocka_unit_test(of_a_silent_recording_no_seconds_are_told),
      cmocka_unit_test(the_title_says_where_and_when),
      cmocka_unit_test(a_part_is_not_told_as_the_whole),
      cmocka_unit_test(each_finding_stands_with_its_urgency_and_advice),
      cmocka_unit_test(nothing_that_acts_on_a_terminal_passes),
      cmocka_unit_test(colour_is_off_unless_asked_for),
      cmocka_unit_test(refused_memory_gives_no_summary),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
