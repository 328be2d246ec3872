// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/visits_from_file.h"

#include "base/error.h"
#include "clinic/examined.h"

static girthline_status check_any(const gn_examined *x, girthline_error *error) {
  for (size_t i = 0; i < x->exam->n_recordings; i++)
    if (x->recordings[i].result) return GIRTHLINE_OK;
  return gn_error_set(error, x->recordings[0].status, "exam", "%s: no recording could be analysed; [recording %s]: %s", x->exam->path, x->exam->recordings[0].name,
                      x->recordings[0].reason);
}

girthline_status gn_exam_json_of_file(const char *path, char **json, girthline_error *error) {
  gn_exam *exam = NULL;
  gn_examined *x = NULL;
  *json = NULL;
  girthline_status status = gn_exam_read(path, &exam, error);
  if (status == GIRTHLINE_OK) status = gn_exam_analyse(exam, NULL, &x, error);
  if (status == GIRTHLINE_OK) status = check_any(x, error);
  if (status == GIRTHLINE_OK && !(*json = gn_exam_json(x, error))) status = GIRTHLINE_NO_MEMORY;
  gn_examined_free(x);
  gn_exam_free(exam);
  return status;
}
