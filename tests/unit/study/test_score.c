// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "study/score.h"

static char folder[64];

static void put(const char *name, const char *text) {
  char path[128];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  FILE *f = fopen(path, "w");
  assert_non_null(f);
  fputs(text, f);
  fclose(f);
}

static int make_folder(void **state) {
  (void)state;
  strcpy(folder, "score-XXXXXX");
  return !mkdtemp(folder);
}

static int remove_folder(void **state) {
  (void)state;
  char command[100];
  snprintf(command, sizeof command, "rm -r %s", folder);
  return system(command);
}

static const gn_score_request REQUEST = {.reference = folder, .tolerance_s = 0.1, .seed = 1, .n_resamples = 100};

// Detected first sounds against those in x.csv.
static gn_score_tally tally_of(const double *s1, size_t n) {
  gn_score_reports reports = {.n = 1};
  gn_score_report report = {.file = (char *)(uintptr_t) "x.wav", .to_s = 10, .bpm = 60};
  girthline_error error = {0};
  gn_score_set set;
  report.sound[0] = (gn_score_times){(double *)(uintptr_t)s1, n, n};
  reports.items = &report;
  assert_int_equal(gn_score_set_run(&set, &reports, &REQUEST, &error), GIRTHLINE_OK);
  const gn_score_tally t = set.items[0].tally[GN_SCORE_S1];
  gn_score_set_clear(&set); // the errors go with it: only the counts are used
  return t;
}

static void assert_counts(gn_score_tally t, size_t matched, size_t missed, size_t false_ones) {
  assert_int_equal(t.n_matched, matched);
  assert_int_equal(t.n_missed, missed);
  assert_int_equal(t.n_false, false_ones);
}

static void each_sound_is_matched_once_and_the_nearest_first(void **state) {
  (void)state;
  put("x.csv", "time_s,sound\n1,S1\n2,S1\n3,S1\n");
  assert_counts(tally_of((double[]){1, 2, 3}, 3), 3, 0, 0);
  assert_counts(tally_of((double[]){0.95, 1.05, 2.1, 3.2}, 4), 2, 1, 2); // two near one; at the tolerance; beyond it
  assert_counts(tally_of((double[]){0}, 0), 0, 3, 0);
  put("x.csv", "time_s,sound\n1,S1\n1.08,S1\n");
  assert_counts(tally_of((double[]){1.07, 1.15}, 2), 1, 1, 1); // 1.07 goes to 1.08, though pairing both would be possible
}

// Of one recording with these detected first sounds and this rate, held against x.csv: its pooled measures; the first pair's timing error.
static gn_score_pooled pooled_of(const double *s1, size_t n, double bpm, double *first_error_s) {
  gn_score_reports reports = {.n = 1};
  gn_score_report report = {.file = (char *)(uintptr_t) "x.wav", .to_s = 10, .bpm = bpm};
  girthline_error error = {0};
  gn_score_set set;
  gn_score_pooled pooled;
  report.sound[0] = (gn_score_times){(double *)(uintptr_t)s1, n, n};
  reports.items = &report;
  assert_int_equal(gn_score_set_run(&set, &reports, &REQUEST, &error), GIRTHLINE_OK);
  assert_int_equal(gn_score_pool(&set, &REQUEST, &pooled, &error), GIRTHLINE_OK);
  *first_error_s = set.items[0].tally[GN_SCORE_S1].error.at_s[0];
  gn_score_set_clear(&set);
  return pooled;
}

// As docs/formats.md has it: the earlier reference, then the earlier detection.
static void of_pairs_as_near_the_earlier_is_taken(void **state) {
  (void)state;
  double error_s;
  put("x.csv", "time_s,sound\n1,S1\n1.1,S1\n3,S1\n");
  pooled_of((double[]){1.05}, 1, 60, &error_s);
  assert_near(error_s, 0.05, 1e-9);
  put("x.csv", "time_s,sound\n1,S1\n2,S1\n3,S1\n");
  pooled_of((double[]){0.95, 1.05}, 2, 60, &error_s);
  assert_near(error_s, -0.05, 1e-9);
}

