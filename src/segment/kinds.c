// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/kinds.h"

#include <math.h>

#include "base/dot.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "segment/timing.h"

#define LEAD_S 0.020     // of the stretch that is compared, before the onset
#define REACH_S 0.015    // furthest one sound is moved to agree with another: onsets are found to some 5 ms
#define SOUNDS_LEAST 12  // before their share means anything
#define BEATS_MOST 80    // held against each other: the work grows with their square
#define PAIRS_LEAST 5    // of sounds, before their agreement has a middle: a choice
#define SQUARE_LEAST 1e-30 // of a stretch: digital silence

typedef struct sound {
  long at;       // where its stretch begins, wave samples
  bool second;
  double like[2]; // how far it agrees with the one most like it: of its own name, of the other
} sound;

typedef struct wave_view { const float *wave; size_t len_n; long reach_n; } wave_view;

static bool clean(const gn_features *f, long frame, double len_s) {
  const long end = frame + (long)(len_s * f->rate_hz);
  if (frame < 0 || end >= (long)f->n) return false;
  for (long k = frame; k < end; k++)
    if (f->spoilt[k]) return false;
  return true;
}

// The clean sounds of every beat, or of as many of them, evenly taken.
static size_t gather(const gn_hearing *h, const gn_candidate *c, const wave_view *v, double len_s, sound *sounds) {
  const size_t step = (c->n_beats + BEATS_MOST - 1) / BEATS_MOST;
  size_t n = 0;
  for (size_t i = 0; i < c->n_beats; i += step)
    for (size_t k = 0; k < 2; k++) {
      const double onset_s = c->times[k * c->n_beats + i].onset_s;
      if (!isfinite(onset_s) || !clean(h->f, gn_beat_frame(&c->beats[i], k), len_s)) continue;
      const long at = (long)floor((onset_s - LEAD_S) * h->f->wave_rate_hz + 0.5);
      if (at < v->reach_n || at + (long)v->len_n + v->reach_n > (long)h->f->n_wave) continue;
      sounds[n++] = (sound){at, k == 1, {-1, -1}};
    }
  return n;
}

static double norm(const wave_view *v, long at) { return sqrt(fmax(gn_dot(v->wave + at, v->wave + at, v->len_n), SQUARE_LEAST)); }

// norms: of b's stretch at every place it may be moved to.
static double agreement(const wave_view *v, long a, double norm_a, long b, const double *norms) {
  double best = -1;
  for (long d = -v->reach_n; d <= v->reach_n; d++)
    best = fmax(best, gn_dot(v->wave + a, v->wave + b + d, v->len_n) / (norm_a * norms[d + v->reach_n]));
  return best;
}

static void norms_around(const wave_view *v, long at, double *norms) {
  for (long d = -v->reach_n; d <= v->reach_n; d++) norms[d + v->reach_n] = norm(v, at + d);
}

static void compare(const wave_view *v, sound *sounds, size_t n, double *norms) {
  for (size_t i = 1; i < n; i++) {
    norms_around(v, sounds[i].at, norms);
    for (size_t j = 0; j < i; j++) {
      const double like = agreement(v, sounds[j].at, norm(v, sounds[j].at), sounds[i].at, norms);
      const size_t other = sounds[i].second != sounds[j].second;
      sounds[i].like[other] = fmax(sounds[i].like[other], like);
      sounds[j].like[other] = fmax(sounds[j].like[other], like);
    }
  }
}

static void mix(const sound *sounds, size_t n, gn_kinds *out) {
  double likeness = 0;
  size_t mixed = 0;
  for (size_t i = 0; i < n; i++) {
    likeness += fmax(sounds[i].like[0], sounds[i].like[1]);
    mixed += sounds[i].like[1] > sounds[i].like[0];
  }
  out->mixed_share = (double)mixed / (double)n;
  out->likeness = likeness / (double)n;
}

// Of the sounds of one name, how far each agrees with the one so many behind it, in the middle; -1 of few.
static double usual_agreement(const wave_view *v, const sound *sounds, size_t n, bool second, size_t behind, double *norms) {
  double like[BEATS_MOST];
  long own[BEATS_MOST];
  size_t n_own = 0, n_like = 0;
  for (size_t i = 0; i < n; i++)
    if (sounds[i].second == second) own[n_own++] = sounds[i].at;
  for (size_t i = 0; i + behind < n_own; i++) {
    norms_around(v, own[i], norms);
    like[n_like++] = agreement(v, own[i + behind], norm(v, own[i + behind]), own[i], norms);
  }
  return n_like >= PAIRS_LEAST ? gn_median(like, n_like) : -1;
}

static double otherwise(const wave_view *v, const sound *sounds, size_t n, double *norms) {
  double most = -1;
  for (int second = 0; second < 2; second++)
    for (size_t behind = 1; behind <= 2; behind++) most = fmax(most, usual_agreement(v, sounds, n, second, behind, norms));
  return most > -1 ? 1 - most : 0;
}

int gn_kinds_measure(const gn_hearing *h, gn_candidate *c, bool mixed, gn_kinds *out) {
  *out = (gn_kinds){0};
  if (!h->f->wave) return 0;
  const double len_s = h->profile->s1_length_s, fs_hz = h->f->wave_rate_hz;
  const wave_view v = {h->f->wave, (size_t)((LEAD_S + len_s) * fs_hz), (long)(REACH_S * fs_hz)};
  sound *sounds = gn_new(2 * BEATS_MOST, sizeof *sounds);
  double *norms = gn_new(2 * (size_t)v.reach_n + 1, sizeof *norms);
  const int bad = !sounds || !norms || gn_timing_find(h, c) ? -1 : 0;
  if (!bad) {
    const size_t n = gather(h, c, &v, len_s, sounds);
    out->otherwise = otherwise(&v, sounds, n, norms);
    if (mixed && n >= SOUNDS_LEAST) {
      compare(&v, sounds, n, norms);
      mix(sounds, n, out);
    }
  }
  gn_free(sounds);
  gn_free(norms);
  return bad;
}
