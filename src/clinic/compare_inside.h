// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the files of the comparison share.
#ifndef GN_CLINIC_COMPARE_INSIDE_H
#define GN_CLINIC_COMPARE_INSIDE_H

#include "clinic/compare.h"

/// Two recordings of one place, or two whole visits.
typedef struct gn_pair {
  gn_comparison *into;
  json_t *reports[2];   ///< girthline.report.v1; NULL in the rows of the whole visit
  const char *side, *area;
  bool whole_visit;
  double minutes_after_exercise;
  const char *barrier;       ///< why nothing is comparable; NULL: it is
  const char *sound_barrier; ///< why no level and no sound is comparable
} gn_pair;

/// Add a row (what, label, unit, decimals, values, change, repeatability set) with its verdict and a reason.
void gn_compare_add(const gn_pair *pair, gn_change row, gn_verdict verdict, const char *format, ...) __attribute__((format(printf, 4, 5)));

/// A number at each visit: floor is the least difference called a change (0: none), floor_words says why.
typedef struct gn_measure {
  const char *what, *label, *unit;
  int decimals;
  double values[2], repeatability;
  double floor;
  const char *floor_words;
  const char *pointer; ///< where the report gives the reason when it has no number
  bool of_sound;       ///< not comparable across recorders
} gn_measure;
void gn_compare_number(const gn_pair *pair, const gn_measure *measure);

/// A word at each visit; NULL: not determined. doubt: why a difference cannot be told, NULL: it can.
typedef struct gn_choice {
  const char *what, *label;
  const char *words[2];
  const char *doubt, *pointer;
  bool of_sound;
} gn_choice;
void gn_compare_word(const gn_pair *pair, const gn_choice *choice);

void gn_compare_visits(const gn_pair *pair, const json_t *const exams[2]); ///< rows of the whole visit: rate, rhythm
void gn_compare_beats(const gn_pair *pair);   ///< rate, interval, rhythm, variability of a place
void gn_compare_extra(const gn_pair *pair);   ///< third, fourth and split sounds
void gn_compare_murmurs(const gn_pair *pair); ///< each murmur

/// Why a report has no value there; a general sentence where it gives none. Never NULL.
const char *gn_compare_reason(const json_t *report, const char *pointer);

// Repeatability within recordings; NaN where it cannot be measured.
#define GN_COMPARE_NORMAL_95 1.96 ///< standard deviations to either side that hold 95 % of a normal distribution

/// How one recording's rate (per minute) or mean interval (seconds) varies within it: the standard deviation between 15 s
/// windows, or that of the whole recording's figure where it is larger.
typedef struct gn_wander {
  double rate_bpm, interval_s;
  size_t n_intervals;
} gn_wander;
gn_wander gn_compare_wander(const json_t *report);
double gn_compare_both(double a, double b); ///< 95 % bound of a difference from each side's standard deviation
double gn_compare_spread_of_sd(double sd, double n);     ///< standard deviation of SDNN measured over n intervals
double gn_compare_spread_of_rmssd(double rmssd, double n);
double gn_compare_level_half(const json_t *phase);       ///< half of a murmur's 95 % interval, dB

#endif
