// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// The best sequence of beats, frame by frame: what the best sequence with its last S1 here is worth, offered to every frame where the
// next S1 may lie. An S1 is followed only where no other one near it makes it pointless: whatever could come next could as well come
// after that one, a few nats dearer at the most (an interval's probability has a flat tail on either side).
#include "segment/decode_parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/wide.h"

#define BEAM 30.0f    // nats that an S1 may be worse than another one near it and still be followed: what the likeliest interval can be ahead
                      // of one that is just possible (27), and rounding. With 30 two reports of 1320 differ from 40's, with 20 one in 25
#define PAST 1.5      // local periods for which an S1 stands over those behind it
#define OFFERED (-2)  // the S1 before is found when the sequence is traced back

gn_decoder *gn_decoder_new(size_t n_frames, size_t pad) {
  gn_decoder *d = gn_new(1, sizeof *d);
  if (!d) return NULL;
  const size_t n = n_frames + 2 * pad;
  d->n = n_frames;
  d->pad = pad;
  d->row = gn_room(n, sizeof *d->row);
  d->offered = gn_room(n, sizeof(float));
  d->hope = gn_room(n, sizeof(float));
  d->reach = gn_room(n, sizeof(float));
  d->go = gn_room(n, sizeof(float));
  d->most = gn_room(n, sizeof(float));
  d->is_near = gn_room(n, sizeof *d->is_near);
  d->from = gn_room(n, sizeof(int));
  d->second = gn_room(n, sizeof(int));
  d->beats = gn_room(n, sizeof *d->beats);
  d->alive = gn_room(n, sizeof(size_t));
  d->crest = gn_room(n, sizeof(size_t));
  d->worth = gn_room(n, sizeof(float));
  d->top = gn_room(n / GN_BLOCK + 1, sizeof(float));
  d->ahead = gn_room(n, sizeof(double));
  d->behind = gn_room(n, sizeof(double));
  d->systole = gn_room(n, sizeof(double));
  d->weight = gn_room(n, sizeof(double));
  d->chance = gn_room(n, sizeof *d->chance);
  d->least = gn_room(n, sizeof(size_t));
  const bool searching = d->row && d->offered && d->hope && d->reach && d->go && d->most && d->is_near && d->from && d->second && d->beats && d->alive && d->crest && d->worth && d->top;
  if (searching && d->ahead && d->behind && d->systole && d->weight && d->chance && d->least) return d;
  gn_decoder_free(d);
  return NULL;
}

void gn_decoder_free(gn_decoder *d) {
  if (!d) return;
  gn_free(d->row);
  gn_free(d->offered);
  gn_free(d->hope);
  gn_free(d->reach);
  gn_free(d->go);
  gn_free(d->most);
  gn_free(d->is_near);
  gn_free(d->from);
  gn_free(d->second);
  gn_free(d->beats);
  gn_free(d->alive);
  gn_free(d->crest);
  gn_free(d->worth);
  gn_free(d->top);
  gn_free(d->ahead);
  gn_free(d->behind);
  gn_free(d->systole);
  gn_free(d->weight);
  gn_free(d->chance);
  gn_free(d->least);
  gn_free(d);
}

// The row of every frame; returns the shortest interval that any of them may begin, frames.
static size_t find_rows(gn_decoder *d, const gn_durations *dur, const float *place, size_t n_place) {
  const size_t n = d->n + 2 * d->pad;
  size_t least = n;
  for (size_t second = 0, i = 0; i < n; second++) {
    const double end = (double)d->pad + ((double)second + 0.5) * dur->rate_hz;
    const unsigned short row = (unsigned short)gn_decode_row_of(dur, place, second);
    const size_t to = second + 1 == n_place || end > (double)n ? n : (size_t)ceil(end), shortest = (size_t)(GN_SHORTEST_PERIODS * dur->period_n[row]);
    if (i < d->n + d->pad && shortest < least) least = shortest;
    for (; i < to; i++) d->row[i] = row;
  }
  return least > 1 ? least : 1;
}

GN_WIDE static void find_worths(gn_decoder *d, const gn_scores *s) {
  const size_t n = d->n + 2 * d->pad;
  float *restrict worth = d->worth;
  for (size_t m = 0; m < GN_TEMPLATE_LEAD; m++) worth[m] = s->s2[m];
  for (size_t m = GN_TEMPLATE_LEAD; m < n; m++) worth[m] = (float)((double)s->s2[m] + s->systole[m - GN_TEMPLATE_LEAD]);
  for (size_t b = 0; b * GN_BLOCK < n; b++) {
    const size_t from = b * GN_BLOCK, some = n - from < GN_BLOCK ? n - from : GN_BLOCK;
    float top[GN_BLOCK];
    for (size_t m = 0; m < GN_BLOCK; m++) top[m] = worth[from + (m < some ? m : 0)];
    for (size_t half = GN_BLOCK / 2; half; half /= 2)
      for (size_t m = 0; m < half; m++) top[m] = top[m + half] > top[m] ? top[m + half] : top[m];
    d->top[b] = top[0];
  }
}

