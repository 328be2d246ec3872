// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/result.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/numbers.h"

#define LOUD_DB 6.0 // over S1 or under it: louder, softer

girthline_result *gn_result_new(void) {
  girthline_result *r = gn_new(1, sizeof *r);
  if (!r) return NULL;
  r->settings = girthline_settings_default();
  r->limits = girthline_limits_default();
  r->recording.duration_s = r->recording.sample_rate_hz = NAN;
  r->recording.from_s = r->recording.to_s = NAN;
  r->quality.heart_to_noise_db = r->quality.clipped_fraction = r->quality.hum_hz = r->quality.breaths_per_min = NAN;
  r->quality.grade = GIRTHLINE_UNUSABLE;
  r->quality.best_span = (girthline_span){NAN, NAN};
  girthline_rate *rate = &r->rate;
  rate->bpm = rate->mean_bpm = rate->settled_bpm = rate->settled_from_s = rate->min_bpm = rate->max_bpm = NAN;
  rate->usual_range_bpm[0] = rate->usual_range_bpm[1] = NAN;
  rate->standing = GIRTHLINE_STANDING_UNKNOWN;
  girthline_rhythm *y = &r->rhythm;
  y->pattern = GIRTHLINE_PATTERN_UNDETERMINED;
  y->confidence = y->mean_interval_s = y->sdnn_ms = y->rmssd_ms = y->interval_cv_percent = y->pnn50_percent = NAN;
  y->sd1_ms = y->sd2_ms = y->sample_entropy = y->onset_jitter_ms = y->longest_interval_s = NAN;
  r->murmur.present = GIRTHLINE_UNKNOWN;
  r->murmur.detection_limit_db[0] = r->murmur.detection_limit_db[1] = NAN;
  return r;
}

int gn_result_undetermine(girthline_result *result, const char *pointer, const char *format, ...) {
  for (size_t i = 0; i < result->n_undetermined; i++)
    if (!strcmp(result->undetermined[i].pointer, pointer)) return 0;
  char reason[400];
  va_list args;
  va_start(args, format);
  vsnprintf(reason, sizeof reason, format, args);
  va_end(args);
  size_t capacity = result->n_undetermined;
  void *items = result->undetermined;
  if (gn_grow(&items, &capacity, result->n_undetermined + 1, sizeof *result->undetermined)) return -1;
  result->undetermined = items;
  girthline_undetermined u = {gn_strdup(pointer), gn_strdup(reason)};
  if (!u.pointer || !u.reason) {
    gn_free(u.pointer);
    gn_free(u.reason);
    return -1;
  }
  result->undetermined[result->n_undetermined++] = u;
  return 0;
}

void girthline_result_free(girthline_result *r) {
  if (!r) return;
  gn_free(r->quality.problems);
  gn_free(r->beats);
  for (size_t i = 0; i < r->n_extras; i++) gn_free(r->extras[i].onsets_s);
  gn_free(r->extras);
  gn_free(r->rate.counted);
  gn_free(r->rhythm.intervals);
  gn_free(r->rhythm.pauses);
  gn_free(r->rhythm.early);
  for (size_t i = 0; i < r->n_findings; i++) {
    gn_free(r->findings[i].text);
    gn_free(r->findings[i].evidence);
    gn_free(r->findings[i].advice);
  }
  gn_free(r->findings);
  for (size_t i = 0; i < r->n_undetermined; i++) {
    gn_free(r->undetermined[i].pointer);
    gn_free(r->undetermined[i].reason);
  }
  gn_free(r->undetermined);
  gn_free(r);
}

double gn_result_beat_s(const girthline_beat *beat) { return isnan(beat->s1_onset_s) ? beat->s2_onset_s : beat->s1_onset_s; }

girthline_standing gn_result_standing(double bpm, const double usual_range_bpm[2]) {
  const double told = gn_rounded(bpm, 2);
  if (isnan(told)) return GIRTHLINE_STANDING_UNKNOWN;
  return told < usual_range_bpm[0] ? GIRTHLINE_BELOW : told > usual_range_bpm[1] ? GIRTHLINE_ABOVE : GIRTHLINE_WITHIN;
}

bool gn_result_uneven(const girthline_result *result) {
  return result->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED && result->rhythm.used_count >= (size_t)result->limits.rhythm.pattern_intervals_n;
}

girthline_loudness gn_result_loudness(double level_db) {
  const double told = gn_rounded(level_db, 1);
  return told < -LOUD_DB ? GIRTHLINE_SOFTER : told > LOUD_DB ? GIRTHLINE_LOUDER : GIRTHLINE_AS_LOUD;
}

girthline_extra *gn_result_extra(const girthline_result *result, girthline_extra_kind kind) {
  for (size_t i = 0; i < result->n_extras; i++)
    if (result->extras[i].kind == kind) return &result->extras[i];
  return NULL;
}
