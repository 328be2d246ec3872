// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/period.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/wide.h"

#define FLAT 1e-6 // dB^2: a stretch whose levels spread no more is even, but for what sums round off

gn_lags gn_lags_between(double shortest_s, double longest_s) {
  return (gn_lags){shortest_s, (size_t)(gn_log(longest_s / shortest_s) / GN_PERIOD_STEP) + 1};
}

double gn_lags_s(const gn_lags *lags, double j) { return lags->first_s * gn_exp(j * GN_PERIOD_STEP); }

// A stretch that is correlated with itself.
typedef struct stretch { size_t from, to; } stretch;

// Salience of every lag in every window: n_windows rows of lags->n.
typedef struct correlogram {
  size_t n_windows, n_lags, len;
  float *salience;
  double *lag_n; // every lag in frames
  size_t n;
  float *level, *level_back;  // by frame: over the usual one, 0 where there is no evidence; and from the last frame to the first
  double *level_to, *gap_to;  // n + 1: sums over all frames ahead, of levels and of frames without evidence
  stretch *gaps;              // without evidence
  size_t n_gaps;
  stretch at;                 // what the products are of, and of which gaps
  size_t first_gap, end_gap;
  double *products;           // reach_n: sums of products of the levels that lie so far apart, by lag
  float *part;                // reach_n: of a few frames
  size_t reach_n;
} correlogram;

// The level of both bands less the mean of all evidence, so that sums of products stay small.
static void take_levels(correlogram *c, const gn_features *f) {
  double sum = 0, n_evident = 0;
  for (size_t k = 0; k < f->n; k++)
    if (!f->spoilt[k]) sum += (double)(f->level_db[0][k] + f->level_db[1][k]), n_evident++;
  const float usual = n_evident > 0 ? (float)(sum / n_evident) : 0;
  c->level_to[0] = c->gap_to[0] = 0;
  for (size_t k = 0; k < f->n; k++) {
    c->level[k] = f->spoilt[k] ? 0 : f->level_db[0][k] + f->level_db[1][k] - usual;
    c->level_back[f->n - 1 - k] = c->level[k];
    c->level_to[k + 1] = c->level_to[k] + (double)c->level[k];
    c->gap_to[k + 1] = c->gap_to[k] + (f->spoilt[k] ? 1 : 0);
    if (!f->spoilt[k]) continue;
    if (k == 0 || !f->spoilt[k - 1]) c->gaps[c->n_gaps++].from = k;
    c->gaps[c->n_gaps - 1].to = k + 1;
  }
}

static int correlogram_init(correlogram *c, const gn_features *f, const gn_lags *lags, size_t len) {
  const size_t longest_n = (size_t)(gn_lags_s(lags, (double)lags->n) * f->rate_hz) + 2;
  *c = (correlogram){.n_windows = (size_t)((double)f->n / f->rate_hz) + 1, .n_lags = lags->n, .n = f->n, .len = len, .reach_n = longest_n < len ? longest_n : len};
  c->salience = gn_new(c->n_windows * c->n_lags, sizeof(float));
  c->lag_n = gn_new(c->n_lags, sizeof(double));
  c->level = gn_room(2 * f->n, sizeof(float));
  c->level_to = gn_room(2 * (f->n + 1), sizeof(double));
  c->gaps = gn_room(f->n / 2 + 1, sizeof *c->gaps);
  c->products = gn_new(c->reach_n, sizeof(double));
  c->part = gn_new(c->reach_n, sizeof(float));
  if (!c->salience || !c->lag_n || !c->level || !c->level_to || !c->gaps || !c->products || !c->part) return -1;
  c->level_back = c->level + f->n;
  c->gap_to = c->level_to + f->n + 1;
  for (size_t j = 0; j < c->n_lags; j++) c->lag_n[j] = gn_lags_s(lags, (double)j) * f->rate_hz;
  take_levels(c, f);
  return 0;
}

static void correlogram_clear(correlogram *c) {
  gn_free(c->salience);
  gn_free(c->lag_n);
  gn_free(c->level);
  gn_free(c->level_to);
  gn_free(c->gaps);
  gn_free(c->products);
  gn_free(c->part);
}

// The stretch around second w; at the edges it slides inwards and never shrinks.
static stretch stretch_at(const correlogram *c, const gn_features *f, size_t w) {
  size_t to = w * (size_t)f->rate_hz + c->len / 2;
  if (to > f->n) to = f->n;
  const size_t from = to > c->len ? to - c->len : 0;
  if (to < c->len) to = c->len < f->n ? c->len : f->n;
  return (stretch){from, to};
}

