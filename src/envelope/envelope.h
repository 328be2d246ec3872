// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// From band signals to the features the decoder sees.
#ifndef GN_ENVELOPE_ENVELOPE_H
#define GN_ENVELOPE_ENVELOPE_H

#include <girthline/result.h>
#include <girthline/status.h>

#include "base/features.h"

/// Open struct; every field states its unit; gn_envelope_settings_default fills it.
typedef struct gn_envelope_settings {
  double frame_smooth_s;   ///< length of the Hann window over the squared band signal, seconds (0.040)
  double fine_smooth_s;    ///< the same for the fine grid (0.016)
  double floor_window_s;   ///< stretch over which the background level is taken, seconds (8)
  double floor_quantile;   ///< quantile of the level that counts as background (0.20)
  double peak_quantile;    ///< quantile that counts as the heart sounds' level (0.96)
  double range_db;         ///< the background is never taken lower than this under that level, dB (16)
  double local_window_s;   ///< stretch around a frame whose lower level is background too: breath swells and ebbs, seconds
                           ///< (0.72: six times the length of S1)
  double local_quantile;   ///< quantile of the level within it (0.20)
  double headroom_db;      ///< levels are cut this far above the heart sounds' level, dB (3)
} gn_envelope_settings;

gn_envelope_settings gn_envelope_settings_default(const girthline_profile *profile);

typedef struct gn_envelope_in {
  const float *band[GN_N_BANDS], *fine; ///< n samples each: for the frames, and for the fine grid
  size_t n;
  double fs_hz, start_s;
  const girthline_span *spoilt;  ///< spans without evidence, time order
  size_t n_spoilt;
} gn_envelope_in;

/// Open result; clear with gn_features_clear. Fails only when memory is refused.
girthline_status gn_envelope_run(const gn_envelope_in *in, const gn_envelope_settings *settings, gn_features *out);
void gn_features_clear(gn_features *features); ///< accepts NULL

#endif
