// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/statistics.h"
#include "quality/parts.h"

static const double MOST_OFF = 0.25; // of the settled interval, what one interval counts at most: a choice, over what breathing brings about

static double settled_interval_s(const girthline_result *r) {
  const girthline_quality_limits *m = &r->limits.quality;
  if (isfinite(r->rate.settled_bpm)) return 60 / r->rate.settled_bpm;
  const size_t n_last = (size_t)m->best_settled_beats_n;
  double x[64]; // holds the most that may be asked for
  size_t n = 0;
  for (size_t i = r->n_beats > n_last ? r->n_beats - n_last : 0; i + 1 < r->n_beats; i++) {
    const double interval_s = r->beats[i + 1].s1_onset_s - r->beats[i].s1_onset_s;
    if (isfinite(interval_s)) x[n++] = interval_s;
  }
  return gn_median(x, n);
}

// Without the first problems, that are over before.
static bool is_hit(const girthline_result *r, size_t over, unsigned kinds, double start_s, double end_s) {
  return over < r->quality.n_problems && gn_quality_spans_hit(r->quality.problems + over, r->quality.n_problems - over, kinds, start_s, end_s);
}

// Beat i is whole, trusted and clean until the next S1.
static bool is_clean(const girthline_result *r, size_t over, size_t i) {
  const girthline_quality_limits *m = &r->limits.quality;
  const girthline_beat *b = &r->beats[i], *next = b + 1;
  if (!isfinite(b->s1_onset_s) || !isfinite(b->s2_onset_s) || !isfinite(next->s1_onset_s)) return false;
  if ((double)b->confidence < m->best_confidence || next->s1_onset_s - b->s1_onset_s > m->best_gap_s) return false;
  return !is_hit(r, over, GN_QUALITY_SPOILING, b->s1_onset_s - m->best_lead_s, next->s1_onset_s);
}

// How far the intervals of beats [first, end) lie off the settled one, share: their mean, each held to a share, so that a pause or an
// early beat makes no other rate.
static double off_rate(const girthline_result *r, size_t first, size_t end, double interval_s) {
  double sum = 0;
  for (size_t i = first; i < end; i++) {
    const double ratio = (r->beats[i + 1].s1_onset_s - r->beats[i].s1_onset_s) / interval_s;
    sum += fmin(MOST_OFF, fmax(ratio, 1 / ratio) - 1);
  }
  return sum / (double)(end - first);
}

static double worth(const girthline_result *r, size_t over, size_t first, size_t end, double interval_s) {
  const girthline_quality_limits *m = &r->limits.quality;
  const double start_s = r->beats[first].s1_onset_s, end_s = r->beats[end].s1_onset_s;
  double score = fmin(end_s - start_s, m->best_wanted_s) - m->best_rate_cost_s * fmax(0, off_rate(r, first, end, interval_s) - m->best_rate_tolerance);
  double confidence = 0;
  if (is_hit(r, over, 1u << GIRTHLINE_BREATHING, start_s, end_s)) score -= m->best_breath_cost_s;
  for (size_t i = first; i < end; i++) confidence += (double)r->beats[i].confidence / (double)(end - first);
  return score + confidence;
}

girthline_span gn_quality_best_span(const girthline_result *r) {
  const girthline_quality_limits *m = &r->limits.quality;
  girthline_span best = {NAN, NAN};
  if (r->n_beats < (size_t)m->best_beats_n + 1) return best;
  const double interval_s = settled_interval_s(r);
  double most = -INFINITY;
  size_t end = 0, over = 0;
  for (size_t first = 0; first + 1 < r->n_beats; first++) {
    while (over < r->quality.n_problems && r->quality.problems[over].span.end_s <= r->beats[first].s1_onset_s - m->best_lead_s) over++;
    if (end < first) end = first;
    while (end + 1 < r->n_beats && r->beats[end + 1].s1_onset_s - r->beats[first].s1_onset_s <= m->best_longest_s && is_clean(r, over, end)) end++;
    if (end - first < (size_t)m->best_beats_n) continue;
    const double score = worth(r, over, first, end, interval_s);
    if (score <= most) continue;
    most = score;
    best = (girthline_span){fmax(0, r->beats[first].s1_onset_s - m->best_lead_s), r->beats[end].s1_onset_s - m->best_tail_s};
  }
  return best;
}
