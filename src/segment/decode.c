// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/decode_parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"

#define BEAM 16.0f             // nats: an S1 that much worse than another one within a third of a period is not followed further.
                               // A choice: with it no beat of 285 simulated recordings changed

gn_decoder *gn_decoder_new(size_t n_frames, size_t pad) {
  gn_decoder *d = gn_new(1, sizeof *d);
  if (!d) return NULL;
  const size_t n = n_frames + 2 * pad;
  d->n = n_frames;
  d->pad = pad;
  d->reach = gn_new(n, sizeof(float));
  d->go = gn_new(n, sizeof(float));
  d->from = gn_new(n, sizeof(int));
  d->second = gn_new(n, sizeof(int));
  d->beats = gn_new(n, sizeof *d->beats);
  d->ahead = gn_new(n, sizeof(double));
  d->behind = gn_new(n, sizeof(double));
  d->systole = gn_new(n, sizeof(double));
  d->weight = gn_new(n, sizeof(double));
  d->chance = gn_new(n, sizeof *d->chance);
  d->least = gn_new(n, sizeof(size_t));
  d->top = gn_new(n / GN_BLOCK + 1, sizeof(double));
  d->followed = gn_new(n, 1);
  d->alive = gn_new(n, sizeof(size_t));
  const bool searching = d->reach && d->go && d->from && d->second && d->beats;
  if (searching && d->ahead && d->behind && d->systole && d->weight && d->chance && d->least && d->top && d->followed && d->alive) return d;
  gn_decoder_free(d);
  return NULL;
}

void gn_decoder_free(gn_decoder *d) {
  if (!d) return;
  gn_free(d->reach);
  gn_free(d->go);
  gn_free(d->from);
  gn_free(d->second);
  gn_free(d->beats);
  gn_free(d->ahead);
  gn_free(d->behind);
  gn_free(d->systole);
  gn_free(d->weight);
  gn_free(d->chance);
  gn_free(d->least);
  gn_free(d->top);
  gn_free(d->followed);
  gn_free(d->alive);
  gn_free(d);
}

// The S2 that suits the S1 at i best; one that would lie behind the window's end counts by its whole probability, for
// nothing there says where.
static void choose_systole(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t j, size_t i) {
  const float *row = dur->systole + j * dur->most_systole_n;
  const size_t end = d->n + d->pad;
  double best = (double)GN_NEVER, behind = 0;
  size_t k = dur->systole_from_n[j], first_behind = 0;
  const size_t to = dur->systole_to_n[j];
  d->second[i] = 0;
  for (; k <= to && i + k < end; k++) {
    const double v = gn_decode_systole_score(s, row, i, k);
    if (v > best) best = v, d->second[i] = (int)k;
  }
  for (; k <= to; k++) {
    behind += gn_exp((double)row[k]);
    if (!first_behind || row[k] > row[first_behind]) first_behind = k;
  }
  if (behind > 0 && gn_log(behind) + GN_UNSEEN_GAIN > best) best = gn_log(behind) + GN_UNSEEN_GAIN, d->second[i] = (int)first_behind;
  d->go[i] = d->reach[i] + (float)(best - gn_decode_beat_cost(s));
}

// What an S2 at frame m brings beside its probability, but for what precedes systole.
static double second_worth(const gn_scores *s, size_t m) { return (double)s->s2[m] + (m >= GN_TEMPLATE_LEAD ? s->systole[m - GN_TEMPLATE_LEAD] : 0); }

static void find_tops(gn_decoder *d, const gn_scores *s) {
  const size_t n = d->n + 2 * d->pad;
  for (size_t b = 0; b * GN_BLOCK < n; b++) {
    double top = second_worth(s, b * GN_BLOCK);
    for (size_t m = b * GN_BLOCK + 1; m < n && m < (b + 1) * GN_BLOCK; m++) {
      const double v = second_worth(s, m);
      if (v > top) top = v;
    }
    d->top[b] = top;
  }
}