static size_t lesser(size_t a, size_t b) { return a < b ? a : b; }
static size_t greater(size_t a, size_t b) { return a > b ? a : b; }

// The products since the last call go to all others.
static void add_part(correlogram *c, double sign) {
  for (size_t i = 0; i < c->reach_n; i++) c->products[i] += sign * (double)c->part[i];
  memset(c->part, 0, c->reach_n * sizeof *c->part);
}

// A frame, and those it makes pairs with: others[i] lies i apart.
typedef struct frame { float level; const float *others; size_t n; } frame;
enum { AT_ONCE = 4 };

GN_WIDE static void add_scaled(float *restrict sum, const frame four[AT_ONCE], size_t n) {
  const frame a = four[0], b = four[1], c = four[2], d = four[3];
  for (size_t i = 0; i < n; i++) {
    float s = sum[i];
    s += a.level * a.others[i];
    s += b.level * b.others[i];
    s += c.level * c.others[i];
    s += d.level * d.others[i];
    sum[i] = s;
  }
}

// The products of some frames, up to four, in their order; each sum is fetched once for all.
static void add_products(float *sum, frame four[AT_ONCE], size_t n_frames) {
  size_t n = n_frames ? four[0].n : 0;
  for (size_t q = 1; q < n_frames; q++) n = lesser(n, four[q].n);
  for (size_t q = n_frames; q < AT_ONCE; q++) four[q] = (frame){0, four[0].others, n};
  if (n) add_scaled(sum, four, n);
  for (size_t q = 0; q < n_frames; q++)
    for (size_t i = n; i < four[q].n; i++) sum[i] += four[q].level * four[q].others[i];
}

// On to the next stretch, neither of whose ends lies ahead of the last one's: pairs with a frame that is new come in, those with one that is left
// behind go out.
static void slide_to(correlogram *c, stretch next) {
  frame four[AT_ONCE];
  for (size_t k = c->at.to, n; k < next.to; k += n) {
    n = lesser(AT_ONCE, next.to - k);
    for (size_t q = 0; q < n; q++) four[q] = (frame){c->level[k + q], c->level_back + (c->n - 1 - k - q), lesser(c->reach_n, k + q - c->at.from + 1)};
    add_products(c->part, four, n);
  }
  add_part(c, 1);
  for (size_t k = c->at.from, n; k < next.from; k += n) {
    n = lesser(AT_ONCE, next.from - k);
    for (size_t q = 0; q < n; q++) four[q] = (frame){c->level[k + q], c->level + k + q, lesser(c->reach_n, next.to - k - q)};
    add_products(c->part, four, n);
  }
  add_part(c, -1);
  c->at = next;
  while (c->end_gap < c->n_gaps && c->gaps[c->end_gap].from < next.to) c->end_gap++;
  while (c->first_gap < c->end_gap && c->gaps[c->first_gap].to <= next.from) c->first_gap++;
}

// Pairs of the stretch's frames that lie i apart: how many are evidence, and the sum of both levels over those.
typedef struct pairs { double n, levels; } pairs;

static pairs pairs_at(const correlogram *c, size_t i) {
  const double *to = c->level_to, *gap_to = c->gap_to;
  const size_t a = c->at.from, b = c->at.to;
  pairs p = {(double)(b - a - i) - (gap_to[b - i] - gap_to[a]) - (gap_to[b] - gap_to[a + i]), (to[b - i] - to[a]) + (to[b] - to[a + i])};
  for (size_t g = c->first_gap; g < c->end_gap; g++) {
    const size_t first = greater(c->gaps[g].from, a), end = lesser(c->gaps[g].to, b), later = lesser(first + i, b), later_end = lesser(end + i, b);
    p.n += gap_to[later_end] - gap_to[later]; // without evidence both: they were taken off twice
    p.levels -= to[later_end] - to[later];    // the others' levels, where there is no evidence i frames ahead, or behind
    p.levels -= to[greater(end, a + i) - i] - to[greater(first, a + i) - i];
  }
  return p;
}

// The sum of the products, each level taken over the stretch's mean.
static double product_at(const correlogram *c, size_t i, double mean, const pairs *p) { return c->products[i] - mean * p->levels + mean * mean * p->n; }

