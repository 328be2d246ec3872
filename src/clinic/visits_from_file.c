// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Stands where the reader of examination files comes in.
#include "clinic/visits_from_file.h"

#include <stddef.h>

#include "base/error.h"

girthline_status gn_exam_json_of_file(const char *path, char **json, girthline_error *error) {
  *json = NULL;
  return gn_error_set(error, GIRTHLINE_REFUSED, "visits", "%s is not JSON, and this version reads no examination file yet: add the JSON of an examination", path);
}
