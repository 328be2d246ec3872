// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// The two components of a split sound overlap for most of their length and no dip parts them. But they do not keep step: the second
// follows the first sooner or later with the breathing, and is softer or louder for itself. So the beats are laid on one another by
// what comes first, and the one movement that explains most of what still differs between them (their first principal component) is
// the second sound, wherever it begins.
#include "segment/moving.h"

#include <math.h>
#include <string.h>

#include "base/biquad.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

#define MOST 64           // beats kept: enough for the components to part, little enough to hold
#define LEAST 5           // beats that tell anything
#define BEFORE_S 0.062    // kept of a beat before and after its onset
#define AFTER_S 0.152
#define PAD_S 0.1         // more on either side, in which the filter settles
#define REACH_S 0.012     // furthest a beat is moved: three times what onsets scatter
#define HORSE_S2_S 0.085  // the figures are those of a horse, whose S2 is this long
#define FIRST_S 0.032     // of the sound that belongs to its first component, for a horse
#define FIRST_LEAST_S 0.006
#define LOOK_S 0.1        // stretch after the onset in which something may move
#define PEAK_FROM_S -0.03 // where the mean sound is loudest, against the onsets
#define PEAK_TO_S 0.06
#define RISE 0.08         // the mean sound's onset, of its peak power
#define SMOOTH_S 0.010
#define SETS_IN 0.25      // a movement sets in at this share of its largest
#define LEAST_GAIN 0.2    // a beat softer than this against the usual one is no measure
#define ROUNDS 4          // of laying the beats on their mean
#define TURNS 60          // of the power iteration, at most
#define SETTLED 1e-7      // it ends where what it finds grows by less than this
static const double BAND_HZ[2] = {30, 200}; // where the components' energy lies, for a horse

struct gn_moving {
  double band_hz[2], first_s, fs_hz;
  size_t piece_n, origin_n;   // samples of a piece; of them before the onset
  float *pieces;              // MOST of piece_n
  size_t n, stride, n_seen;
};

gn_moving *gn_moving_new(double length_s) {
  gn_moving *m = gn_new(1, sizeof *m);
  if (!m) return NULL;
  const double scale = sqrt(HORSE_S2_S / length_s);
  *m = (gn_moving){.band_hz = {BAND_HZ[0] * scale, BAND_HZ[1] * scale}, .first_s = FIRST_LEAST_S + FIRST_S * length_s / HORSE_S2_S, .stride = 1};
  return m;
}

void gn_moving_free(gn_moving *m) {
  if (!m) return;
  gn_free(m->pieces);
  gn_free(m);
}

// Every second one goes: what is left is still spread evenly.
static void thin(gn_moving *m) {
  for (size_t i = 1; 2 * i < m->n; i++) memcpy(m->pieces + i * m->piece_n, m->pieces + 2 * i * m->piece_n, m->piece_n * sizeof *m->pieces);
  m->n = (m->n + 1) / 2;
  m->stride *= 2;
}

static int prepare(gn_moving *m, double fs_hz) {
  m->fs_hz = fs_hz;
  m->origin_n = (size_t)(BEFORE_S * fs_hz);
  m->piece_n = m->origin_n + (size_t)(AFTER_S * fs_hz);
  m->pieces = gn_new(MOST * m->piece_n, sizeof *m->pieces);
  return m->pieces ? 0 : -1;
}

int gn_moving_add(gn_moving *m, const gn_signal *w, double onset_s) {
  if (!m->pieces && prepare(m, w->fs_hz)) return -1;
  const long pad = (long)(PAD_S * w->fs_hz), at = lround((onset_s - w->start_s) * w->fs_hz) - (long)m->origin_n - pad;
  const size_t n = m->piece_n + 2 * (size_t)pad;
  if (at < 0 || (size_t)at + n > w->n || m->n_seen++ % m->stride) return 0;
  float *x = gn_new(n, sizeof *x);
  if (!x) return -1;
  for (size_t i = 0; i < n; i++) x[i] = isfinite(w->samples[(size_t)at + i]) ? w->samples[(size_t)at + i] : 0;
  gn_biquad band[2];
  gn_biquad_bandpass(band, m->band_hz[0], m->band_hz[1], w->fs_hz);
  const int refused = gn_biquad_zero_phase(band, 2, x, x, n);
  if (!refused) memcpy(m->pieces + m->n++ * m->piece_n, x + pad, m->piece_n * sizeof *x);
  if (m->n == MOST) thin(m);
  gn_free(x);
  return refused;
}

// ---- laying the beats on one another

typedef struct view {
  const gn_moving *m;
  size_t from, n;      // of a piece: what is looked at, with room to move on both sides
  size_t onset, first; // the mean sound's onset, and the end of what belongs to its first component
  double *shift, *gain; // by beat
  double *mean, *smooth, *kernel;
  size_t kernel_n;
} view;

