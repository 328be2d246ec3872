// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "filter/filter.h"

#include <math.h>

#include "base/biquad.h"
#include "base/memory.h"

gn_filter_settings gn_filter_settings_default(const girthline_profile *profile) {
  // 30-60 and 60-120 Hz hold most of S1 and S2 in large hearts (Liu et al. 2016: main parts 25-45 and 55-75 Hz in man);
  // breath sounds take over above 75 Hz (Ploysongsang et al. 1989), so the upper band stops at 120 Hz. Small hearts
  // sound higher: scaled by the usual length of S1 to the power 0.3, at most a third (a choice).
  const double scale = fmin(4.0 / 3.0, fmax(1, sqrt(sqrt(0.120 / profile->s1_length_s))));
  return (gn_filter_settings){{{30 * scale, 60 * scale}, {60 * scale, 120 * scale}}};
}

girthline_status gn_filter_run(const gn_signal *window, const gn_filter_settings *settings, gn_bands *out) {
  out->n = window->n;
  for (size_t b = 0; b < GN_N_BANDS; b++) {
    const gn_biquad sections[2] = {gn_biquad_highpass(settings->edges_hz[b][0], window->fs_hz),
                                   gn_biquad_lowpass(settings->edges_hz[b][1], window->fs_hz)};
    out->band[b] = gn_new(window->n, sizeof(float));
    if (!out->band[b] || gn_biquad_zero_phase(sections, 2, window->samples, out->band[b], window->n)) {
      gn_bands_clear(out);
      return GIRTHLINE_NO_MEMORY;
    }
  }
  return GIRTHLINE_OK;
}

void gn_bands_clear(gn_bands *bands) {
  if (!bands) return;
  for (size_t b = 0; b < GN_N_BANDS; b++) gn_free(bands->band[b]);
  *bands = (gn_bands){0};
}
