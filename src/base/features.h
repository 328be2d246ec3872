// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the decoder sees of a window: levels of the heart-sound bands on an even grid of frames.
#ifndef GN_BASE_FEATURES_H
#define GN_BASE_FEATURES_H

#include <stddef.h>

#define GN_N_BANDS 2

enum { GN_LOW_FROM_HZ = 20, GN_LOW_TO_HZ = 60 }; ///< where third and fourth sounds are looked for: they lie under 70 Hz (Li et al. 2020)

/// Frame k is centred at start_s + k / rate_hz; frames stand on a grid of absolute time, so that windows share it.
typedef struct gn_features {
  size_t n;
  double rate_hz;             ///< 100
  double start_s;
  float *level_db[GN_N_BANDS]; ///< n each: level over the slowly moving background, dB, 0 .. about 19
  unsigned char *spoilt;      ///< n: 1 where the frame carries no evidence
  size_t n_fine;
  double fine_rate_hz;        ///< 400; the same start_s
  size_t n_wave;
  double wave_rate_hz;        ///< 500; the same start_s
  float *wave;                ///< n_wave: the heart-sound bands' waveform, full scale 1; NULL: not there
  float *fine_power;          ///< n_fine: smoothed power of the wider band that onsets are read in, full scale 1
} gn_features;

#endif