// The systoles that end before the window does: those that S1's own template reaches into, and the others.
typedef struct systoles { size_t from, apart, to; } systoles; // from .. apart - 1, apart .. to - 1

GN_WIDE_PART systoles systoles_of(const gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t i) {
  const size_t j = d->row[i], from = dur->systole_from_n[j], left = d->n + d->pad - i, apart = s->after_s1_n + GN_TEMPLATE_LEAD;
  systoles t = {from, apart > from ? apart : from, dur->systole_to_n[j] + 1};
  if (t.to > left) t.to = left;
  if (t.apart > t.to) t.apart = t.to;
  if (t.from > t.apart) t.from = t.apart;
  return t;
}

// The largest sum of two rows, eight side by side; the last eight meet those before them.
GN_WIDE_PART float largest_sum(const float *restrict x, const float *restrict y, size_t n) {
  enum { HALF = 4, LANES = 2 * HALF };
  if (n < LANES) {
    float most = GN_NEVER;
    for (size_t i = 0; i < n; i++) most = x[i] + y[i] > most ? x[i] + y[i] : most;
    return most;
  }
  gn_row low = {GN_NEVER, GN_NEVER, GN_NEVER, GN_NEVER}, high = low;
  for (size_t k = 0, i; k < n; k += LANES) {
    i = k + LANES <= n ? k : n - LANES;
    low = gn_larger(*(const gn_row *)(x + i) + *(const gn_row *)(y + i), low);
    high = gn_larger(*(const gn_row *)(x + i + HALF) + *(const gn_row *)(y + i + HALF), high);
  }
  low = gn_larger(high, low);
  low = gn_larger(GN_SHUFFLE(low, low, 2, 3, 0, 1), low);
  return low[0] > low[1] ? low[0] : low[1];
}

// The first place where two rows add up to a sum that they have; four are looked at at once.
GN_WIDE_PART size_t place_of_sum(const float *restrict x, const float *restrict y, float sum, size_t n) {
  enum { LANES = 4 };
  typedef long halves __attribute__((vector_size(sizeof(gn_row))));
  size_t k = 0;
  for (; k + LANES <= n; k += LANES) {
    const halves found = (halves)(*(const gn_row *)(x + k) + *(const gn_row *)(y + k) == sum);
    if (found[0] | found[1]) break;
  }
  while (k + 1 < n && x[k] + y[k] != sum) k++;
  return k;
}

// What the S2 that suits the S1 at i best is worth, inside the window; which sum that is stays known.
GN_WIDE_PART float inside_worth(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t i) {
  const float *row = dur->systole + d->row[i] * dur->most_systole_n;
  const systoles t = systoles_of(d, s, dur, i);
  const float near = largest_sum(row + t.from, s->s2 + i + t.from, t.apart - t.from);
  const float far = largest_sum(row + t.apart, d->worth + i + t.apart, t.to - t.apart), ahead = (float)s->systole[i + s->after_s1_n];
  d->is_near[i] = t.apart > t.from && near >= far - ahead;
  d->most[i] = d->is_near[i] ? near : far;
  return t.from == t.to ? GN_NEVER : d->is_near[i] ? near : far - ahead;
}

// How far behind it that S2 lies.
GN_WIDE_PART size_t inside_length(const gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t i) {
  const float *row = dur->systole + d->row[i] * dur->most_systole_n, *second = d->is_near[i] ? s->s2 : d->worth;
  const systoles t = systoles_of(d, s, dur, i);
  const size_t first = d->is_near[i] ? t.from : t.apart;
  return first + place_of_sum(row + first, second + i + first, d->most[i], t.to - first);
}

// An S2 that would lie behind the window's end counts by its whole probability, for nothing there says where.
static float behind_worth(const gn_decoder *d, const gn_durations *dur, size_t i, size_t *likeliest) {
  const size_t j = d->row[i], left = d->n + d->pad - i, to = dur->systole_to_n[j];
  const float *row = dur->systole + j * dur->most_systole_n;
  size_t k = dur->systole_from_n[j];
  double sum = 0;
  if (k < left) k = left;
  *likeliest = k;
  for (; k <= to; k++) {
    sum += gn_exp((double)row[k]);
    if (row[k] > row[*likeliest]) *likeliest = k;
  }
  return sum > 0 ? (float)gn_log(sum) : GN_NEVER;
}

