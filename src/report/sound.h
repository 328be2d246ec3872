// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The recording as a page plays it: read again from the input, brought to a playable rate, filtered, slowed, as WAV.
#ifndef GN_REPORT_SOUND_H
#define GN_REPORT_SOUND_H

#include <stddef.h>

#include <girthline/reader.h>
#include <girthline/report.h>

#include "report/html.h"

typedef struct gn_sound {
  float *samples; ///< n samples, full scale 1
  size_t n;
  double rate_hz;
  double start_s; ///< time of samples[0] from the recording's first sample
} gn_sound;

/// Chromium refuses sound below 3000 Hz; 8000 Hz is the least every player takes.
#define GN_SOUND_RATE_HZ 8000.0

/// Longer stretches are neither carried by a page nor drawn sample by sample, seconds: a minute, and what a recorder adds to it (choice).
#define GN_SOUND_LONGEST_S 61.0

void gn_sound_clear(gn_sound *sound); ///< accepts NULL

/// Open an input that has a path or data, for the channel that its result is of, chosen anew where that is 0. *out is the caller's; NULL on failure.
girthline_status gn_sound_open(const girthline_report_input *input, girthline_reader **out, girthline_error *error);

/// Read [from_s, to_s) of that channel at its own rate; to_s past the end reads to the end. An input without a
/// path and without data gives an empty sound and GIRTHLINE_OK.
girthline_status gn_sound_read(const girthline_report_input *input, double from_s, double to_s, gn_sound *out, girthline_error *error);

/// The same sound at another rate.
girthline_status gn_sound_resample(const gn_sound *sound, double rate_hz, gn_sound *out, girthline_error *error);

/// Band-pass 25 to 400 Hz in place with no net delay, brought to a peak of 0.9 of full scale.
girthline_status gn_sound_heart_band(gn_sound *sound, girthline_error *error);

/// `factor` times as long with its pitch kept (overlap-add of pieces that fit each other); factor 1 to 4.
girthline_status gn_sound_slow(const gn_sound *sound, double factor, gn_sound *out, girthline_error *error);

/// A slowed sound played `factor` times as fast: what gn_sound_transpose does with what gn_sound_slow gives.
girthline_status gn_sound_raise(const gn_sound *slow, double factor, gn_sound *out, girthline_error *error);

/// As long as before, its pitch `factor` times as high; factor 1 to 4.
girthline_status gn_sound_transpose(const gn_sound *sound, double factor, gn_sound *out, girthline_error *error);

/// 16-bit PCM WAV as a data URI (without quotes); beyond full scale is clipped.
void gn_sound_data_uri(const gn_sound *sound, gn_html *out);

#endif
