// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/repeat.h"

#include <math.h>
#include <stdlib.h>

#include "base/dot.h"
#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "base/wide.h"

#define LEAD_S 0.020     // of the stretch that is compared, before the onset
#define REACH_S 0.015    // furthest a sound is moved from its onset to agree: onsets are found to some 5 ms
#define SLACK_S 0.010    // from a frame, within which the best agreement is that frame's: frames are 10 ms apart
#define ROUNDS 4         // alignments against the average
#define SOUNDS_LEAST 6   // before their agreement has a median and a spread
#define PLACES_LEAST 50  // the same for what lies between them
#define WEIGHT_LEAST 0.0025 // of a sound in the average, against 1 for one that agrees wholly
#define SPREAD_LEAST 0.10   // of Fisher's z: what few sounds leave unknown
#define SQUARE_LEAST 1e-30 // of a stretch: digital silence
#define AGREEMENT_MOST 0.999 // where Fisher's z is cut
// A burst of breath or gut agrees better with a sound than the steady noise does between which it stands: 125 invented beats of
// 400 simulated recordings lay at this many spreads over its median, and spread so much more.
#define BURST_OVER 1.5
#define BURST_SPREADS 2.2
#define STRAY_SHARE 0.005  // of sounds, and of bursts, that agree in no particular measure: bounds what one sound can tell
#define STRAY_DENSITY 0.25 // of those, even over four units of Fisher's z
// What the waveform says is weighed by how far sounds and bursts lie apart, in spreads: below the first nothing, from the second on in
// full. Chosen on 345 simulated recordings of two simulators, in one of which no two beats have the same waveform.
#define APART_LEAST 1.0
#define APART_WHOLE 3.0
#define WEIGHT_MOST 1.5 // one frame's levels count little in the decoder, for neighbours are alike: this holds its own against a sound's

typedef struct stretch {
  const gn_features *f;
  const double *energy; // running sum of the wave's squares: samples a .. b-1 give energy[b] - energy[a]
  size_t len_n, n_frames; // what is compared: wave samples, frames
  float *shape;         // len_n: sum of the sounds, each scaled to unit energy and weighted
  double shape_square;  // sum of its squares
  double shape_norm;    // the root of it
} stretch;

typedef struct likeness { double median, spread; } likeness; // of Fisher's z

// Room that both kinds of sound use in turn.
typedef struct room {
  double *energy, *by_frame, *between; // n_wave + 1; frames; frames
  float *shape, *agreement;            // a sound; by wave sample, with room for 2 SLACK_S ahead
  long *at;                            // by beat: where its stretch begins
  double *weight, *z;                  // by beat: in the average; Fisher's z of its agreement
} room;

static double fisher(double agreement) {
  const double x = gn_min(AGREEMENT_MOST, gn_max(-AGREEMENT_MOST, agreement));
  return 0.5 * gn_log((1 + x) / (1 - x));
}

static double per_frame(const gn_features *f) { return f->wave_rate_hz / f->rate_hz; }

static bool inside(const stretch *s, long at) { return at >= 0 && (size_t)at + s->len_n <= s->f->n_wave; }

static double norm_at(const stretch *s, long at) {
  const double *e = s->energy + at;
  return sqrt(gn_max(e[s->len_n] - e[0], SQUARE_LEAST));
}

// Correlation of the wave from a sample on with the average, but for what own (this very stretch's weight) brings to it.
static double agreement(const stretch *s, long at, double own) {
  const double xy = gn_dot(s->shape, s->f->wave + at, s->len_n) / norm_at(s, at);
  if (!(own > 0)) return s->shape_square > 0 ? xy / s->shape_norm : 0;
  const double rest = s->shape_square - 2 * own * xy + own * own;
  return rest > 1e-12 * s->shape_square ? (xy - own) / sqrt(rest) : 0;
}

static void average(stretch *s, const long *at, const double *weight, size_t n) {
  for (size_t k = 0; k < s->len_n; k++) s->shape[k] = 0;
  for (size_t i = 0; i < n; i++) {
    const float scale = (float)(weight[i] / norm_at(s, at[i]));
    for (size_t k = 0; k < s->len_n; k++) s->shape[k] += scale * s->f->wave[(size_t)at[i] + k];
  }
  s->shape_square = gn_dot(s->shape, s->shape, s->len_n);
  s->shape_norm = sqrt(s->shape_square);
}

