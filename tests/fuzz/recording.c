// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A recording's bytes through the whole analysis and out again as a report.
#include "fuzz.h"

#include <math.h>

#include <girthline/analyse.h>

#include "written.h"

enum { MOST_S = 8 }; // analysed: enough for the decoder to find beats, little enough for many runs a second

static void check_times(const girthline_result *r) {
  double last_s = -INFINITY;
  for (size_t i = 0; i < r->n_beats; i++) {
    const girthline_beat *b = &r->beats[i];
    const double at_s = isnan(b->s1_onset_s) ? b->s2_onset_s : b->s1_onset_s;
    FUZZ_HOLDS(at_s >= last_s);
    last_s = at_s;
  }
  FUZZ_HOLDS(r->recording.duration_s >= 0 && isfinite(r->recording.duration_s));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  girthline_settings settings = girthline_settings_default();
  settings.species = n ? (girthline_species)(data[n - 1] % GIRTHLINE_N_SPECIES) : GIRTHLINE_HORSE; // by what is heard least
  settings.to_s = MOST_S;
  girthline_result *result = NULL;
  girthline_error error = {0};
  const girthline_status status = girthline_analyse_memory(data, n, "recording", &settings, &result, &error);
  fuzz_check_error(status, &error);
  FUZZ_HOLDS(status == GIRTHLINE_OK ? result != NULL : result == NULL);
  if (!result) return 0;
  check_times(result);
  const girthline_report_input input = {.result = result, .name = "recording", .data = data, .n_bytes = n, .content_hash = "xxh3-128:0"};
  fuzz_write_out(&input, data[n - 1] / GIRTHLINE_N_SPECIES);
  girthline_result_free(result);
  return 0;
}
