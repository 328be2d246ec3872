// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/extra.h"

#include "base/memory.h"

struct gn_extra { int none; };

gn_extra *gn_extra_new(const girthline_profile *profile, double analysis_fs_hz) {
  (void)profile, (void)analysis_fs_hz;
  return gn_new(1, sizeof(gn_extra));
}

void gn_extra_free(gn_extra *x) { gn_free(x); }

girthline_status gn_extra_collect(gn_extra *x, const gn_signal *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats,
                                  const girthline_span *spoilt, size_t n_spoilt) {
  (void)x, (void)window, (void)from_s, (void)to_s, (void)beats, (void)n_beats, (void)spoilt, (void)n_spoilt;
  return GIRTHLINE_OK;
}

girthline_status gn_extra_finish(gn_extra *x, girthline_result *result, const double **lone_s, size_t *n_lone) {
  (void)x, (void)result;
  *lone_s = NULL;
  *n_lone = 0;
  return GIRTHLINE_OK;
}
