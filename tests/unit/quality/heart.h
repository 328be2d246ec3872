// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A heart of two bursts and steady noise, with everything known: what the quality tests listen to.
#ifndef TESTS_QUALITY_HEART_H
#define TESTS_QUALITY_HEART_H

#include <stdlib.h>

#include "base/maths.h"
#include "base/random.h"
#include "base/result.h"
#include "quality/parts.h"

#define FS_HZ 2000.0

typedef struct heart {
  float *samples;
  size_t n;
  girthline_beat *beats;
  size_t n_beats;
} heart;

static inline void heart_burst(heart *h, double at_s, double length_s, double hz, double amplitude) {
  for (size_t i = (size_t)(at_s * FS_HZ); i < h->n && (double)i / FS_HZ < at_s + length_s; i++) {
    const double t = (double)i / FS_HZ - at_s;
    h->samples[i] += (float)(amplitude * (0.5 - 0.5 * gn_cos(2 * GN_PI * t / length_s)) * gn_sin(2 * GN_PI * hz * t));
  }
}

static inline void heart_noise(heart *h, double from_s, double to_s, double rms, uint64_t seed) {
  gn_random r = gn_random_of(seed);
  for (size_t i = (size_t)(from_s * FS_HZ); i < h->n && (double)i < to_s * FS_HZ; i++) h->samples[i] += (float)(rms * gn_random_normal(&r));
}

/// A beat each interval_s: S1 of 120 ms at 45 Hz, S2 0.45 s later of 85 ms at 60 Hz, on white noise.
static inline heart heart_new(double seconds, double interval_s, double noise_rms) {
  heart h = {.n = (size_t)(seconds * FS_HZ)};
  h.samples = calloc(h.n + 1, sizeof *h.samples);
  h.beats = calloc((size_t)(seconds / interval_s) + 1, sizeof *h.beats);
  for (double t = 0.3; t + interval_s < seconds; t += interval_s) {
    heart_burst(&h, t, 0.120, 45, 0.3);
    heart_burst(&h, t + 0.45, 0.085, 60, 0.2);
    h.beats[h.n_beats++] = (girthline_beat){t, t + 0.45, 0.06f, 0.12f, 0.04f, 0.085f, 0.95f, 0.95f, 0};
  }
  heart_noise(&h, 0, seconds, noise_rms, 7);
  return h;
}

static inline void heart_free(heart *h) {
  free(h->samples);
  free(h->beats);
}

static inline const girthline_profile *heart_profile(void) {
  static girthline_profile store;
  return girthline_profile_of(GIRTHLINE_HORSE, -1, &store);
}

static inline const girthline_quality_limits *heart_limits(void) {
  static girthline_limits store;
  store = girthline_limits_default();
  return &store.quality;
}

/// The whole stage over one window; the result owns copies. NULL when memory is refused.
static inline girthline_result *heart_judge(const heart *h) {
  gn_quality *q = gn_quality_new(heart_limits(), heart_profile(), FS_HZ, FS_HZ, 0);
  gn_quality_window *seen = gn_quality_window_new();
  girthline_result *r = q && seen ? gn_result_new() : NULL;
  const gn_signal w = {h->samples, h->n, FS_HZ, 0};
  const girthline_problem *problems;
  size_t n_problems;
  bool ok = r != NULL;
  if (ok) {
    r->recording.from_s = 0;
    r->recording.to_s = (double)h->n / FS_HZ;
    r->beats = h->beats;
    r->n_beats = h->n_beats;
    gn_biquad band[2];
    float *heard = gn_quality_heard(seen, h->n);
    gn_quality_heard_band(FS_HZ, band);
    const double all_s[2] = {0, r->recording.to_s + 1};
    ok = heard && !gn_biquad_zero_phase(band, 2, h->samples, heard, h->n) && gn_quality_push(q, h->samples, h->n) == GIRTHLINE_OK && gn_quality_begin(q, seen, 0, r->recording.to_s) == GIRTHLINE_OK &&
         gn_quality_mark(q, seen, &w, &problems, &n_problems) == GIRTHLINE_OK &&
         gn_quality_measure(q, seen, &w, all_s, h->beats, h->n_beats) == GIRTHLINE_OK && gn_quality_finish(q, r) == GIRTHLINE_OK;
    r->beats = NULL;
    r->n_beats = 0;
  }
  gn_quality_window_free(seen);
  gn_quality_free(q);
  if (ok) return r;
  girthline_result_free(r);
  return NULL;
}

/// Seconds of [from_s, to_s) under problems of the kinds in the set.
static inline double marked_s(const girthline_problem *items, size_t n, unsigned kinds, double from_s, double to_s) {
  double sum = 0;
  for (double t = from_s + 0.0005; t < to_s; t += 0.001)
    if (gn_quality_spans_hit(items, n, kinds, t, t + 1e-6)) sum += 0.001;
  return sum;
}

#endif
