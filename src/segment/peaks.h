// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Short sounds as peaks of an envelope: where they are and how far they stand over the dips beside them.
#ifndef GN_SEGMENT_PEAKS_H
#define GN_SEGMENT_PEAKS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/biquad.h"
#include "base/signal.h"

/// Envelopes of a window in dB: a low one (20 to 60 Hz) for S3 and S4, a sharp one (50 to 400 Hz) for splits and clicks.
typedef struct gn_peaks {
  float *low_db, *sharp_db; ///< n cells
  size_t n;
  double start_s;
  const gn_signal *window; ///< not owned
} gn_peaks;

typedef struct gn_peak {
  double peak_s, onset_s;
  double width_s;  ///< at half the amplitude
  double rise_db;  ///< over the higher of the two dips
  double level_db; ///< of the peak, dB re full scale
} gn_peak;

/// The envelopes from their bands, both without delay: low is GN_LOW_FROM_HZ to GN_LOW_TO_HZ at any rate, sharp n samples of what
/// gn_peaks_sharp_band leaves of the window, which is kept. 0, or -1 when memory is refused.
void gn_peaks_sharp_band(double fs_hz, gn_biquad band[2]);
int gn_peaks_init(gn_peaks *e, const gn_signal *window, const gn_signal *low, const float *sharp);
void gn_peaks_clear(gn_peaks *e);

/// Does the window hold all of [from_s, to_s]?
bool gn_peaks_hold(const gn_peaks *e, double from_s, double to_s);

/// The peak in [from_s, to_s] that stands most over its dips in [left_s, right_s]. False: there is none.
bool gn_peaks_best(const gn_peaks *e, double from_s, double to_s, double left_s, double right_s, bool low, gn_peak *out);

/// The two largest peaks of the sharp envelope in [from_s, to_s], in time order; rise_db of second: over the dip between
/// them, of the smaller of the two. False: fewer than two.
bool gn_peaks_pair(const gn_peaks *e, double from_s, double to_s, gn_peak *first, gn_peak *second);

/// Largest level in [from_s, to_s], dB.
double gn_peaks_most_db(const gn_peaks *e, double from_s, double to_s, bool low);

#endif
