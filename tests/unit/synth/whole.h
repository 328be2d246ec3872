// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Recordings made in memory by the simulator, for the tests that look into them.
#ifndef TESTS_WHOLE_H
#define TESTS_WHOLE_H

#include "support.h"
#include "synth/synth.h"

/// A recording read in full, with its truth.
typedef struct whole {
  float *x; // channels interleaved
  size_t n; // frames
  double fs_hz;
  gn_synth_sound sounds[4096];
  size_t n_sounds;
  gn_synth *synth; // keeps the facts
  gn_synth_facts facts;
} whole;

static inline gn_synth_spec usual(void) {
  gn_synth_spec spec;
  gn_synth_spec_init(&spec);
  spec.seed = 20;
  return spec;
}

static inline whole *made_by(const gn_synth_spec *spec, size_t chunk_n) {
  whole *w = test_calloc(1, sizeof *w);
  w->fs_hz = spec->rate_hz;
  w->synth = gn_synth_new(spec, NULL);
  assert_non_null(w->synth);
  const size_t n = gn_synth_frames(w->synth), wide = (size_t)spec->channels;
  w->x = test_calloc(n * wide + 1, sizeof *w->x);
  size_t got;
  while ((got = gn_synth_read(w->synth, w->x + w->n * wide, chunk_n, NULL)) > 0) {
    w->n += got;
    while (w->n_sounds < 4096 && gn_synth_next_sound(w->synth, &w->sounds[w->n_sounds])) w->n_sounds++;
  }
  assert_int_equal(w->n, n);
  gn_synth_facts_get(w->synth, &w->facts);
  return w;
}

static inline whole *made(const gn_synth_spec *spec) { return made_by(spec, 5000); }

static inline void done(whole *w) {
  gn_synth_free(w->synth);
  test_free(w->x);
  test_free(w);
}

static inline double largest(const whole *w, double from_s, double to_s) {
  double most = 0;
  for (size_t i = (size_t)fmax(0, from_s * w->fs_hz); i < (size_t)(to_s * w->fs_hz) && i < w->n; i++) most = fmax(most, fabs((double)w->x[i]));
  return most;
}

#endif
