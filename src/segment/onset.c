// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/onset.h"

#include <limits.h>
#include <math.h>

#include "base/dot.h"
#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "base/wide.h"

#define BEFORE_S 0.080    // stretch before a sound that shows its background
#define REACH_S 0.045     // furthest a sound is moved from where the decoder put it: half its tolerance
#define LEAST_N 4         // fine samples of a sound that are always looked at
#define ROUNDS 3          // alignments against the average, which sharpens each time
#define ONSET_SHARE 0.15  // the onset: where the average amplitude has risen this share of the way to its peak; the
                          // smoothing (20 ms, half amplitude at 5 ms) spreads a sudden rise about that far ahead
// A peak ahead of the loudest one is the sound's own where it stands so far out. Chosen on 3000 simulated recordings: of 14 such averages it was in 13.
#define FIRST_STANDS_DB 5.0 // over what precedes it
#define FIRST_APART_DB 4.0  // over what lies between it and the loudest
#define FIRST_WITHIN_S 0.060 // of where the decoder put the sound
#define OFFSET_DB 14.0    // the offset: where the average level is this far under its peak, or 2 dB over the background

typedef struct profile {
  size_t before_n, len_n, reach_n, first_n; // fine samples
  float *mean;                     // len_n: average level, dB
  float *level;                    // whole window's level, dB
  double *shift;                   // by sound, fine samples
  float *shape, *near;             // len_n: the average less its mean; len_n + 2 reach_n: the level around one sound
  double *products;                // 2 reach_n + 1: of both, by shift
} profile;

static double level_at(const profile *p, size_t n_fine, double at) {
  if (at < 0 || at >= (double)(n_fine - 1)) return NAN;
  const size_t i = (size_t)at;
  return (double)p->level[i] + (at - (double)i) * (double)(p->level[i + 1] - p->level[i]);
}

// The levels around the sounds, as far as any alignment reaches; between them they are not looked at.
static void take_levels(const gn_features *f, profile *p, const long *frame, size_t n) {
  const long reach = (long)p->reach_n + 2;
  long done = 0, before = 0;
  for (size_t i = 0; i < n; i++) {
    if (frame[i] == LONG_MIN) continue;
    if (frame[i] < before) done = 0;
    before = frame[i];
    const long start = (long)((double)frame[i] * f->fine_rate_hz / f->rate_hz) - (long)p->before_n, end = start + (long)p->len_n + reach;
    const long first = start - reach > done ? start - reach : done, last = end < (long)f->n_fine ? end : (long)f->n_fine;
    if (last <= first) continue;
    gn_levels_db(f->fine_power + first, 1e-30f, p->level + first, (size_t)(last - first));
    done = last;
  }
}

static double start_of(const gn_features *f, const profile *p, const long *frame, size_t i) {
  return (double)frame[i] * f->fine_rate_hz / f->rate_hz + p->shift[i] - (double)p->before_n;
}

static bool inside(const gn_features *f, const profile *p, const long *frame, size_t i) {
  if (frame[i] == LONG_MIN || frame[i] < 0 || frame[i] >= (long)f->n || f->spoilt[frame[i]]) return false;
  const double a = start_of(f, p, frame, i);
  return a - (double)p->reach_n >= 0 && a + (double)(p->len_n + p->reach_n) < (double)f->n_fine - 1;
}

// Levels from place a on, each between two neighbours, onto the mean. Where no step of the places is rounded over a sample they lie side by
// side.
GN_WIDE static void add_beside(float *restrict mean, const float *restrict level, double a, int first, int n) {
  for (int k = 0; k < n; k++) {
    const double part = (a + (double)k) - (double)(first + k), here = (double)level[k];
    mean[k] += (float)(here + part * (double)(level[k + 1] - level[k]));
  }
}

static void add_levels(profile *p, size_t n_fine, double a) {
  const size_t first = (size_t)a, last = p->len_n - 1;
  if ((size_t)(a + (double)last) == first + last && a + (double)last < (double)(n_fine - 1)) {
    add_beside(p->mean, p->level + first, a, (int)first, (int)p->len_n);
    return;
  }
  for (size_t k = 0; k < p->len_n; k++) p->mean[k] += (float)level_at(p, n_fine, a + (double)k);
}

