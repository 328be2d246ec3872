// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What an analysis found. Times are seconds from the recording's first sample. A double that was not determined is
/// NaN, a tristate is GIRTHLINE_UNKNOWN; the reason stands in `undetermined` under the field's JSON pointer.
#ifndef GIRTHLINE_RESULT_H
#define GIRTHLINE_RESULT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <girthline/api.h>
#include <girthline/settings.h>

GIRTHLINE_API_BEGIN

typedef enum girthline_tristate { GIRTHLINE_UNKNOWN = -1, GIRTHLINE_NO = 0, GIRTHLINE_YES = 1 } girthline_tristate;

typedef struct girthline_span { double start_s, end_s; } girthline_span;

/// One heart beat; 48 bytes, so that a day of beats stays small. A sound that was not found has a NaN onset.
typedef struct girthline_beat {
  double s1_onset_s, s2_onset_s; ///< where the sound leaves the background
  float s1_peak_s, s1_offset_s;  ///< seconds after s1_onset_s; up to the next sound or the recording's end at most
  float s2_peak_s, s2_offset_s;  ///< seconds after s2_onset_s
  float confidence;              ///< share of such beats that are right, 0..1
  float name_confidence;         ///< that S1 and S2 are not exchanged, 0..1
  float unbroken;                ///< probability that the next beat of the list is the next one there was; 0 where not judged
} girthline_beat;

typedef enum girthline_problem_kind {
  GIRTHLINE_HANDLING = 0,
  GIRTHLINE_DROPOUT,
  GIRTHLINE_CLIPPING,
  GIRTHLINE_BREATHING,
  GIRTHLINE_NOISE,
  GIRTHLINE_NO_HEART_SOUND
} girthline_problem_kind;

typedef struct girthline_problem {
  girthline_span span;
  girthline_problem_kind kind;
} girthline_problem;

typedef enum girthline_grade { GIRTHLINE_GOOD = 0, GIRTHLINE_FAIR, GIRTHLINE_POOR, GIRTHLINE_UNUSABLE } girthline_grade;

typedef struct girthline_quality {
  girthline_grade grade;
  char grade_reason[160];     ///< one sentence: what decided the grade
  bool grade_names_level;     ///< grade_reason tells heart_to_noise_db, so that a text need not
  bool silent;                ///< no two samples differ: nothing came from the chest piece
  double usable_s;            ///< seconds not marked as spoilt
  double heart_to_noise_db;   ///< RMS over S1 and S2 against RMS over the quiet parts, 25 to 700 Hz; NaN
  double clipped_fraction;    ///< share of samples in flat runs at a rail, 0..1
  double hum_hz;              ///< mains or engine line; 0: none; NaN: not determined
  double breaths_per_min;     ///< NaN where no breathing is heard
  girthline_problem *problems; ///< time order; kinds may overlap
  size_t n_problems;
  girthline_span best_span;   ///< longest clean run of complete beats (about 10 s); NaN where there is none
} girthline_quality;

typedef enum girthline_extra_kind {
  GIRTHLINE_EXTRA_S3 = 0,
  GIRTHLINE_EXTRA_S4,
  GIRTHLINE_SPLIT_S1,
  GIRTHLINE_SPLIT_S2,
  GIRTHLINE_CLICK
} girthline_extra_kind;

typedef struct girthline_extra {
  girthline_extra_kind kind;
  double beats_fraction; ///< share of usable beats that have it, 0..1
  double delay_s;        ///< median: S3 after S2's onset, S4 before S1's onset, click after S1's onset, split between components
  double level_db;       ///< peak of its envelope against S1's peak, median over beats
  double confidence;     ///< 0..1
  double *onsets_s;      ///< one per beat that has it, time order
  size_t n_onsets;
} girthline_extra;

typedef struct girthline_counted { girthline_span span; int beats; double bpm; } girthline_counted;

typedef enum girthline_standing { GIRTHLINE_STANDING_UNKNOWN = -1, GIRTHLINE_BELOW = 0, GIRTHLINE_WITHIN, GIRTHLINE_ABOVE } girthline_standing;

/// Rates in beats a minute; NaN where not determined.
typedef struct girthline_rate {
  double bpm, mean_bpm, settled_bpm, settled_from_s, min_bpm, max_bpm;
  girthline_counted *counted;
  size_t n_counted;
  double usual_range_bpm[2];
  girthline_standing standing;
} girthline_rate;

typedef enum girthline_pattern {
  GIRTHLINE_PATTERN_UNDETERMINED = -1,
  GIRTHLINE_REGULAR = 0,
  GIRTHLINE_CYCLIC,
  GIRTHLINE_PAUSES,
  GIRTHLINE_EARLY_BEATS,
  GIRTHLINE_IRREGULAR
} girthline_pattern;

typedef struct girthline_interval { girthline_span span; bool used; } girthline_interval;
#define GIRTHLINE_MAX_ATRIAL 8
typedef struct girthline_pause {
  girthline_span span;
  double ratio;                              ///< to the usual interval around it
  double atrial_onset_s[GIRTHLINE_MAX_ATRIAL]; ///< atrial sounds standing alone in the pause
  size_t n_atrial;
} girthline_pause;
typedef struct girthline_early { double onset_s, ratio; } girthline_early;

typedef struct girthline_rhythm {
  girthline_pattern pattern;
  char explanation[400]; ///< one or two plain sentences with the numbers that decided
  double confidence;     ///< 0..1
  girthline_interval *intervals;
  size_t n_intervals, used_count;
  double mean_interval_s, sdnn_ms, rmssd_ms, interval_cv_percent, pnn50_percent, sd1_ms, sd2_ms;
  double sample_entropy, onset_jitter_ms, longest_interval_s;
  girthline_pause *pauses;
  size_t n_pauses;
  girthline_early *early;
  size_t n_early;
} girthline_rhythm;

