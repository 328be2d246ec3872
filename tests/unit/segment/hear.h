// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Features of closed form for the tests of the decoder: levels written down frame by frame, or those of a sound.
#ifndef TESTS_HEAR_H
#define TESTS_HEAR_H

#include <math.h>

#include "support.h"

#include "../murmur/heart.h"
#include "base/memory.h"
#include "base/random.h"
#include "envelope/envelope.h"
#include "filter/filter.h"

static inline const girthline_profile *hear_profile(girthline_species species) {
  static girthline_profile store;
  return girthline_profile_of(species, -1, &store);
}

static inline gn_features hear_empty(size_t n) {
  gn_features f = {.n = n, .rate_hz = 100, .fine_rate_hz = 400, .n_fine = 4 * n};
  f.level_db[0] = gn_new(n, sizeof(float));
  f.level_db[1] = gn_new(n, sizeof(float));
  f.spoilt = gn_new(n, 1);
  f.fine_power = gn_new(4 * n, sizeof(float));
  return f;
}

/// A bump of this height that starts at frame `at`, rises over 3 frames and falls over the rest of its length.
static inline void hear_bump(gn_features *f, long at, long length, float low_db, float high_db) {
  for (long k = -2; k < length; k++) {
    if (at + k < 0 || at + k >= (long)f->n) continue;
    const float shape = k < 1 ? (float)(k + 3) / 4 : 1 - 0.8f * (float)(k - 1) / (float)length;
    f->level_db[0][at + k] = fmaxf(f->level_db[0][at + k], low_db * shape);
    f->level_db[1][at + k] = fmaxf(f->level_db[1][at + k], high_db * shape);
  }
}

/// Nothing lies under a background of 3 dB, and all wavers by 1 dB.
static inline void hear_waver(gn_features *f, gn_random *r) {
  for (size_t k = 0; k < f->n; k++)
    for (size_t b = 0; b < GN_N_BANDS; b++) f->level_db[b][k] = fmaxf(f->level_db[b][k], 3) + (float)gn_random_normal(r);
}

/// A heart of even beats: S1 long and low, S2 short and high, over a background that wavers by 1 dB.
static inline gn_features hear_heart(size_t n, long first, long interval, long systole) {
  gn_features f = hear_empty(n);
  gn_random r = gn_random_of(3);
  for (long at = first; at < (long)n; at += interval) {
    hear_bump(&f, at, 13, 16, 12);
    hear_bump(&f, at + systole, 8, 10, 15);
  }
  hear_waver(&f, &r);
  return f;
}

/// The features of a sound, through the filter and the envelope as the pipeline runs them.
static inline gn_features hear_sound(const float *x, size_t n, double fs_hz, girthline_species species) {
  const girthline_profile *profile = hear_profile(species);
  const gn_filter_settings filter = gn_filter_settings_default(profile);
  const gn_envelope_settings envelope = gn_envelope_settings_default(profile);
  const gn_signal window = {x, n, fs_hz, 0};
  gn_bands bands = {0};
  gn_features f = {0};
  assert_int_equal(gn_filter_run(&window, &filter, &bands), GIRTHLINE_OK);
  const gn_envelope_in in = {{bands.band[0], bands.band[1]}, bands.fine, n, fs_hz, 0, NULL, 0};
  assert_int_equal(gn_envelope_run(&in, &envelope, &f), GIRTHLINE_OK);
  gn_bands_clear(&bands);
  return f;
}

#endif
