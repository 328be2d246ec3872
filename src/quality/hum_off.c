// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdbool.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "base/wide.h"
#include "quality/parts.h"

// A hum, of the mains or of a machine, is the one noise that keeps its phase for seconds: nothing alive does. Its lines are found in segments and taken off
// them; of neighbours, which share half, one fades into the other. The length is a choice: in it mains wander by millihertz, and of the heart an eighth
// of a hertz goes with each line, less what is done against that.
static const double HALF_S = 4;
static const double HIGHEST_HZ = 700, HIGHEST_SHARE = 0.45; // of the rate: higher lines trouble nothing that is measured
static const int ROUNDS = 4;            // of weighing the slices: a choice
static const double SURE = 16;          // a line's power against its error's: chance reaches it once in 10^7 (a choice)
static const double WORSE = 1.25;       // a quarter of a segment that would be left so much louder had another line or none, amplitude: a choice
static const double KEPT_SHARE = 0.5;   // of a segment's slices have to have come through: a choice
enum { QUARTERS = 4 };

typedef struct segment { size_t first, half, end; } segment; // half: where its second half begins
typedef struct line { double re, im, turn; bool there; } line; // its phasor in the middle slice, radians a slice it turns by besides

#define MULTIPLES 16 // mixed at once: a whole number of registers, and no fewer than 700 Hz holds of the mains; of a lower hum the rest follows
typedef struct desk {
  const gn_quality_cut *cut;
  size_t slice_n, n;      // samples in a slice, slices
  gn_quality_phasor *z;   // of a segment's slices
  double *weight, *room;  // of the same
  double (*re)[MULTIPLES], (*im)[MULTIPLES]; // of the same, so many multiples
  bool *lost;             // all slices: nothing came through
} desk;

// Each turns for itself, so they share registers.
typedef struct bank { double cr[MULTIPLES], ci[MULTIPLES], pr[MULTIPLES], pi[MULTIPLES]; } bank;

GN_WIDE static void mix_slice(bank *b, const float *x, size_t n, double *restrict re, double *restrict im) {
  double sr[MULTIPLES] = {0}, si[MULTIPLES] = {0}, pr[MULTIPLES], pi[MULTIPLES];
  for (int k = 0; k < MULTIPLES; k++) pr[k] = b->pr[k], pi[k] = b->pi[k];
  for (size_t i = 0; i < n; i++) {
    const double at = (double)x[i];
    for (int k = 0; k < MULTIPLES; k++) {
      sr[k] += at * pr[k];
      si[k] -= at * pi[k];
      const double next = pr[k] * b->cr[k] - pi[k] * b->ci[k];
      pi[k] = pr[k] * b->ci[k] + pi[k] * b->cr[k];
      pr[k] = next;
    }
  }
  for (int k = 0; k < MULTIPLES; k++) {
    const double length = sqrt(pr[k] * pr[k] + pi[k] * pi[k]);
    b->pr[k] = pr[k] / length;
    b->pi[k] = pi[k] / length;
    re[k] = sr[k];
    im[k] = si[k];
  }
}

// The multiples from one on.
static void mix_some(const desk *d, const gn_signal *sound, double hz, int first, size_t n) {
  bank b;
  for (int k = 0; k < MULTIPLES; k++) {
    const double turn = 2 * GN_PI * hz * (first + k) / sound->fs_hz;
    b.cr[k] = gn_cos(turn);
    b.ci[k] = gn_sin(turn);
    b.pr[k] = 1;
    b.pi[k] = 0;
  }
  for (size_t i = 0; i < n; i++) mix_slice(&b, sound->samples + i * d->slice_n, d->slice_n, d->re[i], d->im[i]);
}

static void choose_mixed(const desk *d, int k, size_t n) {
  for (size_t i = 0; i < n; i++) {
    const double re = d->re[i][k], im = d->im[i][k];
    d->z[i] = (gn_quality_phasor){re, im, sqrt(re * re + im * im)};
  }
}

static gn_quality_phasor turned(gn_quality_phasor z, double angle) {
  const double c = gn_cos(angle), s = gn_sin(angle);
  return (gn_quality_phasor){z.re * c + z.im * s, z.im * c - z.re * s, z.size};
}