typedef enum girthline_phase { GIRTHLINE_SYSTOLE = 0, GIRTHLINE_DIASTOLE, GIRTHLINE_CONTINUOUS } girthline_phase;
typedef enum girthline_timing { GIRTHLINE_EARLY = 0, GIRTHLINE_MID, GIRTHLINE_LATE, GIRTHLINE_HOLO } girthline_timing;
typedef enum girthline_shape { GIRTHLINE_PLATEAU = 0, GIRTHLINE_CRESCENDO, GIRTHLINE_DECRESCENDO, GIRTHLINE_CRESCENDO_DECRESCENDO } girthline_shape;
typedef enum girthline_loudness { GIRTHLINE_SOFTER = 0, GIRTHLINE_AS_LOUD, GIRTHLINE_LOUDER } girthline_loudness;

typedef struct girthline_murmur_phase {
  girthline_phase phase;
  girthline_timing timing;
  girthline_shape shape;
  double level_db;             ///< RMS over the murmur's span against RMS over S1, 25 to 700 Hz, median over clean beats
  double level_db_interval[2]; ///< 95 % bootstrap interval over beats
  girthline_loudness loudness;
  double peak_hz;              ///< strongest frequency of what the murmur adds
  double band_hz[2];           ///< band that holds the excess
  girthline_tristate musical;
  double beats_fraction;       ///< share of clean beats that show it
  girthline_tristate ends_before_s2;
  double confidence;           ///< 0..1
  double start_fraction, end_fraction; ///< span within the phase, 0..1 of it
} girthline_murmur_phase;

typedef struct girthline_murmur {
  girthline_tristate present;
  double detection_limit_db[2]; ///< systole, diastole; the softest murmur this recording could have shown
  girthline_murmur_phase phases[4]; ///< loudest first
  size_t n_phases;
} girthline_murmur;

typedef enum girthline_urgency { GIRTHLINE_ROUTINE = 0, GIRTHLINE_SOON, GIRTHLINE_BEFORE_WORK, GIRTHLINE_NOW } girthline_urgency;

#define GIRTHLINE_MAX_EVIDENCE 8
typedef struct girthline_finding {
  const char *kind;       ///< short fixed word ("rate-below", "pauses", "murmur-systole", ...)
  char *text;             ///< what was measured, in plain words
  char *evidence;         ///< the numbers and the published figure they are held against, with its source
  const char *evidence_keys[GIRTHLINE_MAX_EVIDENCE]; ///< JSON pointers
  size_t n_evidence_keys;
  char *advice;           ///< what settles the question; by species
  girthline_urgency urgency;
} girthline_finding;

typedef struct girthline_undetermined { char *pointer; char *reason; } girthline_undetermined;

typedef struct girthline_recording {
  double duration_s, sample_rate_hz;
  int channels, channel_used;  ///< channel_used counts from 1
  char encoding[64];           ///< container and coding in words: "WAV, 16-bit PCM"
  char recorded_at[40];        ///< from the file's own metadata, ISO 8601; "" where it has none
  bool repaired;               ///< the header's length was wrong and was mended
  double from_s, to_s;         ///< part that was analysed
} girthline_recording;

/// The picture data every page draws from: fixed size whatever the length of the recording.
#define GIRTHLINE_OVERVIEW_N 2000
#define GIRTHLINE_CYCLE_BINS 120
#define GIRTHLINE_CYCLE_BANDS 5
typedef struct girthline_pictures {
  size_t n_overview;                 ///< columns used, <= GIRTHLINE_OVERVIEW_N
  double overview_step_s;            ///< seconds a column
  float overview_min[GIRTHLINE_OVERVIEW_N], overview_max[GIRTHLINE_OVERVIEW_N]; ///< of the chosen channel, full scale 1
  size_t n_cycle_beats;              ///< beats in the average cycle; 0: none
  double cycle_start_s, cycle_step_s; ///< bin 0 relative to S1's onset; seconds a bin
  double cycle_systole_s;            ///< median systole
  double cycle_interval_s;           ///< median interval
  float cycle_db[GIRTHLINE_CYCLE_BANDS][GIRTHLINE_CYCLE_BINS];    ///< median over beats, dB against the quiet level
  float cycle_lo_db[GIRTHLINE_CYCLE_BANDS][GIRTHLINE_CYCLE_BINS]; ///< 25 % quantile over beats
  float cycle_hi_db[GIRTHLINE_CYCLE_BANDS][GIRTHLINE_CYCLE_BINS]; ///< 75 % quantile over beats
  double cycle_band_hz[GIRTHLINE_CYCLE_BANDS][2];
} girthline_pictures;

typedef struct girthline_result {
  girthline_recording recording;
  girthline_settings settings; ///< as used (given == NULL, limits == NULL or &limits below)
  girthline_limits limits;     ///< as used
  bool beats_given;
  girthline_quality quality;
  girthline_beat *beats;
  size_t n_beats;
  girthline_extra *extras;
  size_t n_extras;
  girthline_rate rate;
  girthline_rhythm rhythm;
  girthline_murmur murmur;
  girthline_finding *findings;
  size_t n_findings;
  girthline_undetermined *undetermined;
  size_t n_undetermined;
  girthline_pictures pictures;
} girthline_result;

void girthline_result_free(girthline_result *result); ///< accepts NULL

/// The caution every report carries; depends on the species (human: research and teaching only). Never NULL.
const char *girthline_caution(girthline_species species);

GIRTHLINE_API_END
#endif