static bool may_end_behind(const gn_decoder *d, const gn_durations *dur, size_t i) { return i + dur->systole_to_n[d->row[i]] >= d->n + d->pad; }

GN_WIDE_PART float systole_worth(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t i) {
  size_t k;
  const float inside = inside_worth(d, s, dur, i), behind = may_end_behind(d, dur, i) ? behind_worth(d, dur, i, &k) : GN_NEVER;
  return behind > inside ? behind : inside;
}

GN_WIDE_PART size_t systole_length(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t i) {
  size_t k_behind;
  if (may_end_behind(d, dur, i) && behind_worth(d, dur, i, &k_behind) > inside_worth(d, s, dur, i)) return k_behind;
  return inside_length(d, s, dur, i);
}

// What S1s of one local period, at a few frames from i on, could be worth at most beside what led to them and their own evidence.
GN_WIDE_PART void hope_for(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t i, size_t n) {
  const size_t j = d->row[i], from_n = dur->systole_from_n[j], to_n = dur->systole_to_n[j];
  const double *restrict before = s->systole + i + s->after_s1_n;
  float top = d->top[(i + from_n) / GN_BLOCK], *restrict hope = d->hope + i;
  for (size_t b = (i + from_n) / GN_BLOCK + 1; b <= (i + n - 1 + to_n) / GN_BLOCK; b++) top = d->top[b] > top ? d->top[b] : top;
  const double most = (double)top + (double)dur->systole_top[j] + gn_decode_beat_gain(s);
  for (size_t k = 0; k < n; k++) hope[k] = (float)(most - before[k]);
  for (size_t m = from_n - GN_TEMPLATE_LEAD; m < s->after_s1_n; m++) // an S2 within the template of S1 has no systole before it
    for (size_t k = 0; k < n; k++) hope[k] = gn_max_f(hope[k], (float)(most - s->systole[i + m + k]));
}

GN_WIDE static void find_hopes(gn_decoder *d, const gn_scores *s, const gn_durations *dur) {
  const size_t n = d->n + d->pad;
  for (size_t i = 0, some; i < n; i += some) {
    for (some = 1; some < GN_BLOCK && i + some < n && d->row[i + some] == d->row[i];) some++;
    if (i + some - 1 + dur->systole_to_n[d->row[i]] < n) hope_for(d, s, dur, i, some);
    else
      for (size_t k = 0; k < some; k++) d->hope[i + k] = INFINITY; // its S2 may lie behind the end
  }
}

// Where the search stands while it goes through the frames.
typedef struct search {
  gn_decoder *d;
  const gn_scores *s;
  const gn_durations *dur;
  size_t lag;         // frames an S1 waits until those behind it are known: no interval is shorter
  size_t row, longest, longest_of_all; // the local period's place, the longest interval of it, and of any so far
  float gap_cost;     // of a frame, by that period
  size_t crest, n_crest; // the crests that still count: crest .. n_crest - 1
  float far;          // the best start of a gap so far, less what the gap has cost since
  int far_from;
  double best;
  int last;           // the last S1 of the best sequence
} search;

static float bar_of(const search *at) { return at->crest < at->n_crest ? at->d->go[at->d->crest[at->crest]] - BEAM : GN_NEVER; }

GN_WIDE_PART void note_crest(search *at, size_t i) {
  const gn_decoder *d = at->d;
  while (at->n_crest > at->crest && d->go[d->crest[at->n_crest - 1]] <= d->go[i]) at->n_crest--;
  d->crest[at->n_crest++] = i;
}

GN_WIDE_PART void visit(search *at, size_t i) {
  gn_decoder *d = at->d;
  const gn_durations *dur = at->dur;
  const size_t j = d->row[i], left = d->n + d->pad - i;
  if (i == 0 || j != at->row) {
    at->row = j;
    at->longest = (size_t)(GN_LONGEST_PERIODS * dur->period_n[j]);
    if (at->longest > at->longest_of_all) at->longest_of_all = at->longest;
    at->gap_cost = (float)(GN_GAP_PERIOD_COST / dur->period_n[j]);
  }
  const size_t most = at->longest;
  at->far -= at->gap_cost;
  if (i >= most && d->second[i - most] && d->go[i - most] > at->far) at->far = d->go[i - most], at->far_from = (int)(i - most);
  const float begin = (float)gn_decode_begin_score(d, dur, j, i), after_gap = at->far - (float)GN_GAP_COST;
  float offered = d->offered[i];
  d->from[i] = OFFERED;
  if (begin > offered) offered = begin, d->from[i] = -1;
  if (after_gap > offered) offered = after_gap, d->from[i] = at->far_from;
  d->reach[i] = offered + at->s->s1[i];
  d->go[i] = GN_NEVER;
  if (!((double)d->reach[i] + (double)d->hope[i] >= (double)bar_of(at) - 0.01)) return; // 0.01: of rounding
  d->go[i] = d->reach[i] + systole_worth(d, at->s, dur, i) + (float)gn_decode_beat_gain(at->s);
  note_crest(at, i);
  const double end = (double)d->go[i] + gn_decode_end_score(dur, j, left, most);
  if (end > at->best) at->best = end, at->last = (int)i;
}

