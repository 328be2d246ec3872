// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The engine lays all parts of a recording side by side, block by block, before any level is set. The calibration
/// listens to one engine; a second one from the same seed makes the recording.
#ifndef GN_SYNTH_ENGINE_H
#define GN_SYNTH_ENGINE_H

#include "synth/parts.h"

/// The parts that get a level of their own. BODY ones come through the animal's wall.
enum {
  PART_HEART = 0,
  PART_MURMUR, // GN_SYNTH_MURMURS_MOST of them
  PART_BREATH = PART_MURMUR + GN_SYNTH_MURMURS_MOST,
  PART_GUT,
  PART_HUM,
  PART_VOICE,
  PART_WIND,
  PART_SENSOR,
  PART_TOUCH, // handling, knocks, putting on: not part of the signal-to-noise ratio
  N_PARTS
};
enum { FIRST_NOISE = PART_BREATH, N_NOISES = PART_TOUCH - PART_BREATH };

/// One beat with where its sounds and murmurs lie.
typedef struct laid_beat {
  beat b;
  gn_synth_sound sounds[8];
  int n_sounds;
  gn_synth_span murmurs[GN_SYNTH_MURMURS_MOST];
} laid_beat;

typedef struct gn_synth_engine gn_synth_engine;

/// Called for every beat once it is laid down (a little ahead of the blocks). Non-zero stops: memory refused.
typedef int (*gn_synth_on_beat)(void *context, const laid_beat *beat);

/// NULL: memory refused. spec and animal are kept by reference.
gn_synth_engine *gn_synth_engine_new(const gn_synth_spec *spec, const animal *a);
void gn_synth_engine_free(gn_synth_engine *e); // accepts NULL
bool gn_synth_engine_has(const gn_synth_engine *e, int part);
double gn_synth_engine_pitch(const gn_synth_engine *e, size_t murmur_index);
double gn_synth_engine_sits(const gn_synth_engine *e); // when the chest piece sits, seconds; 0 without put_on

/// Make the next BLOCK_N samples of every part, from absolute index engine's position on. parts[k] points to BLOCK_N
/// samples (garbage where the part is not there) and holds until the next call. -1: memory refused.
int gn_synth_engine_block(gn_synth_engine *e, const float *parts[N_PARTS], spans *bad, gn_synth_on_beat on_beat, void *context);

/// The recorder's linear part: one chain per channel of samples.
typedef struct recorder { biquad high, bump, low; } recorder;
recorder gn_synth_recorder_of(const gn_synth_spec *spec);
void gn_synth_recorder_run(recorder *r, float *x, size_t n);

/// Thick coat: what comes from the body is low-passed.
typedef struct muffle { biquad first, second; } muffle;
muffle gn_synth_muffle_of(const gn_synth_spec *spec);
void gn_synth_muffle_run(muffle *m, float *x, size_t n);
bool gn_synth_part_is_body(int part);

/// Gains that make the levels come out as asked, and the heart's own size.
typedef struct levels {
  double gain[N_PARTS];
  double heart_peak;               // largest heart sample after the recorder
  double s1_length_s, s2_length_s; // means
} levels;
/// -1: memory refused.
int gn_synth_calibrate(const gn_synth_spec *spec, const animal *a, levels *out);

#endif
