// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Recordings with known truth. The sounds are made here from damped modes, filtered noise and a model of the animal;
/// nothing in this folder knows the decoder's durations, templates or bands, and the decoder knows nothing of these.
///
/// A recording is made in blocks: memory does not grow with its length, but for the lists in gn_synth_facts (some 16
/// bytes a beat). The same spec gives the same samples, however they are read.
#ifndef GN_SYNTH_SYNTH_H
#define GN_SYNTH_SYNTH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <girthline/species.h>
#include <girthline/status.h>

#include "synth/intervals.h"

typedef enum gn_synth_rhythm_kind {
  GN_SYNTH_REGULAR = 0,
  GN_SYNTH_CYCLIC,      ///< speeds and slows with the breathing
  GN_SYNTH_PAUSES,      ///< dropped beats every 3 to 8 beats
  GN_SYNTH_EARLY_BEATS, ///< coupling 0.55 to 0.8 of the usual interval
  GN_SYNTH_IRREGULAR,   ///< no pattern, CV 0.18 to 0.30
  GN_SYNTH_N_RHYTHMS
} gn_synth_rhythm_kind;

typedef enum gn_synth_phase { GN_SYNTH_SYSTOLE = 0, GN_SYNTH_DIASTOLE, GN_SYNTH_CONTINUOUS } gn_synth_phase;
typedef enum gn_synth_timing { GN_SYNTH_EARLY = 0, GN_SYNTH_MID, GN_SYNTH_LATE, GN_SYNTH_HOLO } gn_synth_timing;
typedef enum gn_synth_shape {
  GN_SYNTH_PLATEAU = 0,
  GN_SYNTH_CRESCENDO,
  GN_SYNTH_DECRESCENDO,
  GN_SYNTH_CRESCENDO_DECRESCENDO
} gn_synth_shape;

typedef struct gn_synth_murmur {
  gn_synth_phase phase;
  gn_synth_timing timing;
  gn_synth_shape shape;
  bool musical;
  double pitch_hz; ///< 40 to 650; 0: drawn from the seed
  double level_db; ///< RMS over the murmur's span against RMS over S1, both 25 to 700 Hz, median over beats
} gn_synth_murmur;

/// Noises, as bits.
enum {
  GN_SYNTH_BREATH = 1,
  GN_SYNTH_GUT = 2,
  GN_SYNTH_HANDLING = 4,
  GN_SYNTH_HUM = 8,
  GN_SYNTH_VOICE = 16,
  GN_SYNTH_WIND = 32,
  GN_SYNTH_DROPOUT = 64,
  GN_SYNTH_KNOCKS = 128
};

#define GN_SYNTH_MURMURS_MOST 3

/// What to make. Fill with gn_synth_spec_init, then change; "0: drawn" means drawn from the seed.
typedef struct gn_synth_spec {
  girthline_species species;  ///< default horse
  double bpm;                 ///< 10 to 320; the settled rate; 0: usual for the species
  gn_synth_rhythm_kind rhythm;
  double settle_percent;      ///< 0 to 150: how much faster the recording starts; it falls over some 10 to 20 s
  double cycle_depth_percent; ///< 1 to 40, amplitude of the cyclic rhythm; 0: drawn from 8 to 12
  int pause_beats;            ///< 1 to 4 beats dropped per pause
  const gn_synth_intervals *intervals; ///< NULL, or the intervals to use in turn, from the first again when they end;
                              ///< bpm and rhythm are not looked at then; the caller's, for as long as the synth lives
  bool s3, s4;                ///< add a third, a fourth sound
  double split_s1_ms;         ///< 0 to 80: delay of the second part of S1; negative: the species' own
  double split_s2_ms;         ///< 0 to 100: delay of P2 after A2; negative: the species' own, wider in inspiration
  bool click;                 ///< a systolic click
  gn_synth_murmur murmurs[GN_SYNTH_MURMURS_MOST];
  size_t n_murmurs;
  double snr_db;              ///< -20 to 80: RMS over S1 and S2 against RMS of the noise between them, 25 to 700 Hz
  unsigned noise;             ///< bits; sensor noise is always there
  double hum_hz;              ///< 50 or 60
  double knocks_per_min;      ///< 5 to 300, with GN_SYNTH_KNOCKS
  double breaths_per_min;     ///< 2 to 120; 0: usual for the species
  double seconds;             ///< 0.1 to 604800
  int rate_hz;                ///< 1600 to 96000
  int channels;               ///< 1 or 2; the second hears the room, not the heart
  uint64_t seed;
  double gain_db;             ///< -60 to 60 over the usual level (heart sounds peak near a quarter of full scale)
  double clip;                ///< 0.001 to 1 of full scale: hard clipping
  double dc;                  ///< -0.5 to 0.5 of full scale: a constant offset
  bool agc;                   ///< an automatic gain control in the recorder
  bool muffled;               ///< thick coat or poor contact: what comes from the body is low-passed near 90 Hz
  double resonance_hz;        ///< 40 to 700: a marked resonance of the recorder; 0: a mild one, drawn
  bool put_on;                ///< the stethoscope is put on during the first seconds
} gn_synth_spec;

