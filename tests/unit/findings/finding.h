// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Results to put into words, and looking one finding up.
#ifndef TESTS_FINDINGS_FINDING_H
#define TESTS_FINDINGS_FINDING_H

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "findings/findings.h"

/// A horse, 36 a minute, regular, good recording, no murmur above -20 dB.
static inline girthline_result *healthy_horse(void) {
  girthline_result *r = gn_result_new();
  r->settings.species_assumed = false;
  r->recording = (girthline_recording){.duration_s = 60, .sample_rate_hz = 4000, .channels = 1, .channel_used = 1, .from_s = 0, .to_s = 60};
  r->quality.grade = GIRTHLINE_GOOD;
  r->quality.usable_s = 60;
  r->quality.heart_to_noise_db = 20;
  r->rate.bpm = r->rate.mean_bpm = r->rate.settled_bpm = r->rate.min_bpm = r->rate.max_bpm = 36;
  r->rate.usual_range_bpm[0] = 28, r->rate.usual_range_bpm[1] = 44;
  r->rate.standing = GIRTHLINE_WITHIN;
  girthline_rhythm *y = &r->rhythm;
  y->pattern = GIRTHLINE_REGULAR;
  y->confidence = 0.97, y->rmssd_ms = 48, y->interval_cv_percent = 3, y->longest_interval_s = 1.7;
  strcpy(y->explanation, "The intervals are even.");
  r->murmur.present = GIRTHLINE_NO;
  r->murmur.detection_limit_db[0] = -20, r->murmur.detection_limit_db[1] = -22;
  return r;
}

static inline void set_rate(girthline_result *r, double bpm, girthline_standing standing) {
  r->rate.bpm = r->rate.mean_bpm = r->rate.settled_bpm = bpm;
  r->rate.standing = standing;
}

static inline void set_names(girthline_result *r, float one, float other) {
  r->beats = gn_new(2, sizeof *r->beats), r->n_beats = 2;
  r->beats[0].name_confidence = one, r->beats[1].name_confidence = other;
}

static inline void set_pauses(girthline_result *r, size_t n, double ratio, double step_s) {
  r->rhythm.pattern = GIRTHLINE_PAUSES;
  r->rhythm.pauses = gn_new(n, sizeof *r->rhythm.pauses);
  r->rhythm.n_pauses = n;
  for (size_t i = 0; i < n; i++) {
    const double at = 5 + step_s * (double)i;
    r->rhythm.pauses[i] = (girthline_pause){.span = {at, at + 1.6 * ratio}, .ratio = ratio, .atrial_onset_s = {at + 1.5}, .n_atrial = 1};
  }
  r->rhythm.longest_interval_s = 1.6 * ratio;
}

static inline void set_early(girthline_result *r, size_t n, bool in_a_row) {
  r->rhythm.pattern = GIRTHLINE_EARLY_BEATS;
  r->rhythm.early = gn_new(n, sizeof *r->rhythm.early);
  r->rhythm.n_early = n;
  for (size_t i = 0; i < n; i++) r->rhythm.early[i] = (girthline_early){5 + (in_a_row ? 0.9 : 9) * (double)i, 0.62};
  if (!in_a_row) return;
  r->rhythm.intervals = gn_new(n, sizeof *r->rhythm.intervals);
  for (size_t i = 0; i + 1 < n; i++)
    r->rhythm.intervals[r->rhythm.n_intervals++] = (girthline_interval){{r->rhythm.early[i].onset_s, r->rhythm.early[i + 1].onset_s}, true};
}

static inline void set_intervals(girthline_result *r, size_t n) { r->rhythm.intervals = gn_new(n, sizeof *r->rhythm.intervals), r->rhythm.n_intervals = n; }

static inline void add_extra(girthline_result *r, girthline_extra_kind kind) {
  r->extras = gn_new(1, sizeof *r->extras);
  r->n_extras = 1;
  r->extras[0] = (girthline_extra){.kind = kind, .beats_fraction = 0.8, .delay_s = 0.15, .level_db = -12, .confidence = 0.9};
}

static inline girthline_murmur_phase flow_murmur(void) {
  return (girthline_murmur_phase){.phase = GIRTHLINE_SYSTOLE, .timing = GIRTHLINE_EARLY, .shape = GIRTHLINE_CRESCENDO_DECRESCENDO, .level_db = -12,
                                  .level_db_interval = {-14, -10}, .loudness = GIRTHLINE_SOFTER, .peak_hz = 140, .band_hz = {90, 240}, .musical = GIRTHLINE_NO,
                                  .beats_fraction = 0.95, .ends_before_s2 = GIRTHLINE_YES, .confidence = 0.9, .start_fraction = 0.1, .end_fraction = 0.6};
}

static inline void set_murmur(girthline_result *r, girthline_murmur_phase p) {
  r->murmur.present = GIRTHLINE_YES;
  r->murmur.phases[0] = p;
  r->murmur.n_phases = 1;
}

static inline const girthline_finding *finding_of(const girthline_result *r, const char *kind) {
  for (size_t i = 0; i < r->n_findings; i++)
    if (!strcmp(r->findings[i].kind, kind)) return &r->findings[i];
  return NULL;
}

#endif
