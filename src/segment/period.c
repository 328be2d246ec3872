// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/period.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/fft_many.h"
#include "base/maths.h"
#include "base/memory.h"

gn_lags gn_lags_between(double shortest_s, double longest_s) {
  return (gn_lags){shortest_s, (size_t)(gn_log(longest_s / shortest_s) / GN_PERIOD_STEP) + 1};
}

double gn_lags_s(const gn_lags *lags, double j) { return lags->first_s * gn_exp(j * GN_PERIOD_STEP); }

enum { MANY = GN_FFT_MANY };

// One stretch that is correlated with itself.
typedef struct stretch { size_t k0, k1; double n_evident; } stretch;

// Salience of every lag in every window: n_windows rows of lags->n.
typedef struct correlogram {
  size_t n_windows, n_lags, n_fft, len;
  float *salience;
  gn_fft_many *fft;
  float *level, *mask, *ones;  // n_fft: of one stretch; no taper
  float *products, *compared;  // by lag and stretch: sums of products of levels, and how many there are
  double *lag_n;               // every lag in frames
  stretch stretches[MANY];
} correlogram;

static size_t power_of_two(size_t at_least) {
  size_t n = 2;
  while (n < at_least) n *= 2;
  return n;
}

static int correlogram_init(correlogram *c, const gn_features *f, const gn_lags *lags, size_t len) {
  const size_t longest = (size_t)(gn_lags_s(lags, (double)lags->n) * f->rate_hz) + 2;
  *c = (correlogram){.n_windows = (size_t)((double)f->n / f->rate_hz) + 1, .n_lags = lags->n, .n_fft = power_of_two(len + longest), .len = len};
  const size_t n_out = (c->n_fft / 2 + 1) * MANY;
  c->fft = gn_fft_many_new(c->n_fft);
  c->salience = gn_new(c->n_windows * c->n_lags, sizeof(float));
  c->level = gn_new(3 * c->n_fft, sizeof(float));
  c->products = gn_new(2 * n_out, sizeof(float));
  c->lag_n = gn_new(c->n_lags, sizeof(double));
  if (!c->fft || !c->salience || !c->level || !c->products || !c->lag_n) return -1;
  c->mask = c->level + c->n_fft;
  c->ones = c->mask + c->n_fft;
  c->compared = c->products + n_out;
  for (size_t i = 0; i < c->n_fft; i++) c->ones[i] = 1;
  for (size_t j = 0; j < c->n_lags; j++) c->lag_n[j] = gn_lags_s(lags, (double)j) * f->rate_hz;
  return 0;
}

static void correlogram_clear(correlogram *c) {
  gn_fft_many_free(c->fft);
  gn_free(c->salience);
  gn_free(c->level);
  gn_free(c->products);
  gn_free(c->lag_n);
}

// The stretch around second w; at the edges it slides inwards and never shrinks.
static stretch stretch_at(const correlogram *c, const gn_features *f, size_t w) {
  size_t k1 = w * (size_t)f->rate_hz + c->len / 2;
  if (k1 > f->n) k1 = f->n;
  const size_t k0 = k1 > c->len ? k1 - c->len : 0;
  if (k1 < c->len) k1 = c->len < f->n ? c->len : f->n;
  return (stretch){k0, k1, 0};
}

// Levels of a stretch without their mean, 0 where there is no evidence. Where less than a quarter is evidence nothing is claimed.
static void take_levels(correlogram *c, const gn_features *f, stretch *s) {
  double sum = 0;
  memset(c->level, 0, 2 * c->n_fft * sizeof *c->level);
  for (size_t k = s->k0; k < s->k1; k++) {
    if (f->spoilt[k]) continue;
    c->mask[k - s->k0] = 1;
    c->level[k - s->k0] = f->level_db[0][k] + f->level_db[1][k];
    sum += (double)c->level[k - s->k0];
    s->n_evident++;
  }
  for (size_t i = 0; i < s->k1 - s->k0; i++)
    if (c->mask[i] > 0) c->level[i] -= (float)(sum / s->n_evident);
  if (s->n_evident < (double)(s->k1 - s->k0) / 4) s->n_evident = 0;
}

// Correlate up to MANY stretches from second w on with themselves.
static void correlate(correlogram *c, const gn_features *f, size_t w) {
  bool all_evident = true;
  for (size_t l = 0; l < MANY; l++) {
    stretch *s = &c->stretches[l];
    *s = stretch_at(c, f, w + l < c->n_windows ? w + l : c->n_windows - 1);
    take_levels(c, f, s);
    all_evident = all_evident && s->n_evident >= (double)(s->k1 - s->k0);
    gn_fft_many_take(c->fft, l, c->level, c->ones);
  }
  gn_fft_many_correlate(c->fft, c->products);
  if (all_evident) return;
  for (size_t l = 0; l < MANY; l++) {
    stretch s = c->stretches[l];
    take_levels(c, f, &s);
    gn_fft_many_take(c->fft, l, c->mask, c->ones);
  }
  gn_fft_many_correlate(c->fft, c->compared);
}

// How many pairs of frames i apart are evidence.
static double compared_at(const correlogram *c, size_t l, size_t i) {
  const stretch *s = &c->stretches[l];
  return s->n_evident < (double)(s->k1 - s->k0) ? (double)c->compared[i * MANY + l] : (double)(s->k1 - s->k0 - i); // all is evidence
}

// The correlation of the evidence in one stretch, each lag normalised by how much evidence it compares.
static void salience_of(const correlogram *c, size_t l, float *row) {
  const stretch *s = &c->stretches[l];
  memset(row, 0, c->n_lags * sizeof *row);
  if (!(s->n_evident > 0)) return;
  const double power = (double)c->products[l] / compared_at(c, l, 0);
  for (size_t j = 0; j < c->n_lags && power > 0; j++) {
    const size_t i = (size_t)c->lag_n[j];
    if (i + 1 >= s->k1 - s->k0) break;
    const double w = c->lag_n[j] - (double)i, compared = (1 - w) * compared_at(c, l, i) + w * compared_at(c, l, i + 1);
    if (compared < 0.15 * s->n_evident) continue;
    const double r = ((1 - w) * (double)c->products[i * MANY + l] + w * (double)c->products[(i + 1) * MANY + l]) / compared / power;
    row[j] = r > 0 ? (float)(r * r) : 0.0f;
  }
}

// The best path through the salience plane by dynamic programming.
static int best_path(const correlogram *c, const gn_period_settings *s, gn_period_path *path) {
  const size_t nw = c->n_windows, nl = c->n_lags;
  float *score = gn_new(2 * nl, sizeof *score);
  short *from = gn_new(nw * nl, sizeof *from);
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
    for (size_t j = 0; j < nl; j++) {
      float best = w ? last[j] : 0;
      short move = 0;
      for (size_t d = 1; w && d <= s->steps_most; d++) {
        const float cost = (float)(s->step_cost * (double)d);
        if (j >= d && last[j - d] - cost > best) best = last[j - d] - cost, move = (short)-(int)d;
        if (j + d < nl && last[j + d] - cost > best) best = last[j + d] - cost, move = (short)d;
      }
      now[j] = best + c->salience[w * nl + j];
      from[w * nl + j] = move;
    }
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
  for (size_t w = 0; w < c.n_windows; w += MANY) {
    correlate(&c, f, w);
    for (size_t l = 0; l < MANY && w + l < c.n_windows; l++) salience_of(&c, l, c.salience + (w + l) * c.n_lags);
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
