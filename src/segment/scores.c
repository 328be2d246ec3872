// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// How well every frame of a window fits a model. A template is held against all frames at once, one of its places after the other: plain
// loops over neighbouring frames, which a compiler may keep in vector registers, to the same bits on every processor.
#include "segment/model.h"

#include <math.h>

#include "base/memory.h"
#include "base/wide.h"

// Chosen on simulated recordings (see docs/pipeline.md): neighbouring frames share most of their noise, so a frame's
// evidence counts for about a third; one frame can never outweigh the rest.
#define FRAME_WEIGHT 0.35
#define DISTANCE_MOST 14.0     // squared Mahalanobis distance, per frame

#define EDGE GN_TEMPLATE_MOST  // frames of nothing ahead of the padding and behind it, for a template that reaches over it
#define NOTHING 1e6f           // a whitened level so far from any template that the frame's distance is DISTANCE_MOST
enum { BLOCK = 512 };          // frames a template is held against before the next ones are: they stay in the nearest cache

int gn_scores_init(gn_scores *s, size_t n, size_t pad) {
  *s = (gn_scores){.n = n, .pad = pad};
  const size_t all = n + 2 * pad;
  s->s1 = gn_new(all, sizeof(float));
  s->s2 = gn_new(all, sizeof(float));
  s->systole = gn_new(all + 1, sizeof(double));
  s->u = gn_room(all + 2 * EDGE, sizeof(float));
  s->v = gn_room(all + 2 * EDGE, sizeof(float));
  s->over = gn_room(all + 2 * EDGE + 1, sizeof(double));
  return s->s1 && s->s2 && s->systole && s->u && s->v && s->over ? 0 : -1;
}

void gn_scores_clear(gn_scores *s) {
  gn_free(s->s1);
  gn_free(s->s2);
  gn_free(s->systole);
  gn_free(s->u);
  gn_free(s->v);
  gn_free(s->over);
  *s = (gn_scores){0};
}

// -2 log likelihood of a frame, but for a constant; one frame can never weigh more than DISTANCE_MOST.
static double distance(const gn_spread *s, const gn_features *f, size_t k, const float *mean) {
  const double x = (double)(f->level_db[0][k] - mean[0]), y = (double)(f->level_db[1][k] - mean[1]);
  const double u = s->whiten[0] * x, v = s->whiten[1] * x + s->whiten[2] * y, d = u * u + v * v;
  return (d < DISTANCE_MOST ? d : DISTANCE_MOST) + s->log_det;
}

static void whiten(const gn_spread *s, const float *level, float *u, float *v) {
  *u = (float)(s->whiten[0] * (double)level[0]);
  *v = (float)(s->whiten[1] * (double)level[0] + s->whiten[2] * (double)level[1]);
}

// The levels whitened, and what diastole and systole are worth in every frame. A frame without evidence is as far from everything.
static void score_levels(const gn_model *m, const gn_features *f, gn_scores *s) {
  const size_t first = s->pad + EDGE, last = first + f->n, all = s->n + 2 * s->pad;
  double total = 0, systole = 0, over = 0;
  for (size_t i = 0; i < first; i++) s->u[i] = s->v[i] = NOTHING, s->over[i] = 0;
  for (size_t i = 0; i <= s->pad; i++) s->systole[i] = 0;
  for (size_t k = 0; k < f->n; k++) {
    s->over[first + k] = over;
    if (f->spoilt[k]) {
      s->u[first + k] = s->v[first + k] = NOTHING;
    } else {
      const float level[GN_N_BANDS] = {f->level_db[0][k], f->level_db[1][k]};
      const double diastole = distance(&m->quiet, f, k, m->diastole);
      whiten(&m->sound, level, &s->u[first + k], &s->v[first + k]);
      total += diastole;
      over += diastole - m->sound.log_det - DISTANCE_MOST;
      systole += 0.5 * FRAME_WEIGHT * (diastole - distance(&m->quiet, f, k, m->systole));
    }
    s->systole[s->pad + k + 1] = systole;
  }
  for (size_t i = last; i < all + 2 * EDGE; i++) s->u[i] = s->v[i] = NOTHING, s->over[i] = over;
  s->over[all + 2 * EDGE] = over;
  for (size_t i = f->n + s->pad + 1; i <= all; i++) s->systole[i] = systole;
  s->diastole_total = -0.5 * FRAME_WEIGHT * total;
}

// A template as it is held against the frames: whitened.
typedef struct shape { size_t n; float u[GN_TEMPLATE_MOST], v[GN_TEMPLATE_MOST]; } shape;

