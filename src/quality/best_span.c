// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

static const double LONGEST_S = 12, WANTED_S = 10; // about ten seconds
static const double LEAD_S = 0.100, TAIL_S = 0.050; // before the first S1; before the S1 that follows
static const size_t LEAST_BEATS = 3;
static const double LEAST_CONFIDENCE = 0.5;
static const double LONGEST_INTERVAL_S = 8;   // no pause is longer: a gap in the beats
static const double RATE_TOLERANCE = 0.05;    // of the settled rate, free of charge
static const double RATE_COST_S = 40;         // seconds of length that a doubled rate would cost
static const double BREATH_COST_S = 3;        // the same for a stretch with breathing in it
static const size_t SETTLED_BEATS = 30;       // the last ones, where no settled rate is given

static double settled_interval_s(const girthline_result *r) {
  if (isfinite(r->rate.settled_bpm)) return 60 / r->rate.settled_bpm;
  double x[64];
  size_t n = 0;
  for (size_t i = r->n_beats > SETTLED_BEATS ? r->n_beats - SETTLED_BEATS : 0; i + 1 < r->n_beats; i++)
    x[n++] = r->beats[i + 1].s1_onset_s - r->beats[i].s1_onset_s;
  return gn_median(x, n);
}

// Beat i is whole, trusted and clean until the next S1.
static bool is_clean(const girthline_result *r, size_t i) {
  const girthline_beat *b = &r->beats[i], *next = b + 1;
  if (!isfinite(b->s1_onset_s) || !isfinite(b->s2_onset_s) || !isfinite(next->s1_onset_s)) return false;
  if ((double)b->confidence < LEAST_CONFIDENCE || next->s1_onset_s - b->s1_onset_s > LONGEST_INTERVAL_S) return false;
  return !gn_quality_spans_hit(r->quality.problems, r->quality.n_problems, GN_QUALITY_SPOILING, b->s1_onset_s - LEAD_S, next->s1_onset_s);
}

static double worth(const girthline_result *r, size_t first, size_t end, double interval_s) {
  const double start_s = r->beats[first].s1_onset_s, end_s = r->beats[end].s1_onset_s, length_s = end_s - start_s;
  const double off = fabs(gn_log(length_s / (double)(end - first) / interval_s));
  double score = fmin(length_s, WANTED_S) - RATE_COST_S / gn_log(2) * fmax(0, off - RATE_TOLERANCE), confidence = 0;
  if (gn_quality_spans_hit(r->quality.problems, r->quality.n_problems, 1u << GIRTHLINE_BREATHING, start_s, end_s)) score -= BREATH_COST_S;
  for (size_t i = first; i < end; i++) confidence += (double)r->beats[i].confidence / (double)(end - first);
  return score + confidence;
}

girthline_span gn_quality_best_span(const girthline_result *r) {
  girthline_span best = {NAN, NAN};
  if (r->n_beats < LEAST_BEATS + 1) return best;
  const double interval_s = settled_interval_s(r);
  double most = -INFINITY;
  size_t end = 0;
  for (size_t first = 0; first + 1 < r->n_beats; first++) {
    if (end < first) end = first;
    while (end + 1 < r->n_beats && r->beats[end + 1].s1_onset_s - r->beats[first].s1_onset_s <= LONGEST_S && is_clean(r, end)) end++;
    if (end - first < LEAST_BEATS) continue;
    const double score = worth(r, first, end, interval_s);
    if (score <= most) continue;
    most = score;
    best = (girthline_span){fmax(0, r->beats[first].s1_onset_s - LEAD_S), r->beats[end].s1_onset_s - TAIL_S};
  }
  return best;
}