// How the line goes through the slices as they are weighed: the halves' angle tells how it turns, the whole its phasor.
static line weighed(const desk *d, size_t n) {
  double re[2] = {0, 0}, im[2] = {0, 0}, sum = 0;
  for (size_t i = 0; i < n; i++) {
    const int later = i >= n / 2;
    re[later] += d->weight[i] * d->z[i].re;
    im[later] += d->weight[i] * d->z[i].im;
  }
  line out = {.turn = gn_quality_angle(re[1] * re[0] + im[1] * im[0], im[1] * re[0] - re[1] * im[0]) / (0.5 * (double)n)};
  for (size_t i = 0; i < n; i++) {
    const gn_quality_phasor z = turned(d->z[i], out.turn * ((double)i - 0.5 * (double)(n - 1)));
    out.re += d->weight[i] * z.re;
    out.im += d->weight[i] * z.im;
    sum += d->weight[i];
  }
  out.re /= sum;
  out.im /= sum;
  return out;
}

static double left_of(const desk *d, const line *l, size_t i, size_t n) {
  const gn_quality_phasor z = turned(d->z[i], l->turn * ((double)i - 0.5 * (double)(n - 1)));
  return sqrt((z.re - l->re) * (z.re - l->re) + (z.im - l->im) * (z.im - l->im));
}

// Whether the line stands so far over its own error that chance has no part in it.
static bool is_sure(const desk *d, const line *l, size_t n) {
  double sum = 0, error = 0;
  for (size_t i = 0; i < n; i++) {
    const double off = d->weight[i] * left_of(d, l, i, n);
    sum += d->weight[i];
    error += off * off;
  }
  return (l->re * l->re + l->im * l->im) * sum * sum > SURE * error;
}

// Whether every quarter is left quieter, or hardly louder, without the line.
static bool is_throughout(const desk *d, const segment *s, const line *l) {
  const size_t n = s->end - s->first;
  for (size_t q = 0; q < QUARTERS; q++) {
    double middle[2] = {0, 0};
    for (int k = 0; k < 2; k++) {
      size_t kept = 0;
      for (size_t i = q * n / QUARTERS; i < (q + 1) * n / QUARTERS; i++)
        if (!d->lost[s->first + i]) d->room[kept++] = k ? left_of(d, l, i, n) : d->z[i].size;
      middle[k] = kept ? gn_median(d->room, kept) : 0;
    }
    if (middle[1] > WORSE * middle[0]) return false;
  }
  return true;
}

// Slices that hold a heart sound lie far from what the line leaves in the others, and count for little.
static line find(const desk *d, const segment *s) {
  const size_t n = s->end - s->first;
  size_t kept = 0;
  for (size_t i = 0; i < n; i++)
    if (!d->lost[s->first + i]) d->room[kept++] = d->z[i].size;
  line l = {0};
  if ((double)kept < KEPT_SHARE * (double)n) return l;
  for (int round = 0; round < ROUNDS; round++) {
    const double middle = gn_median(d->room, kept);
    if (!(middle > 0)) return (line){0};
    for (size_t i = 0; i < n; i++) {
      const double far = (round ? left_of(d, &l, i, n) : d->z[i].size) / middle;
      d->weight[i] = d->lost[s->first + i] ? 0 : 1 / (1 + far * far);
    }
    l = weighed(d, n);
    kept = 0;
    for (size_t i = 0; i < n; i++)
      if (!d->lost[s->first + i]) d->room[kept++] = left_of(d, &l, i, n);
  }
  l.there = is_sure(d, &l, n) && is_throughout(d, s, &l);
  return l;
}

static gn_signal sound_of(const desk *d, const segment *s) {
  const gn_signal *w = d->cut->window;
  return (gn_signal){w->samples + s->first * d->slice_n, (s->end - s->first) * d->slice_n, w->fs_hz, w->start_s};
}

// How much of a segment's line is laid at the begin of one of its slices: it fades in over the first half and out over the second, but at the
// window's ends.
static double share_at(const desk *d, const segment *s, size_t slice) {
  if (slice < s->half) return s->first == 0 ? 1 : (double)(slice - s->first) / (double)(s->half - s->first);
  return s->end == d->n ? 1 : (double)(s->end - slice) / (double)(s->end - s->half);
}

