// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/rhythm.h"

girthline_status gn_rhythm_run(girthline_result *result, const double *lone_s, size_t n_lone, double onset_jitter_ms) {
  (void)result, (void)lone_s, (void)n_lone, (void)onset_jitter_ms;
  return GIRTHLINE_OK;
}