// Average level around the sounds as they are aligned now.
static size_t average(const gn_features *f, profile *p, const long *frame, size_t n) {
  size_t used = 0;
  for (size_t k = 0; k < p->len_n; k++) p->mean[k] = 0;
  for (size_t i = 0; i < n; i++) {
    if (!inside(f, p, frame, i)) continue;
    add_levels(p, f->n_fine, start_of(f, p, frame, i));
    used++;
  }
  for (size_t k = 0; k < p->len_n && used; k++) p->mean[k] /= (float)used;
  return used;
}

typedef struct sums { double one, square; } sums;

static sums sums_of(const float *x, size_t n) {
  sums s = {0, 0};
  for (size_t k = 0; k < n; k++) s.one += (double)x[k], s.square += (double)x[k] * (double)x[k];
  return s;
}

static double correlation(sums x, sums y, double xy, double n) {
  const double vx = x.square - x.one * x.one / n, vy = y.square - y.one * y.one / n;
  return vx > 0 && vy > 0 ? (xy - x.one * y.one / n) / sqrt(vx * vy) : 0;
}

// The shift that agrees best with the average, to a fraction of a fine sample by a parabola. The decoder's places lie on fine
// samples, so that nothing is interpolated here, and from one shift to the next the sums over the level lose a sample and win one.
static double align(const gn_features *f, const profile *p, const long *frame, size_t i, sums x, double *agreement) {
  const long first = (long)((double)frame[i] * f->fine_rate_hz / f->rate_hz) - (long)p->before_n - (long)p->reach_n;
  const size_t len = p->len_n, near_n = len + 2 * p->reach_n;
  const bool whole = first >= 0 && (size_t)first + near_n < f->n_fine;
  for (size_t k = 0; k < near_n; k++) p->near[k] = whole ? p->level[first + (long)k] : (float)level_at(p, f->n_fine, (double)(first + (long)k));
  gn_dot_along(p->shape, p->near, len, p->products, 2 * p->reach_n + 1);
  sums y = sums_of(p->near, len);
  double best = -2, at = 0, left = 0, right = 0, before = -2;
  bool peak_next = false;
  for (size_t k = 0; k <= 2 * p->reach_n; k++) {
    const float *here = p->near + k;
    const double d = (double)k - (double)p->reach_n, far = d / (double)p->reach_n;
    const double c = correlation(x, y, p->products[k], (double)len) - 0.08 * far * far; // a mild pull towards the decoder's place
    if (peak_next) right = c, peak_next = false;
    if (c > best) best = c, at = d, left = before, peak_next = true, right = -2;
    before = c;
    if (k == 2 * p->reach_n) break;
    if (!whole) { // at an end of the window: what lies outside is NaN, and no sum that has held it is of use
      y = sums_of(here + 1, len);
      continue;
    }
    const double in = (double)here[len], out = (double)here[0];
    y.one += in - out;
    y.square += in * in - out * out;
  }
  *agreement = best;
  const double curve = left - 2 * best + right;
  return left > -2 && right > -2 && curve < 0 ? at + 0.5 * (left - right) / curve : at;
}

typedef struct landmarks { double onset, peak, offset; } landmarks; // fine samples from the profile's start

// Level before the sound: the middle of the stretch before it.
static double quiet_of(const profile *p) {
  double sorted[256];
  size_t m = 0;
  for (size_t k = 0; k + 4 < p->before_n && m < 256; k++) sorted[m++] = (double)p->mean[k];
  return m ? gn_median(sorted, m) : (double)p->mean[0];
}

static size_t loudest(const profile *p, size_t from, size_t end) {
  size_t peak = from;
  for (size_t k = from; k < end; k++)
    if (p->mean[k] > p->mean[peak]) peak = k;
  return peak;
}

// Where the average rises to this peak.
static double rise_to(const profile *p, size_t peak, double quiet) {
  const double top = gn_exp((double)p->mean[peak] * 0.11512925464970229), floor = gn_exp(quiet * 0.11512925464970229);
  const double want = floor + ONSET_SHARE * (top - floor), want_db = 20 * gn_log10(want);
  size_t k = peak;
  while (k > 0 && (double)p->mean[k] > want_db) k--;
  const double step = k + 1 < p->len_n ? (double)(p->mean[k + 1] - p->mean[k]) : 0;
  return (double)k + (step > 0 ? (want_db - (double)p->mean[k]) / step : 0);
}

