// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A heart of closed form for the tests: S1 and S2 are short tones, a murmur is a tone or noise of known level.
#ifndef TESTS_HEART_H
#define TESTS_HEART_H

#include <math.h>
#include <stddef.h>
#include <stdlib.h>

#include <girthline/result.h>

#include "base/maths.h"
#include "base/random.h"

typedef struct heart {
  float *x;
  size_t n;
  double fs_hz;
  girthline_beat beats[1200];
  size_t n_beats;
  double interval_s, systole_s;
  double s1_rms;
} heart;

static const double HEART_S1_S = 0.11, HEART_S2_S = 0.08, HEART_LEAD_S = 0.5, HEART_AMPLITUDE = 0.1;

// Raised-cosine ends of 10 ms.
static inline double heart_gate(double t, double length) {
  if (t < 0 || t > length) return 0;
  const double edge = fmin(t, length - t) / 0.010;
  return edge >= 1 ? 1 : 0.5 - 0.5 * gn_cos(GN_PI * edge);
}

static inline void heart_tone(heart *h, double from_s, double length_s, double hz, double amplitude) {
  for (size_t i = (size_t)fmax(0, from_s * h->fs_hz); i < h->n && (double)i / h->fs_hz < from_s + length_s; i++) {
    const double t = (double)i / h->fs_hz - from_s;
    if (t >= 0) h->x[i] += (float)(amplitude * heart_gate(t, length_s) * gn_sin(2 * GN_PI * hz * t));
  }
}

// White noise of this RMS between two times (the same for every call with a seed).
static inline void heart_noise(heart *h, double from_s, double length_s, double rms, uint64_t seed) {
  gn_random r = gn_random_of(seed);
  for (size_t i = (size_t)(from_s * h->fs_hz); i < h->n && (double)i / h->fs_hz < from_s + length_s; i++)
    h->x[i] += (float)(rms * heart_gate((double)i / h->fs_hz - from_s, length_s) * gn_random_normal(&r));
}

static inline heart *heart_new(double fs_hz, size_t n_beats, double interval_s, double systole_s) {
  heart *h = calloc(1, sizeof *h);
  h->fs_hz = fs_hz;
  h->n_beats = n_beats;
  h->interval_s = interval_s;
  h->systole_s = systole_s;
  h->n = (size_t)((HEART_LEAD_S + (double)n_beats * interval_s) * fs_hz);
  h->x = calloc(h->n + 1, sizeof *h->x);
  // Each raised-cosine end keeps 3/8 of its power.
  h->s1_rms = HEART_AMPLITUDE / sqrt(2.0) * sqrt(1 - 2 * 0.010 * 0.625 / HEART_S1_S);
  for (size_t i = 0; i < n_beats; i++) {
    const double at = HEART_LEAD_S + (double)i * interval_s;
    heart_tone(h, at, HEART_S1_S, 70, HEART_AMPLITUDE);
    heart_tone(h, at + systole_s, HEART_S2_S, 80, 0.8 * HEART_AMPLITUDE);
    h->beats[i] = (girthline_beat){at, at + systole_s, 0.04f, (float)HEART_S1_S, 0.03f, (float)HEART_S2_S, 1, 1, 0};
  }
  heart_noise(h, 0, 1e9, 0.0005, 1);
  return h;
}

static inline void heart_free(heart *h) {
  if (!h) return;
  free(h->x);
  free(h);
}

// A tone in every beat, from and to in seconds after S1's onset, at a level in dB against S1.
static inline void heart_murmur(heart *h, double from_s, double to_s, double hz, double level_db) {
  const double amplitude = sqrt(2 * gn_from_db(level_db)) * h->s1_rms;
  for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s + from_s, to_s - from_s, hz, amplitude);
}

#endif