static void a_rate_five_percent_off_is_within_five_percent(void **state) {
  (void)state;
  static const double BPM[] = {63, 57, 63.01, 56.99}, WITHIN[] = {1, 1, 0, 0};
  double error_s;
  put("x.csv", "time_s,sound\n1,S1\n2,S1\n3,S1\n");
  for (size_t i = 0; i < 4; i++) {
    const gn_score_pooled pooled = pooled_of((double[]){1, 2, 3}, 3, BPM[i], &error_s);
    assert_near(pooled.rate_within_5_percent, WITHIN[i], 0);
    assert_near(pooled.rate_error_mean_percent.value, fabs(BPM[i] - 60) / 0.6, 1e-9);
  }
}

static void what_lies_in_an_excluded_span_does_not_count(void **state) {
  (void)state;
  put("x.csv", "time_s,sound\n1,S1\n2,S1\n3,S1\n");
  put("x.exclude.csv", "start_s,end_s\n1.5,2.5\n");
  assert_counts(tally_of((double[]){1, 2, 2.3}, 3), 1, 1, 0);
  assert_counts(tally_of((double[]){1, 1.5, 2.5, 3}, 4), 2, 0, 1); // a span holds its start and not its end
  assert_counts(tally_of((double[]){1, 2.6, 3, 11}, 4), 2, 0, 1); // nor what lies behind the part that was analysed
}

static void a_fault_in_a_reference_names_the_line(void **state) {
  (void)state;
  static const struct {
    const char *text, *line;
  } FAULTS[] = {{"", "line 1"},
                {"time,sound\n1,S1\n", "line 1"},
                {"time_s,sound\n1,S1\n2,S5\n", "line 3"},
                {"time_s,sound\n1;S1\n", "line 2"},
                {"time_s,sound\nx,S1\n", "line 2"}};
  for (size_t i = 0; i < sizeof FAULTS / sizeof *FAULTS; i++) {
    gn_score_times sound[4] = {0};
    gn_score_spans excluded = {0};
    char *reason = NULL;
    girthline_error error = {0};
    const gn_score_request request = {.reference = folder};
    put("bad.csv", FAULTS[i].text);
    assert_int_equal(gn_score_reference_read(&request, "bad.wav", sound, &excluded, &reason, &error), GIRTHLINE_BAD_HAND_FILE);
    assert_non_null(strstr(error.text, FAULTS[i].line));
    for (int k = 0; k < 4; k++) gn_free(sound[k].at_s);
  }
}

// Two runs over `better` recordings that the first hears better, `worse` that the second does, and one alike.
static gn_score_comparison compared(size_t better, size_t worse) {
  enum { MOST = 12 };
  static char names[MOST][32];
  double all[] = {1, 2, 3};
  gn_score_report items[2][MOST];
  gn_score_set set[2];
  gn_score_comparison c;
  girthline_error error = {0};
  const size_t n = better + worse + 1;
  for (size_t i = 0; i < n; i++) {
    snprintf(names[i], sizeof names[i], "r%zu.wav", i);
    for (int run = 0; run < 2; run++) {
      const bool hears_less = i < better ? run == 1 : i < better + worse && run == 0;
      items[run][i] = (gn_score_report){.file = names[i], .to_s = 10, .bpm = 60};
      items[run][i].sound[0] = (gn_score_times){all, hears_less ? 2 : 3, 3};
    }
    char reference[32];
    snprintf(reference, sizeof reference, "r%zu.csv", i);
    put(reference, "time_s,sound\n1,S1\n2,S1\n3,S1\n");
  }
  for (int run = 0; run < 2; run++) {
    const gn_score_reports reports = {.items = items[run], .n = n};
    assert_int_equal(gn_score_set_run(&set[run], &reports, &REQUEST, &error), GIRTHLINE_OK);
  }
  assert_int_equal(gn_score_compare(&set[0], &set[1], &REQUEST, &c, &error), GIRTHLINE_OK);
  for (int run = 0; run < 2; run++) gn_score_set_clear(&set[run]);
  return c;
}

// Twice the smaller tail of the binomial distribution with p = 1/2, never over 1; recordings alike are left out.
static void the_sign_test_is_that_of_a_fair_coin(void **state) {
  (void)state;
  static const struct { size_t better, worse; double p; } CASES[] = {
      {0, 0, 1}, {1, 0, 1}, {1, 1, 1}, {2, 2, 1}, {3, 1, 10.0 / 16}, {1, 3, 10.0 / 16}, {4, 2, 44.0 / 64}, {5, 0, 2.0 / 32}, {1, 8, 20.0 / 512}, {0, 10, 2.0 / 1024}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    const gn_score_comparison c = compared(CASES[i].better, CASES[i].worse);
    assert_int_equal(c.n_better, CASES[i].better);
    assert_int_equal(c.n_worse, CASES[i].worse);
    assert_int_equal(c.n_equal, 1);
    assert_near(c.sign_test_p, CASES[i].p, 1e-12);
  }
}

