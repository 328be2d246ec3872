// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// An examination file written by hand; what it holds goes on into every output, with recordings that cannot be read.
#include "fuzz.h"

#include <string.h>

#include "base/memory.h"
#include "clinic/exam.h"
#include "clinic/examined.h"

// No file that the bytes name is opened here.
static void name_nothing(gn_exam *exam) {
  for (size_t i = 0; i < exam->n_recordings; i++) {
    gn_free(exam->recordings[i].path);
    exam->recordings[i].path = gn_strdup("/nonexistent/recording.wav");
  }
}

static void write_out(const gn_examined *x) {
  girthline_error error = {0};
  char *json = gn_exam_json(x, &error), *text = gn_exam_text_report(x, NULL, &error), *page = gn_exam_page(x, NULL, &error);
  fuzz_check_json(json);
  FUZZ_HOLDS(text && page);
  FUZZ_HOLDS(!strstr(page, "<script>alert"));
  girthline_text_free(json);
  girthline_text_free(text);
  girthline_text_free(page);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  gn_exam *exam = NULL;
  gn_examined *examined = NULL;
  girthline_error error = {0};
  girthline_status status = gn_exam_parse((const char *)data, n, "visits/examination.ini", &exam, &error);
  fuzz_check_error(status, &error);
  FUZZ_HOLDS(status == GIRTHLINE_OK ? exam != NULL : exam == NULL);
  if (!exam) return 0;
  name_nothing(exam);
  status = gn_exam_analyse(exam, NULL, &examined, &error);
  fuzz_check_error(status, &error);
  if (examined) write_out(examined);
  gn_examined_free(examined);
  gn_exam_free(exam);
  return 0;
}
