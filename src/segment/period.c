// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/period.h"

#include <math.h>
#include <string.h>

#include "base/fft.h"
#include "base/maths.h"
#include "base/memory.h"

gn_lags gn_lags_between(double shortest_s, double longest_s) {
  return (gn_lags){shortest_s, (size_t)(gn_log(longest_s / shortest_s) / GN_PERIOD_STEP) + 1};
}

double gn_lags_s(const gn_lags *lags, double j) { return lags->first_s * gn_exp(j * GN_PERIOD_STEP); }

// Salience of every lag in every window: n_windows rows of lags->n.
typedef struct correlogram {
  size_t n_windows, n_lags;
  float *salience;
  gn_fft *fft;
  size_t n_fft;
  float *x, *mask, *spectrum;
} correlogram;

static int correlogram_init(correlogram *c, const gn_features *f, const gn_lags *lags, size_t len) {
  const size_t longest = (size_t)(gn_lags_s(lags, (double)lags->n) * f->rate_hz) + 2;
  c->n_windows = (size_t)((double)f->n / f->rate_hz) + 1;
  c->n_lags = lags->n;
  c->n_fft = gn_fft_size(len + longest);
  c->fft = gn_fft_new(c->n_fft);
  c->salience = gn_new(c->n_windows * c->n_lags, sizeof(float));
  c->x = gn_new(c->n_fft, sizeof(float));
  c->mask = gn_new(c->n_fft, sizeof(float));
  c->spectrum = gn_new(c->n_fft + 2, sizeof(float));
  return c->fft && c->salience && c->x && c->mask && c->spectrum ? 0 : -1;
}

static void correlogram_clear(correlogram *c) {
  gn_fft_free(c->fft);
  gn_free(c->salience);
  gn_free(c->x);
  gn_free(c->mask);
  gn_free(c->spectrum);
}

static void correlate(correlogram *c, float *x) {
  gn_fft_forward(c->fft, x, c->spectrum);
  for (size_t k = 0; k <= c->n_fft / 2; k++) {
    c->spectrum[2 * k] = c->spectrum[2 * k] * c->spectrum[2 * k] + c->spectrum[2 * k + 1] * c->spectrum[2 * k + 1];
    c->spectrum[2 * k + 1] = 0;
  }
  gn_fft_inverse(c->fft, c->spectrum, x);
}

// The autocorrelation of the evidence in one stretch, each lag normalised by how much evidence it compares.
static void salience_of_window(correlogram *c, const gn_features *f, const gn_lags *lags, size_t k0, size_t k1, float *row) {
  memset(c->x, 0, c->n_fft * sizeof(float));
  memset(c->mask, 0, c->n_fft * sizeof(float));
  double mean = 0, count = 0;
  for (size_t k = k0; k < k1; k++) {
    if (f->spoilt[k]) continue;
    c->mask[k - k0] = 1;
    c->x[k - k0] = f->level_db[0][k] + f->level_db[1][k];
    mean += (double)c->x[k - k0];
    count++;
  }
  memset(row, 0, lags->n * sizeof *row);
  if (count < (double)(k1 - k0) / 4) return; // less than a quarter is evidence: nothing is claimed
  for (size_t k = 0; k < k1 - k0; k++)
    if (c->mask[k] > 0) c->x[k] -= (float)(mean / count);
  correlate(c, c->x);
  if (count < (double)(k1 - k0)) correlate(c, c->mask);
  else // all is evidence
    for (size_t i = 0; i < k1 - k0; i++) c->mask[i] = (float)(k1 - k0 - i);
  const double power = (double)c->x[0] / (double)c->mask[0];
  for (size_t j = 0; j < lags->n && power > 0; j++) {
    const double lag_n = gn_lags_s(lags, (double)j) * f->rate_hz;
    const size_t i = (size_t)lag_n;
    if (i + 1 >= k1 - k0) break;
    const double w = lag_n - (double)i, compared = (1 - w) * (double)c->mask[i] + w * (double)c->mask[i + 1];
    if (compared < 0.15 * count) continue;
    const double r = ((1 - w) * (double)c->x[i] + w * (double)c->x[i + 1]) / compared / power;
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
  for (size_t w = 0; w < c.n_windows; w++) {
    size_t k1 = w * (size_t)f->rate_hz + len / 2;
    if (k1 > f->n) k1 = f->n;
    size_t k0 = k1 > len ? k1 - len : 0;
    if (k1 < len) k1 = len < f->n ? len : f->n; // at the edges the stretch slides inwards, never shrinks
    salience_of_window(&c, f, lags, k0, k1, c.salience + w * c.n_lags);
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