// 2 / 2^30: no sample makes a probability 0.
static void a_small_probability_is_not_told_as_none(void **state) {
  (void)state;
  gn_score_set set = {0};
  gn_score_pooled pooled = {0};
  gn_score_comparison c = {.n_recordings = 31, .n_better = 30, .n_equal = 1, .sign_test_p = 0x1p-29};
  const gn_score_result result = {&REQUEST, &set, &pooled, &c};
  char *text = gn_score_text(&result, NULL), *json = gn_score_json(&result, NULL);
  assert_non_null(strstr(text, "sign test p under 0.0001\n"));
  assert_non_null(strstr(json, "\"sign_test_p\": 1.862645e-09"));
  gn_free(text);
  gn_free(json);
  c.sign_test_p = 0x1p-999; // a thousand recordings, all better: 1.866527e-301 by Python's 2.0 ** -999
  json = gn_score_json(&result, NULL);
  assert_non_null(strstr(json, "\"sign_test_p\": 1.866527e-301"));
  c.sign_test_p = 0.0001;
  c.f1 = (gn_score_estimate){-0.015, {-0.02, 0.001}}; // with a true minus, as everywhere
  text = gn_score_text(&result, NULL);
  assert_non_null(strstr(text, "sign test p = 0.0001\n"));
  assert_non_null(strstr(text, "F1 \xE2\x88\x92" "1.50 (\xE2\x88\x92" "2.00 to 0.10)"));
  gn_free(text);
  gn_free(json);
}

static char *text_of(const double *s1, size_t n, double bpm) {
  gn_score_report report = {.file = (char *)(uintptr_t) "x.wav", .to_s = 10, .bpm = bpm};
  gn_score_reports reports = {.items = &report, .n = 1};
  girthline_error error = {0};
  gn_score_set set;
  gn_score_pooled pooled;
  report.sound[0] = (gn_score_times){(double *)(uintptr_t)s1, n, n};
  assert_int_equal(gn_score_set_run(&set, &reports, &REQUEST, &error), GIRTHLINE_OK);
  assert_int_equal(gn_score_pool(&set, &REQUEST, &pooled, &error), GIRTHLINE_OK);
  char *text = gn_score_text(&(gn_score_result){&REQUEST, &set, &pooled, NULL}, &error);
  assert_non_null(text);
  gn_score_set_clear(&set);
  return text;
}

static void what_was_not_measured_has_no_unit(void **state) {
  (void)state;
  put("x.csv", "time_s,sound\n1,S1\n2,S1\n3,S1\n");
  char *text = text_of((double[]){1.01, 2.01, 3.01}, 3, 60);
  assert_non_null(strstr(text, "S1  3 in the reference, 3 detected, 3 matched\n    sensitivity 100.0 %, PPV 100.0 %, F1 100.0 %\n    timing error: mean 10.0 ms, median 10.0 ms, SD 0.0 ms\n"));
  assert_non_null(strstr(text, "S2  0 in the reference, 0 detected, 0 matched\nall"));
  assert_non_null(strstr(text, "Rate, in 1 recording: mean error 0.00 %, median 0.00 %; within 5 %: 100.0 %\n"));
  assert_null(strstr(text, "not determined"));
  assert_null(strstr(text, "In brackets")); // one recording has no interval over recordings
  gn_free(text);
  text = text_of((double[]){0}, 0, NAN);
  assert_non_null(strstr(text, "S1  3 in the reference, 0 detected, 0 matched\n    sensitivity 0.0 %, PPV not determined, F1 0.0 %\nS2"));
  assert_non_null(strstr(text, "Rate, in 0 recordings\n"));
  gn_free(text);
}

