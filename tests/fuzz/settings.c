// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The file of --settings: whatever it lets through, the analysis and the hash must stand.
#include "fuzz.h"

#include <math.h>

#include <girthline/analyse.h>
#include <girthline/limits.h>
#include <girthline/report.h>

#include "cli/settings_file.h"

static void check_ranges(const girthline_limits *limits) {
  const girthline_limit *row;
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL; i++) {
    const double value = girthline_limit_get(row, limits);
    FUZZ_HOLDS(value >= row->lowest && value <= row->highest);
  }
}

static void analyse_with(const girthline_limits *limits) {
  size_t n;
  const uint8_t *wav = fuzz_bursts(&n);
  girthline_settings settings = girthline_settings_default();
  settings.species = GIRTHLINE_DOG;
  settings.limits = limits;
  girthline_result *result = NULL;
  girthline_error error = {0};
  const girthline_status status = girthline_analyse_memory(wav, n, "bursts", &settings, &result, &error);
  fuzz_check_error(status, &error);
  if (!result) return;
  const girthline_report_input input = {.result = result, .name = "bursts", .data = wav, .n_bytes = n, .content_hash = "xxh3-128:0"};
  char *json = girthline_report_json(&input, 1, &error);
  fuzz_check_json(json);
  girthline_text_free(json);
  girthline_result_free(result);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  fuzz_file file = fuzz_file_of(data, n);
  girthline_limits limits = girthline_limits_default();
  girthline_error error = {0};
  const girthline_status status = gn_settings_file_read(file.path, &limits, &error);
  fuzz_check_error(status, &error);
  if (!status) {
    check_ranges(&limits);
    if (girthline_limits_changed(&limits)) analyse_with(&limits);
  }
  fuzz_file_close(&file);
  return 0;
}
