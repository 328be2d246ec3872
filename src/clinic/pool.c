// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Rate and rhythm at rest over several recordings of one examination. Minutes lie between them, so that a spread is taken
// within recordings only, and no interval or difference goes from one to the next.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"
#include "clinic/parts.h"
#include "report/text_parts.h"

static double usable_rate(const gn_examined *x, size_t i) {
  return gn_exam_at_rest(x, i) && gn_exam_usable(x, i) ? x->recordings[i].result->rate.bpm : (double)NAN;
}

static void choose(gn_examined *x) {
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    x->pooled[i] = isfinite(usable_rate(x, i));
    x->n_pooled += x->pooled[i];
  }
}

static size_t count_intervals(const gn_examined *x) {
  size_t n = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++)
    if (x->pooled[i]) n += x->recordings[i].result->rhythm.n_intervals;
  return n;
}

typedef struct sums {
  double *interval; // seconds, all used
  size_t n, n_groups;
  double within;         // sum of squares about each recording's own mean
  double difference_ms2; // sum of squared successive differences
  double n_differences;  // NaN-free recordings only
  bool rmssd_missing;
} sums;

static void add_recording(sums *s, const girthline_rhythm *y) {
  double *const own = s->interval + s->n;
  size_t n = 0, n_pairs = 0; // none across a gap, as in the recording's RMSSD
  double end_s = NAN;
  for (size_t k = 0; k < y->n_intervals; k++) {
    const girthline_span span = y->intervals[k].span;
    if (!y->intervals[k].used) continue;
    own[n++] = span.end_s - span.start_s;
    n_pairs += span.start_s == end_s;
    end_s = span.end_s;
  }
  const double mean = gn_mean(own, n);
  for (size_t k = 0; k < n; k++) s->within += (own[k] - mean) * (own[k] - mean);
  s->n += n;
  s->n_groups++;
  s->rmssd_missing = s->rmssd_missing || !isfinite(y->rmssd_ms);
  if (isfinite(y->rmssd_ms)) {
    s->difference_ms2 += y->rmssd_ms * y->rmssd_ms * (double)n_pairs;
    s->n_differences += (double)n_pairs;
  }
}

static void range_of_rates(gn_examined *x) {
  double settled[GN_EXAM_MOST_RECORDINGS];
  size_t n = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!x->pooled[i]) continue;
    const girthline_rate *r = &x->recordings[i].result->rate;
    settled[n] = isfinite(r->settled_bpm) ? r->settled_bpm : r->bpm;
    x->rate.recordings_bpm[0] = fmin(x->rate.recordings_bpm[0], settled[n]); // fmin passes over a NaN
    x->rate.recordings_bpm[1] = fmax(x->rate.recordings_bpm[1], settled[n++]);
    x->rate.min_bpm = fmin(x->rate.min_bpm, isfinite(r->min_bpm) ? r->min_bpm : r->bpm);
    x->rate.max_bpm = fmax(x->rate.max_bpm, isfinite(r->max_bpm) ? r->max_bpm : r->bpm);
  }
  x->rate.settled_bpm = n ? gn_median(settled, n) : (double)NAN;
}

const girthline_limits *gn_exam_limits(const gn_examined *x) {
  for (size_t i = 0; i < x->exam->n_recordings; i++)
    if (x->pooled[i]) return &x->recordings[i].result->limits;
  return NULL;
}

const char *gn_exam_young(const gn_examined *x) {
  const girthline_limits *limits = gn_exam_limits(x);
  return limits ? gn_species_young(x->species, x->age_days, limits->findings.adult_days) : NULL;
}

static void standing(gn_examined *x) {
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(x->species, x->age_days, &store);
  gn_pooled_rate *r = &x->rate;
  r->standing = GIRTHLINE_STANDING_UNKNOWN;
  if (!p || gn_exam_young(x)) return;
  for (int k = 0; k < 2; k++) r->usual_range_bpm[k] = p->usual_bpm[k];
  if (!isfinite(r->settled_bpm) || (p->age_matters && x->age_days < 0)) return;
  r->standing = gn_result_standing(r->settled_bpm, p->usual_bpm);
}

static const char *const PATTERNS[] = {"regular", "speeding and slowing smoothly", "regular with pauses", "regular with early beats", "irregular"};
// What asks for more stands later in the enumeration, but for cyclic, which asks for no more than regular does.

// Why the pattern is uncertain in each recording that shows it; NULL: it is not in one.
static const char *doubt(const gn_examined *x) {
  const char *why = NULL;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!x->pooled[i] || x->recordings[i].result->rhythm.pattern != x->rhythm.pattern) continue;
    const char *own = gn_text_rhythm_doubt(x->recordings[i].result);
    if (!own) return NULL;
    if (!why) why = own;
  }
  return why;
}