// The piece at a fraction of a sample, by a cubic through its neighbours (Catmull and Rom 1974).
static double at(const float *x, double place) {
  const double whole = floor(place), u = place - whole;
  const float *p = x + (size_t)whole;
  const double a = (double)p[-1], b = (double)p[0], c = (double)p[1], d = (double)p[2];
  return b + 0.5 * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)));
}

static double sample(const view *v, size_t beat, size_t k) { return at(v->m->pieces + beat * v->m->piece_n, (double)(v->from + k) + v->shift[beat]); }

static void average(view *v, bool scaled) {
  memset(v->mean, 0, v->n * sizeof *v->mean);
  for (size_t i = 0; i < v->m->n; i++)
    if (v->gain[i] > 0)
      for (size_t k = 0; k < v->n; k++) v->mean[k] += sample(v, i, k) / (scaled ? v->gain[i] : 1);
}

static void smooth_square(const view *v, const double *x, double *out) {
  const size_t half = v->kernel_n / 2;
  for (size_t k = 0; k < v->n; k++) {
    out[k] = 0;
    for (size_t j = 0; j < v->kernel_n; j++)
      if (k + j >= half && k + j - half < v->n) out[k] += v->kernel[j] * x[k + j - half] * x[k + j - half];
  }
}

static size_t loudest(const double *x, size_t from, size_t to) {
  size_t best = from;
  for (size_t k = from; k < to; k++)
    if (x[k] > x[best]) best = k;
  return best;
}

static void find_first(view *v) {
  const double fs = v->m->fs_hz, origin = (double)(v->m->origin_n - v->from);
  smooth_square(v, v->mean, v->smooth);
  const size_t peak = loudest(v->smooth, (size_t)(origin + PEAK_FROM_S * fs), (size_t)(origin + PEAK_TO_S * fs));
  v->onset = peak;
  while (v->onset > 0 && v->smooth[v->onset] > RISE * v->smooth[peak]) v->onset--;
  v->first = v->onset + (size_t)(v->m->first_s * fs);
  if (v->first > v->n) v->first = v->n;
}

static double likeness(const view *v, const float *piece, long shift) {
  const float *x = piece + (long)v->from + shift;
  double xy = 0, xx = 0;
  for (size_t k = v->onset; k < v->first; k++) {
    const double s = (double)x[k];
    xy += v->mean[k] * s;
    xx += s * s;
  }
  return xx > 0 ? xy / sqrt(xx) : 0;
}

static void lay(view *v, size_t beat) {
  const float *x = v->m->pieces + beat * v->m->piece_n;
  const long reach = (long)(REACH_S * v->m->fs_hz);
  long best = 0;
  double most = -INFINITY;
  for (long d = -reach; d <= reach; d++) {
    const double c = likeness(v, x, d);
    if (c > most) most = c, best = d;
  }
  v->shift[beat] = (double)best;
  if (best == -reach || best == reach) return;
  const double left = likeness(v, x, best - 1), right = likeness(v, x, best + 1), curve = left - 2 * most + right;
  if (curve < 0) v->shift[beat] += 0.5 * (left - right) / curve;
}

// Each beat's strength by its first component; 0 for one that is no measure.
static int weigh(view *v) {
  const size_t n = v->m->n;
  double *sorted = gn_new(n, sizeof *sorted), power = 0;
  if (!sorted) return -1;
  for (size_t k = v->onset; k < v->first; k++) power += v->mean[k] * v->mean[k];
  for (size_t i = 0; i < n; i++) {
    double xy = 0;
    for (size_t k = v->onset; k < v->first; k++) xy += v->mean[k] * sample(v, i, k);
    sorted[i] = v->gain[i] = power > 0 ? xy / power : 0;
  }
  const double usual = gn_median(sorted, n);
  for (size_t i = 0; i < n; i++)
    if (!(v->gain[i] > LEAST_GAIN * usual)) v->gain[i] = 0;
  gn_free(sorted);
  return 0;
}

static int view_init(view *v, const gn_moving *m) {
  const size_t room = (size_t)(REACH_S * m->fs_hz) + 3;
  *v = (view){.m = m, .from = room, .n = m->piece_n - 2 * room, .kernel_n = 2 * (size_t)(SMOOTH_S / 2 * m->fs_hz) + 1};
  v->shift = gn_new(m->n, sizeof(double));
  v->gain = gn_new(m->n, sizeof(double));
  v->mean = gn_new(v->n, sizeof(double));
  v->smooth = gn_new(v->n, sizeof(double));
  v->kernel = gn_new(v->kernel_n, sizeof(double));
  if (!v->shift || !v->gain || !v->mean || !v->smooth || !v->kernel) return -1;
  for (size_t j = 0; j < v->kernel_n; j++) v->kernel[j] = (1 - gn_cos(2 * GN_PI * (double)(j + 1) / (double)(v->kernel_n + 1))) / (double)(v->kernel_n + 1);
  for (size_t i = 0; i < m->n; i++) v->gain[i] = 1;
  return 0;
}

static void view_clear(view *v) {
  gn_free(v->shift);
  gn_free(v->gain);
  gn_free(v->mean);
  gn_free(v->smooth);
  gn_free(v->kernel);
}

