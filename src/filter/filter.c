// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "filter/filter.h"

#include <stdbool.h>

#include "base/biquad.h"
#include "base/memory.h"
#include "base/result.h"

gn_filter_settings gn_filter_settings_default(const girthline_profile *profile) {
  // 30-60 and 60-120 Hz hold most of S1 and S2 in large hearts (Liu et al. 2016: main parts 25-45 and 55-75 Hz in man);
  // breath sounds take over above 75 Hz (Ploysongsang et al. 1989), so the upper band stops at 120 Hz. Small hearts
  // sound higher.
  const double scale = gn_species_pitch(profile);
  // Onsets are read in a wider band, whose envelope rises faster (spread of S1's onsets over 15 clean simulated recordings 5.1 ms, 5.8 in
  // the two bands together); from 220 Hz on what is ahead of a recording moved the onset of a soft S2 by more than 5 ms.
  return (gn_filter_settings){{{30 * scale, 60 * scale}, {60 * scale, 120 * scale}}, {30 * scale, 200 * scale}};
}

girthline_status gn_filter_run(const gn_signal *window, const gn_filter_settings *settings, gn_bands *out) {
  enum { N_ALL = GN_N_BANDS + 2 };
  const double low_hz[2] = {GN_LOW_FROM_HZ, GN_LOW_TO_HZ}, *const edges_hz[N_ALL] = {settings->edges_hz[0], settings->edges_hz[1], settings->fine_hz, low_hz};
  float **const bands[N_ALL] = {&out->band[0], &out->band[1], &out->fine, &out->low};
  gn_biquad sections[N_ALL][2];
  float *to[N_ALL];
  bool refused = false;
  out->n = window->n;
  for (size_t b = 0; b < N_ALL; b++) {
    gn_biquad_bandpass(sections[b], edges_hz[b][0], edges_hz[b][1], window->fs_hz);
    to[b] = *bands[b] = gn_room(window->n, sizeof(float));
    refused = refused || !to[b];
  }
  refused = refused || gn_biquad_zero_phase_bands((const gn_biquad(*)[2])sections, N_ALL, window->samples, to, window->n);
  if (refused) gn_bands_clear(out);
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

void gn_bands_clear(gn_bands *bands) {
  if (!bands) return;
  for (size_t b = 0; b < GN_N_BANDS; b++) gn_free(bands->band[b]);
  gn_free(bands->fine);
  gn_free(bands->low);
  *bands = (gn_bands){0};
}
