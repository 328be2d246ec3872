// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/segment.h"

#include <math.h>

#include "base/memory.h"

struct gn_segment { int none; };

gn_segment *gn_segment_new(const girthline_profile *profile, double analysis_fs_hz) {
  (void)profile, (void)analysis_fs_hz;
  return gn_new(1, sizeof(gn_segment));
}

void gn_segment_free(gn_segment *s) { gn_free(s); }

girthline_status gn_segment_window(gn_segment *s, const gn_signal *window, const girthline_span *spoilt, size_t n_spoilt,
                                   const girthline_beat **beats, size_t *n_beats) {
  (void)s, (void)window, (void)spoilt, (void)n_spoilt;
  *beats = NULL;
  *n_beats = 0;
  return GIRTHLINE_OK;
}

double gn_segment_onset_jitter_ms(const gn_segment *s) {
  (void)s;
  return NAN;
}

const char *gn_segment_reason(const gn_segment *s) {
  (void)s;
  return "";
}
