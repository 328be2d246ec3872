// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/murmur.h"

#include "base/memory.h"

struct gn_murmur { int none; };

gn_murmur *gn_murmur_new(const girthline_profile *profile, double analysis_fs_hz) {
  (void)profile, (void)analysis_fs_hz;
  return gn_new(1, sizeof(gn_murmur));
}

void gn_murmur_free(gn_murmur *m) { gn_free(m); }

girthline_status gn_murmur_collect(gn_murmur *m, const gn_signal *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats,
                                   const girthline_span *spoilt, size_t n_spoilt) {
  (void)m, (void)window, (void)from_s, (void)to_s, (void)beats, (void)n_beats, (void)spoilt, (void)n_spoilt;
  return GIRTHLINE_OK;
}

girthline_status gn_murmur_finish(gn_murmur *m, girthline_result *result) {
  (void)m, (void)result;
  return GIRTHLINE_OK;
}
