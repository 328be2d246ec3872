// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The heart-sound bands of a window, with no net delay.
#ifndef GN_FILTER_FILTER_H
#define GN_FILTER_FILTER_H

#include <stddef.h>

#include <girthline/species.h>
#include <girthline/status.h>

#include "base/biquad.h"
#include "base/features.h"
#include "base/signal.h"

/// Band edges, Hz (-3 dB of one pass; -6 dB after both).
typedef struct gn_filter_settings { double edges_hz[GN_N_BANDS][2], fine_hz[2]; } gn_filter_settings;

/// The two octaves that hold S1 and S2; higher for small hearts.
gn_filter_settings gn_filter_settings_default(const girthline_profile *profile);

/// Open struct; clear with gn_bands_clear. n samples of each band at the window's rate; low: GN_LOW_FROM_HZ to GN_LOW_TO_HZ.
typedef struct gn_bands { size_t n; float *band[GN_N_BANDS], *fine, *low; } gn_bands;

/// Second-order Butterworth band-passes run forward and backward, all side by side. Fails only when memory is refused.
girthline_status gn_filter_run(const gn_signal *window, const gn_filter_settings *settings, gn_bands *out);
void gn_bands_clear(gn_bands *bands); ///< accepts NULL

#endif