// The correlation of the evidence in one stretch, each lag normalised by how much evidence it compares. Where less than a quarter is evidence
// nothing is claimed.
static void salience_of(const correlogram *c, float *row) {
  const double all_n = (double)(c->at.to - c->at.from), n_evident = all_n - (c->gap_to[c->at.to] - c->gap_to[c->at.from]);
  if (n_evident < all_n / 4 || !(n_evident > 0)) return;
  const double mean = (c->level_to[c->at.to] - c->level_to[c->at.from]) / n_evident;
  const pairs itself = pairs_at(c, 0);
  const double power = product_at(c, 0, mean, &itself) / n_evident;
  if (!(power > FLAT)) return;
  for (size_t j = 0; j < c->n_lags; j++) {
    const size_t i = (size_t)c->lag_n[j];
    if (i + 1 >= c->at.to - c->at.from || i + 1 >= c->reach_n) break;
    const pairs one = pairs_at(c, i), next = pairs_at(c, i + 1);
    const double w = c->lag_n[j] - (double)i, compared = (1 - w) * one.n + w * next.n;
    if (compared < 0.15 * n_evident) continue;
    const double r = ((1 - w) * product_at(c, i, mean, &one) + w * product_at(c, i + 1, mean, &next)) / compared / power;
    row[j] = r > 0 ? (float)(r * r) : 0.0f;
  }
}

// The places of one second a step away, offered to those of the next: each takes it if it is better than what it has.
GN_WIDE static void offer(const float *restrict last, size_t n, float cost, int step, float *restrict best, int *restrict from) {
  for (size_t j = 0; j < n; j++) {
    const float offered = last[j] - cost;
    from[j] = offered > best[j] ? step : from[j];
    best[j] = offered > best[j] ? offered : best[j];
  }
}

// The best path through the salience plane by dynamic programming.
static int best_path(const correlogram *c, const gn_period_settings *s, gn_period_path *path) {
  const size_t nw = c->n_windows, nl = c->n_lags;
  float *score = gn_new(2 * nl, sizeof *score);
  int *from = gn_new(nw * nl, sizeof *from);
  path->place = gn_new(nw, sizeof *path->place);
  path->n = nw;
  if (!score || !from || !path->place) {
    gn_free(score);
    gn_free(from);
    gn_free(path->place);
    path->place = NULL;
    return -1;
  }
  float *now = score, *last = score + nl;
  for (size_t w = 0; w < nw; w++) {
    memcpy(now, last, nl * sizeof *now);
    for (size_t d = 1; w && d <= s->steps_most && d < nl; d++) {
      const float cost = (float)(s->step_cost * (double)d);
      offer(last, nl - d, cost, -(int)d, now + d, from + w * nl + d);
      offer(last + d, nl - d, cost, (int)d, now, from + w * nl);
    }
    for (size_t j = 0; j < nl; j++) now[j] += c->salience[w * nl + j];
    float *t = now;
    now = last;
    last = t;
  }
  size_t j = 0;
  for (size_t i = 1; i < nl; i++)
    if (last[i] > last[j]) j = i;
  path->salience = (double)last[j] / (double)nw;
  for (size_t w = nw; w-- > 0;) {
    path->place[w] = (float)j;
    j = (size_t)((long)j + from[w * nl + j]);
  }
  gn_free(score);
  gn_free(from);
  return 0;
}

static void suppress(correlogram *c, const gn_period_path *path) {
  for (size_t w = 0; w < c->n_windows; w++)
    for (size_t j = 0; j < c->n_lags; j++)
      if (fabs((double)j - (double)path->place[w]) <= 4) c->salience[w * c->n_lags + j] = 0; // 8 % either way
}

int gn_period_find(const gn_features *f, const gn_lags *lags, const gn_period_settings *s, gn_period_path *paths, size_t n_paths) {
  const size_t len = (size_t)(s->window_s * f->rate_hz);
  correlogram c = {0};
  int found = -1;
  if (correlogram_init(&c, f, lags, len)) goto done;
  for (size_t w = 0; w < c.n_windows; w++) {
    slide_to(&c, stretch_at(&c, f, w));
    salience_of(&c, c.salience + w * c.n_lags);
  }
  for (found = 0; (size_t)found < n_paths; found++) {
    if (best_path(&c, s, &paths[found])) {
      while (found > 0) gn_free(paths[--found].place);
      found = -1;
      break;
    }
    if (paths[found].salience <= 0) {
      gn_free(paths[found].place);
      break;
    }
    suppress(&c, &paths[found]);
  }
done:
  correlogram_clear(&c);
  return found;
}