void gn_synth_spec_init(gn_synth_spec *spec);

/// GIRTHLINE_OK, or GIRTHLINE_BAD_ARGUMENT with a sentence that names the range and its unit.
girthline_status gn_synth_spec_check(const gn_synth_spec *spec, girthline_error *error);

/// Words to values; false when unknown. A murmur is "PHASE TIMING SHAPE [musical] [NNNhz]"; level_db is left alone.
bool gn_synth_rhythm_parse(const char *word, gn_synth_rhythm_kind *out, bool *settling);
bool gn_synth_murmur_parse(const char *text, gn_synth_murmur *out);
bool gn_synth_noise_parse(const char *list, unsigned *out); ///< "breath,gut"; "none" and "" give 0

const char *gn_synth_rhythm_name(gn_synth_rhythm_kind kind);
const char *gn_synth_phase_name(gn_synth_phase phase);
const char *gn_synth_timing_name(gn_synth_timing timing);
const char *gn_synth_shape_name(gn_synth_shape shape);
const char *gn_synth_noise_name(unsigned bit); ///< one bit

typedef struct gn_synth_span { double start_s, end_s; } gn_synth_span;

/// A heart sound. onset_s is where the sound leaves the background: the moment up to which its envelope is exactly
/// zero. end_s is where its waveform was last a tenth of its largest value.
typedef struct gn_synth_sound {
  int number; ///< 1 to 4
  double onset_s, end_s;
} gn_synth_sound;

/// What is known of a recording once it was read to its end. Lists belong to the synth.
typedef struct gn_synth_facts {
  gn_synth_murmur murmurs[GN_SYNTH_MURMURS_MOST]; ///< with the pitch that was used
  double breaths_per_min;
  const gn_synth_span *bad;    ///< where handling, a dropout or putting on hides the heart; in time order of start
  size_t n_bad;
  const gn_synth_span *pauses; ///< intervals with dropped beats
  size_t n_pauses;
  const double *early_s;       ///< onsets of early beats
  size_t n_early;
  const double *intervals_s;   ///< every S1-to-S1 interval
  size_t n_intervals;
  double s1_length_s, s2_length_s; ///< means
} gn_synth_facts;

typedef struct gn_synth gn_synth;

/// Checks the spec and sets the levels on a first pass over at most 300 s. NULL with *error (may be NULL) filled.
gn_synth *gn_synth_new(const gn_synth_spec *spec, girthline_error *error);
void gn_synth_free(gn_synth *synth); ///< accepts NULL

size_t gn_synth_frames(const gn_synth *synth); ///< length of the recording

/// The next frames (channels interleaved, full scale 1, already clipped). Returns how many; fewer than asked, down to
/// 0, at the end or when memory was refused (then *error is filled).
size_t gn_synth_read(gn_synth *synth, float *frames, size_t n, girthline_error *error);

/// The next known sound in time order, among those that begin in what was read or shortly after it; false when there
/// is none yet. Sounds that begin after the recording's end are never given.
bool gn_synth_next_sound(gn_synth *synth, gn_synth_sound *out);

void gn_synth_facts_get(const gn_synth *synth, gn_synth_facts *out);

#endif