// Whether any systole could lift the S1 at i over the bar.
static bool may_matter(const gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t j, size_t i, float bar) {
  const size_t from = i + dur->systole_from_n[j], to = i + dur->systole_to_n[j], after_s1 = i + s->after_s1_n;
  if (to >= d->n + d->pad) return true; // its S2 may lie behind the end
  double low = s->systole[after_s1]; // an S2 within the template of S1 has no systole before it
  for (size_t m = from - GN_TEMPLATE_LEAD; m < after_s1; m++)
    if (s->systole[m] < low) low = s->systole[m];
  double top = d->top[from / GN_BLOCK];
  for (size_t b = from / GN_BLOCK + 1; b <= to / GN_BLOCK; b++)
    if (d->top[b] > top) top = d->top[b];
  return (double)d->reach[i] + top - low + (double)dur->systole_top[j] - gn_decode_beat_cost(s) >= (double)bar;
}

// Offer every next S1, least to most_n frames on, the sequence that has its last beat at i.
static void extend(gn_decoder *d, const float *row, size_t i, size_t least, size_t most) {
  const float go = d->go[i];
  float *reach = d->reach + i;
  for (size_t r = least; r < most; r++) {
    const float v = go + row[r];
    if (v > reach[r]) reach[r] = v, d->from[i + r] = (int)i;
  }
}

static void trace_back(gn_decoder *d, int last) {
  size_t n = 0;
  for (int i = last; i >= 0; i = d->from[i]) n++;
  d->n_beats = n;
  for (int i = last; i >= 0; i = d->from[i]) d->beats[--n] = (gn_beat_frames){i - (long)d->pad, i - (long)d->pad + d->second[i]};
}

// Where the search stands while it goes through the frames.
typedef struct search {
  float far;          // the best start of a gap so far
  int far_from;
  float bar;          // what a score must reach to be followed
  double best;
  int last;           // the last S1 of the best sequence
} search;

static void visit(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t j, size_t i, search *at) {
  const size_t left = d->n + d->pad - i, most = (size_t)(GN_LONGEST_PERIODS * dur->period_n[j]);
  if (i >= most && d->go[i - most] > at->far) at->far = d->go[i - most], at->far_from = (int)(i - most);
  const float begin = (float)gn_decode_begin_score(d, dur, j, i), after_gap = at->far - (float)GN_GAP_COST;
  if (begin > d->reach[i]) d->reach[i] = begin, d->from[i] = -1;
  if (after_gap > d->reach[i]) d->reach[i] = after_gap, d->from[i] = at->far_from;
  d->reach[i] += s->s1[i];
  at->bar -= 3 * BEAM / (float)dur->period_n[j];
  if (may_matter(d, s, dur, j, i, at->bar)) choose_systole(d, s, dur, j, i);
  else d->go[i] = GN_NEVER, d->second[i] = 0;
  at->bar = fmaxf(d->go[i] - BEAM, at->bar);
  d->followed[i] = d->go[i] >= at->bar;
  if (d->followed[i]) extend(d, dur->interval + j * dur->most_interval_n, i, gn_decode_shortest(d, dur->period_n[j], i), most < left ? most : left);
  const double end = (double)d->go[i] + gn_decode_end_score(dur, j, left, most);
  if (end > at->best) at->best = end, at->last = (int)i;
}

double gn_decode_best(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place,
                      const gn_beat_frames **beats, size_t *n_beats) {
  const size_t n = d->n + d->pad; // no S1 in the padding behind
  search at = {.far = GN_NEVER, .far_from = -1, .bar = GN_NEVER, .best = (double)GN_NEVER, .last = -1};
  find_tops(d, s);
  for (size_t i = 0; i < n; i++) d->reach[i] = GN_NEVER, d->from[i] = -1;
  for (size_t i = 0; i < n; i++) visit(d, s, dur, gn_decode_place_at(d, dur, place, n_place, i), i, &at);
  trace_back(d, at.last);
  if (at.last >= 0) d->followed[at.last] = 1;
  d->n_alive = 0;
  for (size_t i = 0; i < n; i++)
    if (d->followed[i]) d->alive[d->n_alive++] = i;
  *beats = d->beats;
  *n_beats = d->n_beats;
  return at.best;
}