// By how much one place of a template is nearer than DISTANCE_MOST to each of n frames.
GN_WIDE_PART void add_place(float *restrict sum, const float *restrict u, const float *restrict v, float at_u, float at_v, size_t n) {
  for (size_t i = 0; i < n; i++) {
    const float a = u[i] - at_u, b = v[i] - at_v, nearer = (float)DISTANCE_MOST - (a * a + b * b);
    sum[i] += nearer > 0 ? nearer : 0;
  }
}

// The most that any of n_shapes of one length is nearer, for n onsets from padded frame i on.
GN_WIDE_PART void nearest(const gn_scores *s, const shape *shapes, size_t n_shapes, size_t i, size_t n, float *restrict most) {
  const size_t first = i + EDGE - GN_TEMPLATE_LEAD;
  float sum[BLOCK];
  for (size_t q = 0; q < n_shapes; q++) {
    for (size_t k = 0; k < n; k++) sum[k] = 0;
    for (size_t k = 0; k < shapes[q].n; k++) add_place(sum, s->u + first + k, s->v + first + k, shapes[q].u[k], shapes[q].v[k], n);
    for (size_t k = 0; k < n; k++) most[k] = q == 0 || sum[k] > most[k] ? sum[k] : most[k];
  }
}

// Evidence for a sound with its onset at each frame, against diastole: the best of the shapes, each as likely.
GN_WIDE static void fit(const gn_scores *s, const shape *shapes, size_t n_shapes, float *out) {
  const size_t all = s->n + 2 * s->pad, len = shapes[0].n;
  const double log_guesses = n_shapes > 1 ? 2.302585092994046 : 0; // ln 10
  float most[BLOCK];
  for (size_t i = 0; i < all; i += BLOCK) {
    const size_t n = all - i < BLOCK ? all - i : BLOCK;
    const double *over = s->over + i + EDGE - GN_TEMPLATE_LEAD;
    nearest(s, shapes, n_shapes, i, n, most);
    for (size_t k = 0; k < n; k++) out[i + k] = (float)(0.5 * FRAME_WEIGHT * ((over[k + len] - over[k]) + (double)most[k]) - log_guesses);
  }
}

static shape learnt_shape(const gn_model *m, const float tmpl[][GN_N_BANDS], size_t n) {
  shape out = {.n = n};
  for (size_t k = 0; k < n; k++) whiten(&m->sound, tmpl[k], &out.u[k], &out.v[k]);
  return out;
}

// A bump scaled by gain and stretched by width.
static shape bump_shape(const gn_model *m, const float tmpl[][GN_N_BANDS], size_t n, const float *gain, double width) {
  shape out = {.n = n};
  for (size_t k = 0; k < n; k++) {
    const double past = (double)k - GN_TEMPLATE_LEAD, from = past > 0 ? GN_TEMPLATE_LEAD + past / width : (double)k;
    const size_t i = (size_t)(from + 0.5);
    float mean[GN_N_BANDS];
    for (size_t b = 0; b < GN_N_BANDS; b++) mean[b] = m->diastole[b] + (i < n ? gain[b] * (tmpl[i][b] - m->diastole[b]) : 0.0f);
    whiten(&m->sound, mean, &out.u[k], &out.v[k]);
  }
  return out;
}

// Before anything is learnt a sound may be loud or soft, high or low, long or short: the best of a few, each one guess.
enum { GUESSES = 10 };
static void fit_free(const gn_model *m, const gn_scores *s, const float tmpl[][GN_N_BANDS], size_t n, float *out) {
  static const float GAINS[GUESSES / 2][GN_N_BANDS] = {{0.45f, 0.45f}, {0.7f, 0.7f}, {1, 1}, {0.3f, 0.8f}, {0.8f, 0.3f}};
  static const double WIDTHS[2] = {0.6, 1.0};
  shape shapes[GUESSES];
  for (size_t q = 0; q < GUESSES; q++) shapes[q] = bump_shape(m, tmpl, n, GAINS[q / 2], WIDTHS[q % 2]);
  fit(s, shapes, GUESSES, out);
}

bool gn_model_alike(const gn_model *a, const gn_model *b) { return a->generic && b->generic && a->n_s1 == b->n_s1 && a->n_s2 == b->n_s2; }

void gn_model_score(const gn_model *m, const gn_features *f, gn_scores *out) {
  out->generic = m->generic;
  out->after_s1_n = m->n_s1 - GN_TEMPLATE_LEAD;
  score_levels(m, f, out);
  if (m->generic) {
    fit_free(m, out, m->s1, m->n_s1, out->s1);
    fit_free(m, out, m->s2, m->n_s2, out->s2);
  } else {
    const shape first = learnt_shape(m, m->s1, m->n_s1), second = learnt_shape(m, m->s2, m->n_s2);
    fit(out, &first, 1, out->s1);
    fit(out, &second, 1, out->s2);
  }
}
