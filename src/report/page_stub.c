// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Holds the place of the page until page.c is there.
#include <girthline/report.h>

#include "base/error.h"

char *girthline_report_html(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, girthline_error *error) {
  (void)inputs;
  (void)n;
  (void)options;
  gn_error_set(error, GIRTHLINE_INTERNAL, "report", "the page is not built yet in this version: --json and --text write the report");
  return NULL;
}