// The line into hum, over the segment's samples; the last one's reaches on to the window's end.
static void lay(const desk *d, const segment *s, double hz, const line *l, float *hum) {
  const double step = 2 * GN_PI * hz / d->cut->window->fs_hz + l->turn / (double)d->slice_n, cr = gn_cos(step), ci = gn_sin(step);
  const double begins = -0.5 * l->turn * (double)(s->end - s->first), amplitude = 2 / (double)d->slice_n;
  const double c = amplitude * gn_cos(begins), sn = amplitude * gn_sin(begins);
  double re = l->re * c - l->im * sn, im = l->re * sn + l->im * c;
  for (size_t k = s->first; k < s->end; k++) {
    const size_t from = k * d->slice_n, end = k + 1 == d->n ? d->cut->window->n : from + d->slice_n;
    double share = share_at(d, s, k);
    const double more = (share_at(d, s, k + 1) - share) / (double)d->slice_n;
    for (size_t i = from; i < end; i++) {
      if (!d->lost[k]) hum[i] += (float)(share * re);
      share += more;
      const double next = re * cr - im * ci;
      im = re * ci + im * cr;
      re = next;
    }
  }
}

// The family's frequency in a segment, as the line that was found in the window tells it there.
static double hz_in(const desk *d, const gn_signal *sound, const gn_quality_family *family, size_t n) {
  const size_t apart[] = {1, 4, 16};
  double hz = family->hz * family->multiple;
  for (int i = 0; i < 3; i++) {
    gn_quality_mix_down(sound, hz, d->slice_n, d->z, n);
    hz += gn_quality_drift_hz(d->z, n, apart[i], (double)d->slice_n / sound->fs_hz);
  }
  hz /= family->multiple;
  return fabs(hz - family->hz) > GN_QUALITY_FAMILY_OFF_HZ ? family->hz : hz;
}

// All lines of one segment; each turns as it does.
static void take_segment(const desk *d, const segment *s, const gn_quality_family *family, float *hum) {
  const gn_signal sound = sound_of(d, s);
  const double most_hz = fmin(HIGHEST_HZ, HIGHEST_SHARE * sound.fs_hz);
  const size_t n = s->end - s->first;
  const double hz = hz_in(d, &sound, family, n);
  for (int k = 1; k * hz < most_hz; k++) {
    const int mixed = (k - 1) % MULTIPLES;
    if (!mixed) mix_some(d, &sound, hz, k, n);
    choose_mixed(d, mixed, n);
    const line l = find(d, s);
    if (l.there) lay(d, s, k * hz, &l, hum);
  }
}

static int desk_init(desk *d, size_t longest) {
  d->z = gn_new(longest, sizeof *d->z);
  d->weight = gn_new(2 * longest, sizeof *d->weight);
  d->room = d->weight ? d->weight + longest : NULL;
  d->re = gn_new(2 * longest, sizeof *d->re);
  d->im = d->re ? d->re + longest : NULL;
  d->lost = gn_new(d->n, sizeof *d->lost);
  if (!d->z || !d->weight || !d->re || !d->lost) return -1;
  for (size_t k = 0; k < d->n; k++) d->lost[k] = gn_quality_is_lost(d->cut, k * d->slice_n, d->slice_n);
  return 0;
}

static void desk_clear(desk *d) {
  gn_free(d->z);
  gn_free(d->weight);
  gn_free(d->re);
  gn_free(d->lost);
}

int gn_quality_hum_off(const gn_quality_family *family, const gn_quality_cut *cut, float *samples) {
  const gn_signal *w = cut->window;
  desk d = {.cut = cut, .slice_n = gn_quality_slice_n(w)};
  d.n = w->n / d.slice_n;
  const size_t fit = (size_t)((double)w->n / (HALF_S * w->fs_hz)), halves = fit < 2 ? 2 : fit;
  if (d.n < QUARTERS * halves) return 0;
  float *hum = gn_new(w->n, sizeof *hum);
  const bool refused = !hum || desk_init(&d, 2 * (d.n / halves + 1));
  for (size_t k = 0; !refused && k + 1 < halves; k++)
    take_segment(&d, &(segment){k * d.n / halves, (k + 1) * d.n / halves, (k + 2) * d.n / halves}, family, hum);
  for (size_t i = 0; !refused && i < w->n; i++) samples[i] -= hum[i];
  gn_free(hum);
  desk_clear(&d);
  return refused ? -1 : 0;
}
