// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "quality/quality.h"

#include "base/memory.h"

struct gn_quality { int none; };

gn_quality *gn_quality_new(const girthline_profile *profile, double fs_hz, double analysis_fs_hz) {
  (void)profile, (void)fs_hz, (void)analysis_fs_hz;
  return gn_new(1, sizeof(gn_quality));
}

void gn_quality_free(gn_quality *q) { gn_free(q); }

girthline_status gn_quality_push(gn_quality *q, const float *samples, size_t n) {
  (void)q, (void)samples, (void)n;
  return GIRTHLINE_OK;
}

girthline_status gn_quality_mark(gn_quality *q, const gn_signal *window, const girthline_problem **problems, size_t *n_problems) {
  (void)q, (void)window;
  *problems = NULL;
  *n_problems = 0;
  return GIRTHLINE_OK;
}

bool gn_quality_hides(girthline_problem_kind kind) { return kind <= GIRTHLINE_CLIPPING; }

girthline_status gn_quality_measure(gn_quality *q, const gn_signal *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats) {
  (void)q, (void)window, (void)from_s, (void)to_s, (void)beats, (void)n_beats;
  return GIRTHLINE_OK;
}

girthline_status gn_quality_finish(gn_quality *q, girthline_result *result) {
  (void)q, (void)result;
  return GIRTHLINE_OK;
}
