// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/given.h"

#include <math.h>

#include "base/memory.h"

girthline_status gn_segment_given(girthline_result *result, const girthline_given_sound *given, size_t n_given) {
  result->beats = gn_new(n_given, sizeof *result->beats);
  if (!result->beats) return GIRTHLINE_NO_MEMORY;
  size_t n = 0;
  for (size_t i = 0; i < n_given; i++) {
    if (given[i].sound != GIRTHLINE_S1 && given[i].sound != GIRTHLINE_S2) continue;
    const bool first = given[i].sound == GIRTHLINE_S1;
    if (!first && n > 0 && isnan(result->beats[n - 1].s2_onset_s)) {
      result->beats[n - 1].s2_onset_s = given[i].time_s;
      continue;
    }
    result->beats[n++] = (girthline_beat){.s1_onset_s = first ? given[i].time_s : (double)NAN, .s2_onset_s = first ? (double)NAN : given[i].time_s,
                                          .s1_peak_s = NAN, .s1_offset_s = NAN, .s2_peak_s = NAN, .s2_offset_s = NAN,
                                          .confidence = 1, .name_confidence = 1};
  }
  result->n_beats = n;
  return GIRTHLINE_OK;
}