// Where around a stretch the wave agrees best with the other sounds, and how well.
static double best_around(const stretch *s, long at, double own, long reach, long *best_at) {
  double best = -2;
  for (long d = -reach; d <= reach; d++) {
    if (!inside(s, at + d)) continue;
    const double c = agreement(s, at + d, d == 0 ? own : 0);
    if (c > best) best = c, *best_at = at + d;
  }
  return best;
}

// Move each sound to where it agrees best, and let it count by how well it does. In the last round nothing moves any more: it is
// measured how each agrees with the average of all others.
static void align(stretch *s, room *r, size_t n) {
  const long reach = (long)(REACH_S * s->f->wave_rate_hz);
  for (size_t i = 0; i < n; i++) r->weight[i] = 1;
  for (int round = 0; round < ROUNDS; round++) {
    average(s, r->at, r->weight, n);
    for (size_t i = 0; i < n; i++) {
      long to = r->at[i];
      const double c = best_around(s, to, r->weight[i], reach, &to);
      r->z[i] = fisher(c);
      if (round + 1 == ROUNDS) continue;
      r->at[i] = to;
      if (round > 0) r->weight[i] = gn_max(WEIGHT_LEAST, c > 0 ? c * c : 0);
    }
  }
}

// Reorders z, and overwrites it.
static likeness likeness_of(double *z, size_t n) {
  const double median = gn_median(z, n);
  return (likeness){median, gn_max(SPREAD_LEAST, gn_robust_sd(z, n, median))};
}

static void densities(const likeness *l, double *z, size_t n) {
  for (size_t i = 0; i < n; i++) {
    const double u = (z[i] - l->median) / l->spread;
    z[i] = -0.5 * u * u;
  }
  gn_exp_many(z, n);
  for (size_t i = 0; i < n; i++) z[i] = (1 - STRAY_SHARE) * 0.3989422804014327 / l->spread * z[i] + STRAY_SHARE * STRAY_DENSITY;
}

// Whether a sound that begins at a frame would lie on clean frames only.
static bool clean(const stretch *s, long frame) {
  if (frame < 0 || (size_t)frame + s->n_frames > s->f->n) return false;
  for (size_t i = 0; i < s->n_frames; i++)
    if (s->f->spoilt[(size_t)frame + i]) return false;
  return true;
}

// The clean sounds of a kind. *offset: the usual way from a sound's frame to where its stretch begins, wave samples.
static size_t gather(const stretch *s, const gn_candidate *c, bool second, const gn_sound_times *times, room *r, double *offset) {
  const double fs_hz = s->f->wave_rate_hz;
  const long reach = (long)(ROUNDS * REACH_S * fs_hz);
  size_t n = 0;
  for (size_t i = 0; i < c->n_beats; i++) {
    const long frame = gn_beat_frame(&c->beats[i], second);
    if (!isfinite(times[i].onset_s) || !clean(s, frame)) continue;
    const long at = (long)floor((times[i].onset_s - LEAD_S) * fs_hz + 0.5);
    if (!inside(s, at - reach) || !inside(s, at + reach)) continue;
    r->z[n] = (double)at - (double)frame * per_frame(s->f);
    r->at[n++] = at;
  }
  *offset = n ? gn_median(r->z, n) : 0;
  return n;
}

// Beats are in order of time: *next moves on.
static bool between_sounds(const gn_candidate *c, long frame, long room_n, size_t *next) {
  while (*next < c->n_beats && c->beats[*next].s2 + room_n <= frame) ++*next;
  for (size_t i = *next; i < c->n_beats && c->beats[i].s1 - room_n < frame; i++)
    if (labs(frame - c->beats[i].s1) < room_n || labs(frame - c->beats[i].s2) < room_n) return false;
  return true;
}

