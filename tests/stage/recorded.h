// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Simulated recordings as WAV files in memory (32-bit float), and what the analysis makes of them.
#ifndef TESTS_RECORDED_H
#define TESTS_RECORDED_H

#include <stdlib.h>
#include <string.h>

#include <girthline/analyse.h>

#include "support.h"
#include "synth/synth.h"

typedef struct recorded {
  float *x;  // channels interleaved
  size_t n;  // frames
  int channels, rate_hz;
  double s1_s[2048], s2_s[2048];
  size_t n_s1, n_s2;
} recorded;

static inline recorded *recorded_new(size_t n, int channels, int rate_hz) {
  recorded *w = test_calloc(1, sizeof *w);
  w->n = n;
  w->channels = channels;
  w->rate_hz = rate_hz;
  w->x = test_calloc(n * (size_t)channels + 1, sizeof *w->x);
  return w;
}

static inline gn_synth_spec recorded_spec(void) {
  gn_synth_spec spec;
  gn_synth_spec_init(&spec);
  spec.seed = 11;
  spec.seconds = 30;
  spec.bpm = 36;
  spec.snr_db = 18;
  spec.noise = GN_SYNTH_BREATH;
  return spec;
}

static inline recorded *recorded_made(const gn_synth_spec *spec) {
  gn_synth *synth = gn_synth_new(spec, NULL);
  assert_non_null(synth);
  recorded *w = recorded_new(gn_synth_frames(synth), spec->channels, spec->rate_hz);
  assert_int_equal(gn_synth_read(synth, w->x, w->n, NULL), w->n);
  gn_synth_sound sound;
  while (gn_synth_next_sound(synth, &sound)) {
    if (sound.number == 1) w->s1_s[w->n_s1++] = sound.onset_s;
    if (sound.number == 2) w->s2_s[w->n_s2++] = sound.onset_s;
  }
  gn_synth_free(synth);
  return w;
}

static inline void recorded_free(recorded *w) {
  test_free(w->x);
  test_free(w);
}

static inline void recorded_put(unsigned char **at, uint32_t value, size_t n) {
  for (size_t i = 0; i < n; i++) *(*at)++ = (unsigned char)(value >> (8 * i));
}

/// The file's bytes (test_free them).
static inline unsigned char *recorded_wav(const recorded *w, size_t *n_bytes) {
  const uint32_t frame = 4 * (uint32_t)w->channels, data = (uint32_t)w->n * frame;
  unsigned char *bytes = test_calloc(44 + data + 1, 1), *at = bytes;
  memcpy(at, "RIFF", 4), at += 4;
  recorded_put(&at, 36 + data, 4);
  memcpy(at, "WAVEfmt ", 8), at += 8;
  recorded_put(&at, 16, 4);
  recorded_put(&at, 3, 2); // IEEE float
  recorded_put(&at, (uint32_t)w->channels, 2);
  recorded_put(&at, (uint32_t)w->rate_hz, 4);
  recorded_put(&at, (uint32_t)w->rate_hz * frame, 4);
  recorded_put(&at, frame, 2);
  recorded_put(&at, 32, 2);
  memcpy(at, "data", 4), at += 4;
  recorded_put(&at, data, 4);
  for (size_t i = 0; i < w->n * (size_t)w->channels; i++) {
    uint32_t bits;
    memcpy(&bits, &w->x[i], 4);
    recorded_put(&at, bits, 4);
  }
  *n_bytes = 44 + data;
  return bytes;
}

static inline girthline_result *recorded_analyse(const recorded *w, const girthline_settings *settings) {
  size_t n_bytes;
  unsigned char *bytes = recorded_wav(w, &n_bytes);
  girthline_result *r = NULL;
  girthline_error error = {0};
  const girthline_status status = girthline_analyse_memory(bytes, n_bytes, "made in memory", settings, &r, &error);
  if (status != GIRTHLINE_OK) print_error("%s\n", error.text);
  assert_int_equal(status, GIRTHLINE_OK);
  test_free(bytes);
  return r;
}

/// Make it, analyse it, forget the sound.
static inline girthline_result *recorded_read(const gn_synth_spec *spec) {
  recorded *w = recorded_made(spec);
  girthline_result *r = recorded_analyse(w, NULL);
  recorded_free(w);
  return r;
}

/// Every true S1 and S2 between from_s and to_s is found once within tolerance_s, and nothing else is found there.
static inline void recorded_assert_found(const recorded *w, const girthline_result *r, double from_s, double to_s, double tolerance_s) {
  for (int which = 0; which < 2; which++) {
    const double *want = which ? w->s2_s : w->s1_s;
    const size_t n_want = which ? w->n_s2 : w->n_s1;
    size_t i = 0;
    while (i < n_want && want[i] < from_s) i++;
    for (size_t k = 0; k < r->n_beats; k++) {
      const double got = which ? r->beats[k].s2_onset_s : r->beats[k].s1_onset_s;
      if (isnan(got) || got < from_s - tolerance_s || got > to_s) continue;
      if (i == n_want || want[i] > to_s) fail_msg("S%d at %.3f s is one too many", which + 1, got);
      assert_near(got, want[i], tolerance_s);
      i++;
    }
    if (i < n_want && want[i] < to_s - tolerance_s) fail_msg("S%d at %.3f s was missed", which + 1, want[i]);
  }
}

/// The same beats (b's times later by shift_s), rate and words.
static inline void recorded_assert_alike(const girthline_result *a, const girthline_result *b, double shift_s) {
  assert_int_equal(a->n_beats, b->n_beats);
  for (size_t i = 0; i < a->n_beats; i++) {
    if (isnan(a->beats[i].s1_onset_s)) assert_true(isnan(b->beats[i].s1_onset_s));
    else assert_near(b->beats[i].s1_onset_s, a->beats[i].s1_onset_s + shift_s, 0.005);
    if (isnan(a->beats[i].s2_onset_s)) assert_true(isnan(b->beats[i].s2_onset_s));
    else assert_near(b->beats[i].s2_onset_s, a->beats[i].s2_onset_s + shift_s, 0.005);
  }
  assert_near(a->rate.bpm, b->rate.bpm, 0.1);
  assert_near(a->rate.settled_bpm, b->rate.settled_bpm, 0.1);
  assert_int_equal(a->rate.standing, b->rate.standing);
  assert_int_equal(a->rhythm.pattern, b->rhythm.pattern);
  assert_int_equal(a->murmur.present, b->murmur.present);
  assert_int_equal(a->murmur.n_phases, b->murmur.n_phases);
  for (size_t i = 0; i < a->murmur.n_phases; i++) {
    assert_int_equal(a->murmur.phases[i].phase, b->murmur.phases[i].phase);
    assert_int_equal(a->murmur.phases[i].timing, b->murmur.phases[i].timing);
    assert_int_equal(a->murmur.phases[i].shape, b->murmur.phases[i].shape);
  }
  assert_int_equal(a->n_extras, b->n_extras);
}

#endif
