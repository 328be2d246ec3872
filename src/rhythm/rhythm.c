// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/rhythm.h"

#include <string.h>

#include "rhythm/parts.h"

static int fill(girthline_result *result, gn_series *s, const double *lone_s, size_t n_lone, double onset_jitter_ms) {
  gn_fall fall;
  gn_rhythm_fall(s, &fall);
  if (gn_rhythm_events(s)) return -1;
  if (gn_rhythm_list_pauses(result, s, lone_s, n_lone)) return -1;
  if (gn_rhythm_pattern(result, s, onset_jitter_ms)) return -1;
  gn_rhythm_sift_pauses(result, s);
  if (gn_rhythm_list_early(result, s)) return -1;
  if (gn_rhythm_rate(result, s, &fall)) return -1;
  return gn_rhythm_variability(result, s, onset_jitter_ms);
}

girthline_status gn_rhythm_run(girthline_result *result, const double *lone_s, size_t n_lone, double onset_jitter_ms) {
  gn_series s;
  memset(&s, 0, sizeof s);
  int failed = gn_rhythm_intervals(result);
  if (!failed) failed = gn_rhythm_series_init(&s, result);
  if (!failed) failed = fill(result, &s, lone_s, n_lone, onset_jitter_ms);
  gn_rhythm_series_clear(&s);
  return failed ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}
