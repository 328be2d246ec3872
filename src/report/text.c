// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <girthline/report.h>

#include "base/error.h"
#include "report/buffer.h"

char *girthline_report_text(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, girthline_error *error) {
  gn_buffer b = {0};
  (void)options;
  for (size_t i = 0; i < n; i++) gn_buffer_printf(&b, "Heart rate %.0f beats a minute\n", inputs[i].result->rate.bpm);
  char *text = gn_buffer_take(&b);
  if (!text) gn_error_memory(error, "report");
  return text;
}