// What begins further from where the decoder put the sound than it may be moved is a click, a knock or a second part, louder than the sound itself:
// its own peak lies ahead of that onset. The loudest one where there is none, or where that one has risen over it already.
static size_t own_peak_of(const profile *p, size_t start, size_t loudest_at, double onset, double quiet) {
  if (onset <= (double)(p->before_n + p->reach_n)) return loudest_at;
  const size_t end = (size_t)onset, first = loudest(p, start, end);
  if (first == start || first > p->before_n + p->first_n || (double)p->mean[first] < quiet + FIRST_STANDS_DB) return loudest_at;
  double low = INFINITY;
  for (size_t k = first; k < end; k++) low = fmin(low, (double)p->mean[k]);
  return (double)p->mean[first] - low >= FIRST_APART_DB ? first : loudest_at;
}

static landmarks landmarks_of(const profile *p) {
  const size_t start = p->before_n > 8 ? p->before_n - 8 : 0, main = loudest(p, start, p->len_n);
  const double quiet = quiet_of(p), onset = rise_to(p, main, quiet);
  const size_t peak = own_peak_of(p, start, main, onset, quiet);
  const double end_db = fmax((double)p->mean[peak] - OFFSET_DB, quiet + 2);
  size_t end = peak;
  while (end + 1 < p->len_n && (double)p->mean[end] > end_db) end++;
  return (landmarks){peak == main ? onset : rise_to(p, peak, quiet), (double)(end > main ? main : peak), (double)end};
}

// Where this one sound is loudest, near the average's peak.
static double own_peak(const gn_features *f, const profile *p, double a, const landmarks *l) {
  double best = -INFINITY, at = l->peak;
  for (double k = fmax(l->onset, l->peak - 12); k <= fmin(l->offset, l->peak + 12); k++) {
    const double v = level_at(p, f->n_fine, a + k);
    if (v > best) best = v, at = k;
  }
  return at;
}

static void measure(const gn_features *f, const profile *p, const long *frame, size_t n, gn_sound_times *out) {
  const landmarks l = landmarks_of(p);
  const double fine = f->fine_rate_hz;
  for (size_t i = 0; i < n; i++) {
    if (frame[i] == LONG_MIN) continue;
    const double a = start_of(f, p, frame, i);
    out[i].onset_s = (a + l.onset) / fine;
    out[i].peak_s = (a + (inside(f, p, frame, i) ? own_peak(f, p, a, &l) : l.peak)) / fine;
    out[i].offset_s = (a + l.offset) / fine;
  }
}

int gn_onset_refine(const gn_features *f, const long *frame, size_t n, double sound_len_s, gn_sound_times *out) {
  const double fine = f->fine_rate_hz;
  profile p = {.before_n = (size_t)(BEFORE_S * fine), .reach_n = (size_t)(REACH_S * fine), .first_n = (size_t)(FIRST_WITHIN_S * fine)};
  p.len_n = p.before_n + LEAST_N + (size_t)(1.6 * sound_len_s * fine);
  p.mean = gn_new(p.len_n, sizeof(float));
  p.level = gn_room(f->n_fine, sizeof(float));
  p.shift = gn_new(n, sizeof(double));
  p.shape = gn_new(2 * (p.len_n + p.reach_n), sizeof(float));
  p.near = p.shape + p.len_n;
  p.products = gn_new(2 * p.reach_n + 1, sizeof(double));
  const int ok = p.mean && p.level && p.shift && p.shape && p.products;
  for (size_t i = 0; i < n; i++) out[i] = (gn_sound_times){NAN, NAN, NAN, NAN};
  if (ok) {
    take_levels(f, &p, frame, n);
    for (int round = 0; round < ROUNDS; round++) {
      if (average(f, &p, frame, n) < 2) break;
      const double middle = sums_of(p.mean, p.len_n).one / (double)p.len_n;
      for (size_t k = 0; k < p.len_n; k++) p.shape[k] = (float)((double)p.mean[k] - middle);
      const sums x = sums_of(p.shape, p.len_n);
      for (size_t i = 0; i < n; i++)
        if (inside(f, &p, frame, i)) p.shift[i] = align(f, &p, frame, i, x, &out[i].agreement);
    }
    if (average(f, &p, frame, n) > 0) measure(f, &p, frame, n, out);
  }
  gn_free(p.mean);
  gn_free(p.level);
  gn_free(p.shift);
  gn_free(p.shape);
  gn_free(p.products);
  return ok ? 0 : -1;
}