// Products of the shape with the wave from each of n samples on, sixty-four at once: a sum waits for its own last step, and so many keep a
// processor busy meanwhile.
GN_WIDE static void slide(const float *restrict shape, size_t len, const float *restrict wave, size_t n, float *restrict out) {
  enum { LANES = 64 };
  size_t i = 0;
  for (; i + LANES <= n; i += LANES) {
    float sum[LANES] = {0};
    for (size_t k = 0; k < len; k++)
      for (size_t j = 0; j < LANES; j++) sum[j] += shape[k] * wave[i + j + k];
    for (size_t j = 0; j < LANES; j++) out[i + j] = sum[j];
  }
  for (; i < n; i++) {
    out[i] = 0;
    for (size_t k = 0; k < len; k++) out[i] += shape[k] * wave[i + k];
  }
}

// Each over the norm of the stretch it was taken with, as norm_at gives it.
GN_WIDE static void divide(float *restrict out, const double *restrict energy, size_t len, float scale, size_t n) {
  for (size_t i = 0; i < n; i++) {
    const float square = (float)(energy[i + len] - energy[i]);
    out[i] = out[i] * scale / sqrtf(square > (float)SQUARE_LEAST ? square : (float)SQUARE_LEAST);
  }
}

// The agreement with the average of the wave from every sample on, as far as it is inside.
static size_t agree_everywhere(const stretch *s, float *out) {
  const size_t n = s->f->n_wave >= s->len_n ? s->f->n_wave - s->len_n + 1 : 0;
  slide(s->shape, s->len_n, s->f->wave, n, out);
  divide(out, s->energy, s->len_n, (float)(1 / sqrt(gn_max(s->shape_square, SQUARE_LEAST))), n);
  return n;
}

// Of each the largest among it and so many behind it, in place: what is known of a stretch tells of one twice as long.
GN_WIDE static void take_largest(float *x, size_t n, size_t more) {
  for (size_t width = 1, step; width <= more; width += step) {
    step = width < more + 1 - width ? width : more + 1 - width;
    for (size_t i = 0; i + step < n; i++) x[i] = x[i + step] > x[i] ? x[i + step] : x[i];
  }
}

enum { MANY = 256 }; // frames at once

static void fisher_many(double *x, size_t n) {
  for (size_t i = 0; i < n; i++) {
    const double c = x[i] > AGREEMENT_MOST ? AGREEMENT_MOST : x[i] < -AGREEMENT_MOST ? -AGREEMENT_MOST : x[i];
    x[i] = (1 + c) / (1 - c);
  }
  gn_log_many(x, n);
  for (size_t i = 0; i < n; i++) x[i] *= 0.5;
}

// The best agreement within SLACK_S of every frame's place; NaN where something is spoilt, or outside.
static void agree_by_frame(const stretch *s, double offset, room *r) {
  const long slack = (long)(SLACK_S * s->f->wave_rate_hz);
  for (long i = 0; i < 2 * slack; i++) r->agreement[i] = -2; // ahead of the first place
  const size_t n = (size_t)(2 * slack) + agree_everywhere(s, r->agreement + 2 * slack);
  take_largest(r->agreement, n, (size_t)(2 * slack));
  const long first = (long)floor(offset + 0.5) + slack, step = (long)per_frame(s->f); // whole
  size_t clean_from = 0, seen = 0;
  for (size_t k = 0; k < s->f->n; k++) {
    for (; seen < k + s->n_frames && seen < s->f->n; seen++)
      if (s->f->spoilt[seen]) clean_from = seen + 1;
    const long at = first + (long)k * step;
    const bool there = k >= clean_from && k + s->n_frames <= s->f->n && at >= 0 && at < (long)n && r->agreement[at] >= -1;
    r->by_frame[k] = there ? (double)r->agreement[at] : (double)NAN;
  }
}

// Fisher's z of every frame's agreement; into r->between those of frames clear of every sound.
static size_t compare(const stretch *s, const gn_candidate *c, double offset, room *r) {
  size_t n = 0, next = 0;
  agree_by_frame(s, offset, r);
  fisher_many(r->by_frame, s->f->n);
  for (long k = 0; k < (long)s->f->n; k++)
    if (!isnan(r->by_frame[k]) && between_sounds(c, k, (long)s->n_frames, &next)) r->between[n++] = r->by_frame[k];
  return n;
}