static void explain(gn_examined *x) {
  gn_pooled_rhythm *y = &x->rhythm;
  char place[GN_EXAM_PLACE_BYTES];
  size_t agree = 0, named = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!x->pooled[i]) continue;
    const girthline_pattern p = x->recordings[i].result->rhythm.pattern;
    named += p != GIRTHLINE_PATTERN_UNDETERMINED;
    agree += p == y->pattern;
  }
  if (named == 1) gn_exam_say(y->explanation, "The rhythm was %s in the one resting recording that could show it.", PATTERNS[y->pattern]);
  else if (agree == named) gn_exam_say(y->explanation, "The rhythm was %s in each of the %zu resting recordings that could show it.", PATTERNS[y->pattern], named);
  else {
    gn_exam_say(y->explanation, "The recordings differ; the pattern that asks for most is given.");
    for (size_t i = 0; i < x->exam->n_recordings; i++)
      if (x->pooled[i] && x->recordings[i].result->rhythm.pattern != GIRTHLINE_PATTERN_UNDETERMINED)
        gn_exam_say(y->explanation, "%s: %s.", gn_exam_place(x, i, place), PATTERNS[x->recordings[i].result->rhythm.pattern]);
  }
  if (doubt(x)) gn_exam_say(y->explanation, "It is uncertain: %s.", doubt(x));
}

// The first of the recordings that carry it whose intervals are uneven in a way that has no name; NULL without one.
static const girthline_result *uneven(const gn_examined *x, size_t *at) {
  for (*at = 0; *at < x->exam->n_recordings; ++*at) {
    const girthline_result *r = x->recordings[*at].result;
    if (x->pooled[*at] && gn_result_uneven(r) && r->quality.grade != GIRTHLINE_POOR) return r;
  }
  return NULL;
}

// What has no name asks for more than what is even, or swings smoothly.
static void pattern(gn_examined *x) {
  gn_pooled_rhythm *y = &x->rhythm;
  char place[GN_EXAM_PLACE_BYTES];
  size_t at;
  y->pattern = GIRTHLINE_PATTERN_UNDETERMINED;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!x->pooled[i]) continue;
    const girthline_rhythm *own = &x->recordings[i].result->rhythm;
    y->n_pauses += own->n_pauses;
    y->n_early += own->n_early;
    y->longest_interval_s = fmax(y->longest_interval_s, own->longest_interval_s);
    if (own->pattern < y->pattern || (own->pattern == y->pattern && !(own->confidence > y->confidence))) continue;
    y->pattern = own->pattern;
    y->confidence = own->confidence;
  }
  const girthline_result *r = uneven(x, &at);
  if (r && (y->pattern == GIRTHLINE_REGULAR || y->pattern == GIRTHLINE_CYCLIC)) y->pattern = GIRTHLINE_PATTERN_UNDETERMINED, y->confidence = (double)NAN;
  if (y->pattern != GIRTHLINE_PATTERN_UNDETERMINED) explain(x);
  else if (!r) gn_exam_say(y->explanation, "No recording at rest showed enough even beats to name a rhythm.");
  else gn_exam_say(y->explanation, "The rhythm is uneven, and its pattern was not determined.");
  if (r) gn_exam_say(y->explanation, "%s: %s", gn_exam_place(x, at, place), r->rhythm.explanation);
}

static void measures(gn_examined *x, sums *s) {
  gn_pooled_rhythm *y = &x->rhythm;
  y->used_count = s->n;
  if (!s->n) return;
  y->mean_interval_s = gn_mean(s->interval, s->n);
  x->rate.mean_bpm = 60 / y->mean_interval_s;
  x->rate.bpm = 60 / gn_median(s->interval, s->n);
  if (s->n > s->n_groups) y->sdnn_ms = 1000 * sqrt(s->within / (double)(s->n - s->n_groups));
  if (isfinite(y->sdnn_ms)) y->interval_cv_percent = 0.1 * y->sdnn_ms / y->mean_interval_s;
  if (!s->rmssd_missing && s->n_differences > 0) y->rmssd_ms = sqrt(s->difference_ms2 / s->n_differences);
}

int gn_exam_pool(gn_examined *x) {
  const double unknown = (double)NAN;
  x->rate = (gn_pooled_rate){unknown, unknown, unknown, {unknown, unknown}, unknown, unknown, {unknown, unknown}, GIRTHLINE_STANDING_UNKNOWN};
  x->rhythm = (gn_pooled_rhythm){.confidence = unknown, .mean_interval_s = unknown, .sdnn_ms = unknown, .rmssd_ms = unknown, .interval_cv_percent = unknown,
                                 .longest_interval_s = unknown};
  choose(x);
  sums s = {.interval = gn_new(count_intervals(x), sizeof *s.interval)};
  if (!s.interval) return -1;
  for (size_t i = 0; i < x->exam->n_recordings; i++)
    if (x->pooled[i]) add_recording(&s, &x->recordings[i].result->rhythm);
  measures(x, &s);
  gn_free(s.interval);
  range_of_rates(x);
  standing(x);
  pattern(x);
  x->pulse_deficit_per_min = x->rate.mean_bpm - gn_exam_number(x->exam, GN_SECTION_SIGNS, GN_SIGN_PULSE);
  return 0;
}