// Offer every frame where the next S1 may lie the sequence that has its last beat at i.
GN_WIDE_PART void extend(const search *at, size_t i) {
  gn_decoder *d = at->d;
  const double period_n = at->dur->period_n[d->row[i]];
  const size_t left = d->n + d->pad - i, longest = (size_t)(GN_LONGEST_PERIODS * period_n), most = longest < left ? longest : left;
  const float go = d->go[i], *restrict row = at->dur->interval + d->row[i] * at->dur->most_interval_n;
  float *restrict offered = d->offered + i;
  for (size_t r = gn_decode_shortest(d, period_n, i); r < most; r++) {
    const float v = go + row[r];
    offered[r] = v > offered[r] ? v : offered[r];
  }
}

// Follow the S1 at i, unless another one stands over it.
GN_WIDE_PART void settle(search *at, size_t i) {
  gn_decoder *d = at->d;
  const size_t past = (size_t)(PAST * at->dur->period_n[d->row[i]]);
  while (at->crest < at->n_crest && d->crest[at->crest] + past < i) at->crest++;
  if (!(d->go[i] > GN_NEVER) || d->go[i] < bar_of(at)) return;
  d->second[i] = (int)systole_length(d, at->s, at->dur, i);
  d->alive[d->n_alive++] = i;
  extend(at, i);
}

// All frames, one after the other; none comes after the n-th.
GN_WIDE static void go_through(search *at, size_t n) {
  for (size_t i = 0; i < n + at->lag; i++) {
    if (i >= at->lag) settle(at, i - at->lag);
    if (i < n) visit(at, i);
  }
}

// The S1 before the one at i: the first of the followed ones that offered it what it has. All from place *a in alive on lie behind it.
static int before(const search *at, size_t i, size_t *a) {
  const gn_decoder *d = at->d;
  if (d->from[i] != OFFERED) return d->from[i];
  int first = -1;
  while (*a > 0 && d->alive[*a - 1] >= i) --*a;
  for (size_t b = *a; b-- > 0 && i - d->alive[b] < at->longest_of_all;) {
    const size_t k = d->alive[b], r = i - k;
    if (d->go[k] + at->dur->interval[d->row[k] * at->dur->most_interval_n + r] != d->offered[i]) continue;
    const double period_n = at->dur->period_n[d->row[k]];
    if (r < (size_t)(GN_LONGEST_PERIODS * period_n) && r >= gn_decode_shortest(d, period_n, k)) first = (int)k;
  }
  return first;
}

static void trace_back(const search *at) {
  gn_decoder *d = at->d;
  size_t n = 0, a = d->n_alive;
  for (int i = at->last; i >= 0; i = before(at, (size_t)i, &a)) d->beats[n++] = (gn_beat_frames){i - (long)d->pad, i - (long)d->pad + d->second[i]};
  d->n_beats = n;
  for (size_t k = 0; 2 * k + 1 < n; k++) {
    const gn_beat_frames t = d->beats[k];
    d->beats[k] = d->beats[n - 1 - k];
    d->beats[n - 1 - k] = t;
  }
}

// The last S1 of the best sequence belongs to those that are followed, though nothing follows.
static void keep_last(search *at) {
  gn_decoder *d = at->d;
  if (at->last < 0 || d->second[at->last]) return;
  size_t a = d->n_alive++;
  for (; a > 0 && d->alive[a - 1] > (size_t)at->last; a--) d->alive[a] = d->alive[a - 1];
  d->alive[a] = (size_t)at->last;
  d->second[at->last] = (int)systole_length(d, at->s, at->dur, (size_t)at->last);
}

double gn_decode_best(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place,
                      const gn_beat_frames **beats, size_t *n_beats) {
  const size_t n = d->n + d->pad; // no S1 in the padding behind
  const size_t shortest = find_rows(d, dur, place, n_place);
  find_worths(d, s);
  find_hopes(d, s, dur);
  search at = {.d = d, .s = s, .dur = dur, .lag = shortest, .far = GN_NEVER, .far_from = -1, .best = (double)GN_NEVER, .last = -1};
  for (size_t i = 0; i < n; i++) d->offered[i] = GN_NEVER, d->second[i] = 0;
  d->n_alive = 0;
  go_through(&at, n);
  keep_last(&at);
  trace_back(&at);
  *beats = d->beats;
  *n_beats = d->n_beats;
  return at.best;
}