// Shards beside what they were joined to; and parts of one recording, which may follow each other.
static void a_report_named_twice_is_refused_and_parts_that_follow_each_other_are_not(void **state) {
  (void)state;
  static const struct { const char *file[3]; double part[3][2]; bool twice; } CASES[] = {
      {{"a.wav", "b.wav", "a.wav"}, {{0, 10}, {0, 10}, {0, 10}}, true}, {{"a.wav", "b.wav", "c.wav"}, {{0, 10}, {0, 10}, {0, 10}}, false},
      {{"a.wav", "a.wav", "a.wav"}, {{20, 30}, {0, 10}, {10, 20}}, false}, {{"a.wav", "a.wav", "b.wav"}, {{5, 30}, {0, 5.5}, {0, 1}}, true},
      {{"a.wav", "b.wav", "a.wav"}, {{NAN, NAN}, {0, 10}, {NAN, NAN}}, true}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    gn_score_report items[3];
    girthline_error error = {0};
    for (int k = 0; k < 3; k++) items[k] = (gn_score_report){.file = (char *)(uintptr_t)CASES[i].file[k], .from_s = CASES[i].part[k][0], .to_s = CASES[i].part[k][1]};
    const girthline_status status = gn_score_reports_once(&(gn_score_reports){.items = items, .n = 3}, &error);
    if (status != (CASES[i].twice ? GIRTHLINE_BAD_ARGUMENT : GIRTHLINE_OK)) fail_msg("case %zu: %d", i, status);
    if (CASES[i].twice) assert_non_null(strstr(error.text, "two reports are of a.wav"));
  }
  assert_int_equal(gn_score_reports_once(&(gn_score_reports){.n = 0}, NULL), GIRTHLINE_OK);
}

static void f1_of_nothing_is_not_a_number(void **state) {
  (void)state;
  assert_true(isnan(gn_score_f1(0, 0, 0)));
  assert_near(gn_score_f1(3, 1, 1), 0.75, 1e-12);
  assert_near(gn_score_f1(0, 1, 0), 0, 0);
}

// Everything score does after the reports are read, with the k-th request for memory refused; 0: none.
static girthline_status whole_run(const gn_score_reports *reports, size_t k, girthline_error *error) {
  gn_score_set set = {0};
  gn_score_pooled pooled;
  gn_score_comparison comparison;
  char *json = NULL, *text = NULL;
  gn_memory_refuse(k);
  girthline_status status = gn_score_set_run(&set, reports, &REQUEST, error);
  if (!status) status = gn_score_pool(&set, &REQUEST, &pooled, error);
  if (!status) status = gn_score_compare(&set, &set, &REQUEST, &comparison, error);
  const gn_score_result result = {&REQUEST, &set, &pooled, &comparison};
  if (!status && !(json = gn_score_json(&result, error))) status = error->status;
  if (!status && !(text = gn_score_text(&result, error))) status = error->status;
  gn_memory_refuse(0);
  if (!status) assert_near(comparison.f1.value, 0, 0); // a run against itself
  gn_free(json);
  gn_free(text);
  gn_score_set_clear(&set);
  return status;
}

static void scoring_survives_every_refusal_of_memory(void **state) {
  (void)state;
  double first[] = {1, 2.01, 3}, second[] = {1.02, 5};
  gn_score_report items[2] = {{.file = (char *)(uintptr_t) "x.wav", .to_s = 10, .bpm = 60}, {.file = (char *)(uintptr_t) "y.wav", .to_s = 10, .bpm = NAN}};
  items[0].sound[0] = (gn_score_times){first, 3, 3};
  items[1].sound[0] = (gn_score_times){second, 2, 2};
  const gn_score_reports reports = {.items = items, .n = 2};
  put("x.csv", "time_s,sound\n1,S1\n2,S1\n3,S1\n");
  put("y.truth.csv", "time_s,sound\n1,S1\n2,S2\n");
  put("y.exclude.csv", "start_s,end_s\n4,6\n");
  size_t refused = 0;
  girthline_error error = {0};
  while (whole_run(&reports, refused + 1, &error)) {
    assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
    error = (girthline_error){0};
    refused++;
  }
  assert_true(refused > 50);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(each_sound_is_matched_once_and_the_nearest_first, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(of_pairs_as_near_the_earlier_is_taken, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(a_rate_five_percent_off_is_within_five_percent, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(what_lies_in_an_excluded_span_does_not_count, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(a_fault_in_a_reference_names_the_line, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(scoring_survives_every_refusal_of_memory, make_folder, remove_folder),
      cmocka_unit_test(a_small_probability_is_not_told_as_none),
      cmocka_unit_test_setup_teardown(the_sign_test_is_that_of_a_fair_coin, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(what_was_not_measured_has_no_unit, make_folder, remove_folder),
      cmocka_unit_test(a_report_named_twice_is_refused_and_parts_that_follow_each_other_are_not),
      cmocka_unit_test(f1_of_nothing_is_not_a_number),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
