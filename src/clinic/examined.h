// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// An examination with its recordings analysed, and what they say together.
#ifndef GN_CLINIC_EXAMINED_H
#define GN_CLINIC_EXAMINED_H

#include <girthline/girthline.h>
#include <girthline/report.h>

#include "clinic/exam.h"

/// One recording of the examination: a result, or why there is none.
typedef struct gn_examined_recording {
  girthline_result *result; ///< NULL: it could not be analysed
  girthline_status status;
  char hash[48];
  char reason[1000]; ///< why there is no result; a sentence
} gn_examined_recording;

/// The rate at rest over all resting recordings that could be used. NaN where not determined.
typedef struct gn_pooled_rate {
  double bpm;         ///< 60 over the median of all their used intervals
  double mean_bpm;    ///< 60 over the mean of the same
  double settled_bpm; ///< median of the recordings' settled rates
  double recordings_bpm[2]; ///< lowest and highest of the same
  double min_bpm, max_bpm;  ///< lowest and highest of the recordings' own, over 15 s windows
  double usual_range_bpm[2];
  girthline_standing standing; ///< of settled_bpm
} gn_pooled_rate;

/// The rhythm at rest. The pattern is the one that asks for most among the recordings'; spreads are within recordings.
typedef struct gn_pooled_rhythm {
  girthline_pattern pattern;
  double confidence;
  char explanation[600];
  size_t used_count, n_pauses, n_early;
  double mean_interval_s, sdnn_ms, rmssd_ms, interval_cv_percent, longest_interval_s;
} gn_pooled_rhythm;

typedef struct gn_heard_at { size_t recording, phase; } gn_heard_at; ///< phase: into its result's murmur.phases

/// One phase's murmur over the places it was heard at, loudest first (against each place's own S1).
typedef struct gn_exam_murmur {
  girthline_phase phase;
  gn_heard_at heard[GN_EXAM_MOST_RECORDINGS];
  size_t n_heard;
  bool after_exercise; ///< heard only after exercise
  bool differs;        ///< in timing or shape between the places
  bool doubtful;       ///< no recording it was heard in carries it
  girthline_leaning leaning;
  char reasons[1600];
} gn_exam_murmur;

typedef struct gn_not_recorded {
  girthline_side side;
  girthline_area area;
  const char *consequence;
} gn_not_recorded;

typedef struct gn_recovery_point {
  size_t recording;
  double minutes_after_exercise, bpm;
  double over_resting_percent; ///< NaN without a resting rate
} gn_recovery_point;

#define GN_EXAM_MOST_KEYS 8
/// As a recording's finding; texts longer than their room are cut at its end.
typedef struct gn_exam_finding {
  const char *kind;
  girthline_urgency urgency;
  char text[1600], evidence[2000], advice[1600];
  char keys[GN_EXAM_MOST_KEYS][80]; ///< JSON pointers into the examination's report
  size_t n_keys;
} gn_exam_finding;

typedef struct gn_examined {
  const gn_exam *exam; ///< not owned
  const girthline_limits *limits; ///< not owned; NULL: the usual ones
  girthline_species species;
  bool species_assumed;
  double age_days;                  ///< < 0: not known
  gn_examined_recording *recordings; ///< exam->n_recordings
  gn_pooled_rate rate;
  gn_pooled_rhythm rhythm;
  bool pooled[GN_EXAM_MOST_RECORDINGS]; ///< which recordings rate and rhythm come from
  size_t n_pooled;
  double pulse_deficit_per_min; ///< mean rate at rest less the pulse; negative where more pulses than beats were counted; NaN
  gn_exam_murmur murmurs[3];
  size_t n_murmurs;
  gn_not_recorded not_recorded[4];
  size_t n_not_recorded;
  gn_recovery_point recovery[GN_EXAM_MOST_RECORDINGS]; ///< in order of minutes
  size_t n_recovery;
  gn_exam_finding *findings; ///< most urgent first
  size_t n_findings;
} gn_examined;

/// What the caller knows beside the file.
typedef struct gn_exam_settings {
  bool species_given; ///< used where the file names none
  girthline_species species;
  double age_days; ///< used where the file gives no dates; < 0: not known
  const girthline_limits *limits; ///< of the method; must outlive *out; NULL: the usual ones
} gn_exam_settings;

/// Analyse every recording and bring them together. exam must outlive *out. A recording that cannot be read or is no audio is
/// kept with its reason; only a refused memory, an interruption or a fault of the library ends it. settings may be NULL.
girthline_status gn_exam_analyse(const gn_exam *exam, const gn_exam_settings *settings, gn_examined **out, girthline_error *error);
void gn_examined_free(gn_examined *examined); ///< accepts NULL

/// girthline.exam.v1; ends in a newline. The caller frees it with girthline_text_free; NULL: memory was refused.
char *gn_exam_json(const gn_examined *examined, girthline_error *error);

/// The summary for a terminal; options may be NULL.
char *gn_exam_text_report(const gn_examined *examined, const girthline_report_options *options, girthline_error *error);

/// One self-contained page: the examination, the areas side by side, each recording's own part. options may be NULL.
char *gn_exam_page(const gn_examined *examined, const girthline_report_options *options, girthline_error *error);

/// The same as a document to print: the examination's pages, then two A4 pages a recording. On GIRTHLINE_OK *data is the
/// caller's, freed with girthline_data_free.
girthline_status gn_exam_pdf(const gn_examined *examined, void **data, size_t *n_bytes, girthline_error *error);

/// The recovery curve as a file's bytes, freed with girthline_data_free; *data is NULL where nothing was recorded after exercise.
girthline_status gn_exam_recovery_figure(const gn_examined *examined, girthline_figure_form form, void **data, size_t *n_bytes, girthline_error *error);

/// As the report library takes it; false where the recording was not analysed.
bool gn_examined_input(const gn_examined *examined, size_t recording, girthline_report_input *input);

#endif
