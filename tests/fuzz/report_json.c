// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// JSON that this program wrote and reads back: reports to score; examinations and exports to put into a history and to compare.
#include "fuzz.h"

#include <string.h>

#include "base/memory.h"
#include "clinic/compare.h"
#include "clinic/visits.h"
#include "clinic/visits_json.h"
#include "study/score.h"

static void score_them(const gn_score_reports *reports, const char *reference) {
  const gn_score_request request = {.reference = reference, .tolerance_s = GN_SCORE_TOLERANCE_S, .extra = true, .seed = 1, .n_resamples = 3};
  gn_score_set set = {0};
  gn_score_pooled pooled;
  girthline_error error = {0};
  girthline_status status = gn_score_set_run(&set, reports, &request, &error);
  if (!status) status = gn_score_pool(&set, &request, &pooled, &error);
  fuzz_check_error(status, &error);
  if (!status) {
    const gn_score_result result = {&request, &set, &pooled, NULL};
    char *json = gn_score_json(&result, &error), *text = gn_score_text(&result, &error);
    fuzz_check_json(json);
    FUZZ_HOLDS(text);
    gn_free(json);
    gn_free(text);
  }
  gn_score_set_clear(&set);
}

static void as_reports(const uint8_t *data, size_t n) {
  static const char REFERENCE[] = "time_s,sound\n0.5,S1\n0.8,S2\n2.1,S1\n2.4,S2\n2.6,S3\n3.5,S1\n";
  const char *reference = fuzz_place("reference.csv");
  fuzz_file file = fuzz_file_of(data, n);
  gn_score_reports reports = {0};
  girthline_error error = {0};
  const girthline_status status = gn_score_reports_read(&reports, file.path, &error);
  fuzz_check_error(status, &error);
  fuzz_write(reference, REFERENCE, sizeof REFERENCE - 1);
  if (!status) score_them(&reports, reference);
  gn_score_reports_clear(&reports);
  fuzz_file_close(&file);
}

static girthline_status take(void *user, const char *json, size_t n, girthline_error *error) {
  gn_visits_exam exam;
  const girthline_status status = gn_visits_exam_read(json, n, "exam.json", &exam, error);
  *(size_t *)user += n;
  if (status) return status;
  FUZZ_HOLDS(exam.key && exam.fingerprint[0] && exam.species && (exam.identifier || exam.name));
  gn_visits_exam_clear(&exam);
  return status;
}

static void compare(const uint8_t *data, size_t n) {
  json_t *first = NULL, *second = NULL;
  girthline_error error = {0};
  if (gn_visits_parse((const char *)data, n, "first", &first, NULL) || gn_visits_parse((const char *)data, n, "second", &second, NULL)) {
    json_decref(first);
    return;
  }
  gn_comparison comparison = {0};
  const girthline_status status = gn_compare_exams(first, second, &comparison, &error);
  fuzz_check_error(status, &error);
  if (!status) {
    char *json = gn_compare_json(&comparison), *text = gn_compare_text(&comparison, 60), *page = gn_compare_page(&comparison, NULL, &error);
    fuzz_check_json(json);
    FUZZ_HOLDS(text && page);
    gn_free(json);
    gn_free(text);
    gn_free(page);
  }
  gn_comparison_clear(&comparison);
  json_decref(first);
  json_decref(second);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  girthline_error error = {0};
  size_t taken = 0;
  as_reports(data, n);
  fuzz_check_error(gn_visits_each_exam((const char *)data, n, "exam.json", take, &taken, &error), &error);
  compare(data, n);
  return 0;
}
