// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/error.h"
#include "clinic/examined.h"

char *gn_exam_page(const gn_examined *x, const girthline_report_options *options, girthline_error *error) {
  (void)x;
  (void)options;
  gn_error_set(error, GIRTHLINE_INTERNAL, "exam", "the examination's page is not built yet: name --json or --text");
  return NULL;
}
