// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// How good the detected sounds are, held against a reference annotation.
///
/// Matching is one to one and for each sound apart: of all pairs of a reference and a detected sound no further apart than the
/// tolerance, the nearest pair is taken first (at the same distance the earlier reference, then the earlier detection), and each
/// sound is used once. A pair stands where its reference stands; pairs, misses and false detections in a span that is excluded,
/// or outside the part that was analysed, do not count.
#ifndef GN_STUDY_SCORE_H
#define GN_STUDY_SCORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "report/buffer.h"

enum { GN_SCORE_S1 = 0, GN_SCORE_S2, GN_SCORE_S3, GN_SCORE_S4, GN_SCORE_ALL, GN_N_SCORES }; ///< ALL: those that are scored together

typedef struct gn_score_times { double *at_s; size_t n, capacity; } gn_score_times;
typedef struct gn_score_spans { girthline_span *span; size_t n, capacity; } gn_score_spans;

/// One report's detections.
typedef struct gn_score_report {
  char *file;
  char version[40], settings_hash[48];
  double from_s, to_s, bpm; ///< bpm NaN where not determined
  gn_score_times sound[4];
} gn_score_report;

typedef struct gn_score_reports { gn_score_report *items; size_t n, capacity; } gn_score_reports;

/// Counts, and timing errors (detected minus reference, seconds) of the pairs.
typedef struct gn_score_tally {
  size_t n_matched, n_missed, n_false;
  gn_score_times error;
} gn_score_tally;

typedef struct gn_score_recording {
  const gn_score_report *report;
  char *reason;             ///< why it is not scored; NULL: it is
  gn_score_tally tally[GN_N_SCORES];
  double bpm, reference_bpm; ///< NaN
} gn_score_recording;

typedef struct gn_score_set {
  gn_score_recording *items;
  size_t n, n_scored;
} gn_score_set;

typedef struct gn_score_request {
  const char *reference; ///< folder or file
  const char *output;    ///< NULL, or what will be written: an annotation that is this file is refused
  double tolerance_s;
  bool extra;            ///< S3 and S4 as well
  uint64_t seed;
  size_t n_resamples;
} gn_score_request;

#define GN_SCORE_TOLERANCE_S 0.1  ///< as evaluations of heart sound segmentation commonly take it (docs/references.md)
#define GN_SCORE_RESAMPLES 1000

/// Add the reports of a file: girthline.report.v1, girthline.reports.v1, or one report a line (.ndjson).
girthline_status gn_score_reports_read(gn_score_reports *reports, const char *path, girthline_error *error);
void gn_score_reports_clear(gn_score_reports *reports);

/// BAD_ARGUMENT where two of them are of one recording and of parts that overlap: what is in both would count twice.
girthline_status gn_score_reports_once(const gn_score_reports *reports, girthline_error *error);

/// Find each report's reference, match, count. GIRTHLINE_BAD_HAND_FILE names the file and line.
girthline_status gn_score_set_run(gn_score_set *set, const gn_score_reports *reports, const gn_score_request *request, girthline_error *error);
void gn_score_set_clear(gn_score_set *set);

/// The reference of one recording and its excluded spans. *reason is set (gn_free) when there is none.
girthline_status gn_score_reference_read(const gn_score_request *request, const char *file, gn_score_times sound[4], gn_score_spans *excluded, char **reason,
                                         girthline_error *error);

girthline_status gn_score_times_add(gn_score_times *times, double at_s, girthline_error *error);

/// An estimate with its 95 % bootstrap interval; NaN where there is nothing to estimate from.
typedef struct gn_score_estimate { double value, interval[2]; } gn_score_estimate;

typedef struct gn_score_measures {
  size_t n_reference, n_detected, n_matched;
  gn_score_estimate sensitivity, ppv, f1, timing_mean_s;
  double timing_median_s, timing_sd_s;
} gn_score_measures;

/// For one recording its sounds are drawn again; for a set (at least two recordings) whole recordings are, since sounds of one
/// recording are alike. `index` counts from 1 and makes the recording's own random numbers.
girthline_status gn_score_measure(const gn_score_recording *recording, int kind, size_t index, const gn_score_request *request, gn_score_measures *out,
                                  girthline_error *error);

typedef struct gn_score_pooled {
  gn_score_measures kind[GN_N_SCORES];
  size_t n_rates;                      ///< recordings with both rates
  double rate_error_median_percent;    ///< of the absolute error
  gn_score_estimate rate_error_mean_percent;
  double rate_within_5_percent;        ///< share of them, 0..1
} gn_score_pooled;
girthline_status gn_score_pool(const gn_score_set *set, const gn_score_request *request, gn_score_pooled *out, girthline_error *error);

/// Two runs over the same recordings: the first minus the second.
typedef struct gn_score_comparison {
  size_t n_recordings, n_better, n_worse, n_equal; ///< by F1 of each recording
  gn_score_estimate sensitivity, ppv, f1;          ///< differences of the pooled measures
  double sign_test_p;                              ///< two-sided, exact
} gn_score_comparison;
girthline_status gn_score_compare(const gn_score_set *first, const gn_score_set *second, const gn_score_request *request, gn_score_comparison *out,
                                  girthline_error *error);

double gn_score_f1(size_t n_matched, size_t n_missed, size_t n_false); ///< NaN for nothing at all

/// Everything as girthline.score.v1. comparison may be NULL. NULL on failure.
typedef struct gn_score_result {
  const gn_score_request *request;
  const gn_score_set *set;
  const gn_score_pooled *pooled;
  const gn_score_comparison *comparison;
} gn_score_result;
char *gn_score_json(const gn_score_result *result, girthline_error *error);
char *gn_score_text(const gn_score_result *result, girthline_error *error);

const char *gn_score_kind_name(int kind); ///< "S1", ..., "all"

#endif