// Add what each frame's agreement says to the scores. Better than sounds agree is no better than as they do, and likewise below bursts.
static bool add(const stretch *s, const likeness *sound, const likeness *burst, const double *z, float *scores) {
  const double spread = sqrt(0.5 * (sound->spread * sound->spread + burst->spread * burst->spread));
  const double apart = (sound->median - burst->median) / spread;
  const double weight = WEIGHT_MOST * gn_min(1, (apart - APART_LEAST) / (APART_WHOLE - APART_LEAST));
  if (!(weight > 0)) return false;
  for (size_t k = 0; k < s->f->n; k += MANY) {
    double as_sound[MANY] = {0}, as_burst[MANY] = {0};
    const size_t n = s->f->n - k < MANY ? s->f->n - k : MANY;
    for (size_t i = 0; i < n; i++) {
      as_sound[i] = z[k + i] < sound->median ? z[k + i] : sound->median;
      as_burst[i] = z[k + i] > burst->median ? z[k + i] : burst->median;
    }
    densities(sound, as_sound, n);
    densities(burst, as_burst, n);
    for (size_t i = 0; i < n; i++) as_sound[i] /= as_burst[i];
    gn_log_many(as_sound, n);
    for (size_t i = 0; i < n; i++)
      if (!isnan(z[k + i])) scores[k + i] += (float)(weight * as_sound[i]);
  }
  return true;
}

static bool tell(gn_hearing *h, const gn_candidate *c, bool second, const gn_sound_times *times, room *r) {
  const gn_features *f = h->f;
  const double len_s = second ? h->profile->s2_length_s : h->profile->s1_length_s;
  stretch s = {f, r->energy, (size_t)((LEAD_S + len_s) * f->wave_rate_hz), (size_t)(len_s * f->rate_hz), r->shape, 0, 0};
  double offset;
  const size_t n = gather(&s, c, second, times, r, &offset);
  if (n < SOUNDS_LEAST) return false;
  align(&s, r, n);
  const size_t n_between = compare(&s, c, offset, r);
  if (n_between < PLACES_LEAST) return false;
  const likeness sound = likeness_of(r->z, n);
  likeness burst = likeness_of(r->between, n_between);
  burst.median += BURST_OVER * burst.spread;
  burst.spread *= BURST_SPREADS;
  return add(&s, &sound, &burst, r->by_frame, (second ? h->scores.s2 : h->scores.s1) + h->scores.pad);
}

static int make_room(room *r, const gn_hearing *h, size_t n_beats) {
  const gn_features *f = h->f;
  const double longest_s = LEAD_S + gn_max(h->profile->s1_length_s, h->profile->s2_length_s);
  *r = (room){.energy = gn_room(f->n_wave + 1, sizeof(double)), .by_frame = gn_room(2 * f->n, sizeof(double))};
  r->shape = gn_new((size_t)(longest_s * f->wave_rate_hz) + 1, sizeof(float));
  r->agreement = gn_room(f->n_wave + 2 * (size_t)(SLACK_S * f->wave_rate_hz), sizeof(float));
  r->at = gn_new(n_beats, sizeof(long));
  r->weight = gn_new(2 * n_beats, sizeof(double));
  if (!r->energy || !r->by_frame || !r->shape || !r->agreement || !r->at || !r->weight) return -1;
  r->between = r->by_frame + f->n;
  r->z = r->weight + n_beats;
  r->energy[0] = 0;
  for (size_t k = 0; k < f->n_wave; k++) r->energy[k + 1] = r->energy[k] + (double)f->wave[k] * (double)f->wave[k];
  return 0;
}

int gn_repeat_score(gn_hearing *h, const gn_candidate *c, const gn_sound_times *first, const gn_sound_times *second, bool *told) {
  *told = false;
  if (!h->f->wave) return 0;
  room r;
  const int bad = make_room(&r, h, c->n_beats);
  if (!bad) {
    const bool told1 = tell(h, c, false, first, &r), told2 = tell(h, c, true, second, &r);
    *told = told1 || told2;
  }
  gn_free(r.energy);
  gn_free(r.by_frame);
  gn_free(r.shape);
  gn_free(r.agreement);
  gn_free(r.at);
  gn_free(r.weight);
  return bad;
}
