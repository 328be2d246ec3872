// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The numbers of the page and the document: one place for what each is called, what it means, and what is usual.
#include "report/page_table.h"

#include "report/page.h"

static const char HORSE_SD[] = "47.8 \xC2\xB1 22.3 ms over 6 min in 16 Warmbloods at rest, by ECG (University of Li\xC3\xA8ge, ORBi 2268/293159).";
static const char HORSE_RMSSD[] = "51.7 \xC2\xB1 25.3 ms over 6 min in 16 Warmbloods at rest, by ECG (University of Li\xC3\xA8ge, ORBi 2268/293159).";
static const char NO_RANGE[] = ""; ///< nothing published to hold it against

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define AT(field) offsetof(girthline_result, field)
static const gn_page_row RATE[] = {
    {"/rate/bpm", "Rate", AT(rate.bpm), 0, "a minute", "60 over the median time from one first sound to the next.", NO_RANGE, GN_ROW_BY_SPECIES},
    {"/rate/mean_bpm", "Mean rate", AT(rate.mean_bpm), 0, "a minute", "60 over the mean of the same times; beats that drop lower it.", NO_RANGE, GN_ROW_BY_SPECIES},
    {"/rate/settled_bpm", "Settled rate", AT(rate.settled_bpm), 0, "a minute",
     "The rate of the steady last part where it fell after the start: touching the chest raises it for a while.", NO_RANGE, GN_ROW_BY_SPECIES},
    {"/rate/settled_from_s", "Settled from", AT(rate.settled_from_s), 0, "s", "Where that part starts.", NO_RANGE, GN_ROW_PLAIN},
    {"/rate/min_bpm", "Lowest rate over 15 s", AT(rate.min_bpm), 0, "a minute", "The lowest of windows of 15 s moved beat by beat.", NO_RANGE, GN_ROW_PLAIN},
    {"/rate/max_bpm", "Highest rate over 15 s", AT(rate.max_bpm), 0, "a minute", "The highest of the same windows.", NO_RANGE, GN_ROW_PLAIN}};

static const gn_page_row RHYTHM[] = {
    {"/rhythm/confidence", "Confidence in the pattern", AT(rhythm.confidence), 0, GN_PERCENT, "The share of such patterns that are right.", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/mean_interval_s", "Mean interval", AT(rhythm.mean_interval_s), 2, "s", "From first sound to first sound, over the intervals counted.", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/longest_interval_s", "Longest interval", AT(rhythm.longest_interval_s), 2, "s", "Of those counted; what was spoilt may hide a longer one.", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/sdnn_ms", "SDNN", AT(rhythm.sdnn_ms), 0, "ms", "The standard deviation of the intervals (Task Force 1996).", HORSE_SD, GN_ROW_OF_HORSES},
    {"/rhythm/rmssd_ms", "RMSSD", AT(rhythm.rmssd_ms), 0, "ms", "How much an interval differs from the one before, root mean square (Task Force 1996).",
     HORSE_RMSSD, GN_ROW_OF_HORSES},
    {"/rhythm/interval_cv_percent", "Variation of the intervals", AT(rhythm.interval_cv_percent), 1, "%", "SDNN as a share of the mean interval.", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/pnn50_percent", "pNN50", AT(rhythm.pnn50_percent), 0, "%",
     "Neighbouring intervals that differ by more than 50 ms; 50 ms is little for a slow heart.", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/sd1_ms", "SD1", AT(rhythm.sd1_ms), 0, "ms", "Spread across the line in the picture of each interval and the next (Brennan and others 2001).", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/sd2_ms", "SD2", AT(rhythm.sd2_ms), 0, "ms", "Spread along that line.", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/sample_entropy", "Sample entropy", AT(rhythm.sample_entropy), 2, "",
     "How unpredictable the intervals are (Richman and Moorman 2000; m 2, r 0.2 SD); needs 200 intervals.", NO_RANGE, GN_ROW_PLAIN},
    {"/rhythm/onset_jitter_ms", "Uncertainty of an onset", AT(rhythm.onset_jitter_ms), 0, "ms",
     "How well a sound's start can be placed here; differences near it mean nothing.", NO_RANGE, GN_ROW_PLAIN}};

static const gn_page_row QUALITY[] = {
    {"/quality/heart_to_noise_db", "Heart against noise", AT(quality.heart_to_noise_db), 0, "dB",
     "The level over S1 and S2 against the quiet parts, 25 to 700 Hz.", NO_RANGE, GN_ROW_PLAIN},
    {"/quality/usable_s", "Usable", AT(quality.usable_s), 1, "s", "Time not marked as spoilt.", NO_RANGE, GN_ROW_PLAIN},
    {"/quality/hum_hz", "Hum", AT(quality.hum_hz), 0, "Hz", "A steady mains or engine line.", NO_RANGE, GN_ROW_NONE_AT_0},
    {"/quality/breaths_per_min", "Breaths", AT(quality.breaths_per_min), 0, "a minute", "From the breathing heard.", NO_RANGE, GN_ROW_PLAIN}};

static const gn_page_row LIMITS[] = {{"/murmur/detection_limit_db/systole", "Softest murmur that would show, systole", AT(murmur.detection_limit_db[0]), 0, "dB",
                                 "Against S1; a softer one may be there.", NO_RANGE, GN_ROW_PLAIN},
                                {"/murmur/detection_limit_db/diastole", "Softest murmur that would show, diastole", AT(murmur.detection_limit_db[1]), 0, "dB",
                                 "The same for the time after S2.", NO_RANGE, GN_ROW_PLAIN}};

const gn_page_row *gn_page_rows(gn_page_row_group group, size_t *n) {
  static const struct {
    const gn_page_row *rows;
    size_t n;
  } GROUPS[GN_N_ROWS] = {{RATE, COUNT(RATE)}, {RHYTHM, COUNT(RHYTHM)}, {LIMITS, COUNT(LIMITS)}, {QUALITY, COUNT(QUALITY)}};
  *n = GROUPS[group].n;
  return GROUPS[group].rows;
}

double gn_page_row_value(const gn_page_row *row, const girthline_result *result) { return *(const double *)((const char *)result + row->at); }

const char *gn_page_row_source(const gn_page_row *row, const girthline_result *result) {
  if (row->kind == GN_ROW_OF_HORSES && result->settings.species != GIRTHLINE_HORSE) return NO_RANGE;
  if (row->kind == GN_ROW_BY_SPECIES) return row == RATE ? gn_page_rate_source(result->settings.species) : "As above.";
  return row->usual;
}