// ---- what still differs

// The first principal component of n rows of long `wide`: the direction, unit length. Returns the sum of squares along it.
static double principal(const double *rows, size_t n, size_t wide, double *direction, double *next) {
  size_t start = 0;
  double most = -1, along = 0;
  for (size_t i = 0; i < n; i++) {
    double sum = 0;
    for (size_t k = 0; k < wide; k++) sum += rows[i * wide + k] * rows[i * wide + k];
    if (sum > most) most = sum, start = i;
  }
  if (!(most > 0)) return 0;
  for (size_t k = 0; k < wide; k++) direction[k] = rows[start * wide + k] / sqrt(most);
  for (int turn = 0; turn < TURNS; turn++) {
    double size = 0;
    memset(next, 0, wide * sizeof *next);
    for (size_t i = 0; i < n; i++) {
      double dot = 0;
      for (size_t k = 0; k < wide; k++) dot += rows[i * wide + k] * direction[k];
      for (size_t k = 0; k < wide; k++) next[k] += dot * rows[i * wide + k];
    }
    for (size_t k = 0; k < wide; k++) size += next[k] * next[k];
    const double before = along;
    along = sqrt(size);
    if (!(along > 0)) return 0;
    for (size_t k = 0; k < wide; k++) direction[k] = next[k] / along;
    if (along <= before * (1 + SETTLED)) break;
  }
  return along;
}

// Where the running sum of x reaches this share of the whole, to a fraction of a sample.
static double reaches(const double *x, size_t n, double share) {
  double all = 0, sum = 0;
  for (size_t k = 0; k < n; k++) all += x[k];
  for (size_t k = 0; k < n; sum += x[k], k++)
    if (sum + x[k] > share * all) return (double)k + (share * all - sum) / x[k];
  return (double)n;
}

static void read_out(view *v, double *moved, size_t wide, gn_moving_part *out) {
  const double fs = v->m->fs_hz;
  double *const whole = moved, *const square = moved + v->n; // the movement in the place it has in a piece; its power
  smooth_square(v, whole, square);
  const double *x = square + v->onset;
  const size_t top = loudest(x, 0, wide);
  size_t onset = 0;
  while (onset < top && x[onset] <= SETS_IN * x[top]) onset++;
  out->tenth_s = reaches(x, wide, 0.1) / fs;
  out->quarter_s = reaches(x, wide, 0.25) / fs;
  out->onset_s = (double)onset / fs;
  smooth_square(v, v->mean, v->smooth);
  out->peak = v->smooth[loudest(v->smooth, v->onset, v->n)];
  out->level = v->smooth[loudest(v->smooth, v->onset + onset, v->onset + wide)];
}

// What is left of each beat without the mean.
static void take_rest(const view *v, size_t wide, double *rows, double *total) {
  size_t n = 0;
  *total = 0;
  for (size_t i = 0; i < v->m->n; i++) {
    if (!(v->gain[i] > 0)) continue;
    for (size_t k = 0; k < wide; k++) {
      const double r = sample(v, i, v->onset + k) / v->gain[i] - v->mean[v->onset + k];
      rows[n * wide + k] = r;
      *total += r * r;
    }
    n++;
  }
}

static int find_moving(view *v, gn_moving_part *out, bool *found) {
  size_t n = 0, wide = (size_t)(LOOK_S * v->m->fs_hz);
  if (v->onset + wide > v->n) wide = v->n - v->onset;
  for (size_t i = 0; i < v->m->n; i++) n += v->gain[i] > 0;
  if (n < LEAST || !wide) return 0;
  for (size_t k = 0; k < v->n; k++) v->mean[k] /= (double)n;
  double *rows = gn_new(n * wide, sizeof *rows), *moved = gn_new(2 * v->n, sizeof *moved), total;
  const int refused = rows && moved ? 0 : -1;
  if (!refused) {
    take_rest(v, wide, rows, &total);
    const double along = principal(rows, n, wide, moved + v->onset, moved + v->n);
    memset(moved + v->n, 0, v->n * sizeof *moved);
    *found = along > 0;
    if (*found) read_out(v, moved, wide, out);
    out->share = total > 0 ? along / total : 0;
    out->beats_fraction = (double)n / (double)v->m->n;
  }
  gn_free(rows);
  gn_free(moved);
  return refused;
}

int gn_moving_find(gn_moving *m, gn_moving_part *out, bool *found) {
  view v;
  *found = false;
  *out = (gn_moving_part){0};
  if (m->n < LEAST) return 0;
  int refused = view_init(&v, m);
  for (int round = 0; !refused && round < ROUNDS; round++) {
    average(&v, false);
    find_first(&v);
    for (size_t i = 0; i < m->n; i++) lay(&v, i);
  }
  if (!refused) {
    average(&v, false);
    for (size_t k = 0; k < v.n; k++) v.mean[k] /= (double)m->n;
    refused = weigh(&v);
  }
  if (!refused) {
    average(&v, true);
    refused = find_moving(&v, out, found);
  }
  view_clear(&v);
  return refused;
}
