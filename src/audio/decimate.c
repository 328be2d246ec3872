// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/decimate.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/wide.h"

static const double GOAL_HZ = 2000;      // the brief's analysis rate
static const double UNCHANGED_HZ = 3000; // as the header says
static const double PASS_HZ = 700;       // what the stages look at ends here
static const double STOP_DB = 86;        // 80 promised; the rest is for float sums and for two stages adding up

enum { STAGES = 2, CHUNK = 4096, LANES = 8, GRID = 512 }; // GRID: frequencies that an integral is taken over, and room for a comb's

typedef struct stage {
  size_t factor, n_taps, n_padded; // n_padded: a multiple of LANES, zeros behind the taps
  float *taps;
  float *held; // room for 2 n_padded; the stretch that coming outputs still need, shorter than one
  size_t n_held, skip; // skip: samples to drop before the next output's first
} stage;

struct gn_decimator {
  double fs_hz;
  size_t factor, n_stages, delay_n, n_in, n_out;
  stage stages[STAGES];
  float between[CHUNK + 1];
};

// Modified Bessel function of order 0, by its power series (Abramowitz and Stegun 9.6.12); all terms are positive.
static double bessel_i0(double x) {
  double term = 1, sum = 1;
  for (int k = 1; k < 200 && term > 1e-17 * sum; k++) {
    term *= x * x / 4 / k / k;
    sum += term;
  }
  return sum;
}

// The first of two stages need not stop all that lies above its pass band, only what would come to lie in it: its zeros lie about the multiples of the
// rate it leaves (Lo Presti 2000), where those of Chebyshev's polynomial do. It is as many sums of `factor` neighbours, one behind the other, each
// turned to one of the zeros. What it takes off towards the end of the pass band the second stage puts back.
typedef struct comb { size_t factor, n_zeros; double pass; } comb; // n_zeros about each multiple; pass: PASS_HZ in radians a sample

static double sum_gain(size_t factor, double w) {
  const double below = gn_sin(w / 2);
  return below == 0 ? 1 : gn_sin((double)factor * w / 2) / ((double)factor * below);
}

static double comb_gain(const comb *c, double w) {
  double gain = 1;
  for (size_t j = 0; j < c->n_zeros; j++) {
    const double zero = c->pass * gn_cos(GN_PI * (double)(2 * j + 1) / (double)(2 * c->n_zeros));
    gain *= sum_gain(c->factor, w - zero) / sum_gain(c->factor, zero);
  }
  return gain;
}

// The loudest of what comes to lie in the pass band, against what lies there: about the first multiple, between two zeros or at an end.
static double comb_image(const comb *c) {
  double most = 0;
  for (size_t i = 0; i <= c->n_zeros; i++) {
    const double off = c->pass * gn_cos(GN_PI * (double)i / (double)c->n_zeros);
    most = fmax(most, fabs(comb_gain(c, 2 * GN_PI / (double)c->factor + off) / comb_gain(c, off)));
  }
  return most;
}

static size_t comb_half(const comb *c) { return c->n_zeros * (c->factor - 1) / 2; }

// As few zeros as will do, with an odd number of taps.
static comb comb_of(double fs_hz, size_t factor) {
  comb c = {factor, 0, 2 * GN_PI * PASS_HZ / fs_hz};
  do c.n_zeros++;
  while (c.n_zeros * (factor - 1) % 2 || 20 * gn_log10(comb_image(&c)) > -STOP_DB);
  return c;
}

// From the gain at as many frequencies as there are taps.
static void design_comb(float *taps, const comb *c) {
  const size_t half = comb_half(c), n = 2 * half + 1;
  double gain[GRID]; // half is at most 147, at any rate: factors up to 50, and up to 6 zeros
  for (size_t k = 1; k <= half; k++) gain[k] = comb_gain(c, 2 * GN_PI * (double)k / (double)n);
  for (size_t i = 0; i <= half; i++) {
    double sum = 1;
    for (size_t k = 1; k <= half; k++) sum += 2 * gain[k] * gn_cos(2 * GN_PI * (double)(k * i % n) / (double)n);
    taps[half - i] = taps[half + i] = (float)(sum / (double)n);
  }
}

// Kaiser's formulas for the length and the shape (Kaiser 1974; Oppenheim and Schafer, Discrete-Time Signal Processing,
// section "FIR filter design by the Kaiser window method").
static size_t half_length(double fs_hz, double stop_hz) {
  const double width = 2 * GN_PI * (stop_hz - PASS_HZ) / fs_hz;
  return (size_t)ceil((STOP_DB - 7.95) / (2.285 * width) / 2);
}

// A low-pass without a window, n samples from its middle; gain: GRID of them up to its end, or NULL where all are 1. cut: 1 is fs/2.
static double ideal(const double *gain, double cut, double n) {
  if (!gain) return n == 0 ? cut : gn_sin(GN_PI * cut * n) / (GN_PI * n);
  double sum = 0;
  for (size_t k = 0; k < GRID; k++) sum += gain[k] * gn_cos(GN_PI * cut * ((double)k + 0.5) / GRID * n);
  return sum * (n == 0 ? cut / GRID : 2 * gn_sin(GN_PI * cut / GRID / 2 * n) / (GN_PI * n)); // of a wave over a step
}

static void design(float *taps, size_t half, double fs_hz, double stop_hz, const comb *before) {
  const double beta = 0.1102 * (STOP_DB - 8.7), cut = (PASS_HZ + stop_hz) / fs_hz; // cut: 1 is fs/2
  double sum = 0, gain[GRID];
  for (size_t k = 0; before && k < GRID; k++) gain[k] = 1 / comb_gain(before, GN_PI * cut * ((double)k + 0.5) / GRID / (double)before->factor);
  for (int pass = 0; pass < 2; pass++) // the second divides by the sum, so that the gain at 0 Hz is 1
    for (size_t i = 0; i <= half; i++) {
      const double n = (double)i - (double)half, r = n / ((double)half + 1);
      const double tap = ideal(before ? gain : NULL, cut, n) * bessel_i0(beta * sqrt(1 - r * r)) / bessel_i0(beta);
      if (pass == 0)
        sum += i < half ? 2 * tap : tap;
      else
        taps[i] = taps[2 * half - i] = (float)(tap / sum);
    }
}

static size_t factor_of(double fs_hz) {
  if (fs_hz <= UNCHANGED_HZ) return 1;
  const size_t below = (size_t)floor(fs_hz / GOAL_HZ);
  if (below < 1) return 1;
  return fabs(fs_hz / (double)below - GOAL_HZ) <= fabs(fs_hz / (double)(below + 1) - GOAL_HZ) ? below : below + 1;
}

// Multiplications per input sample when the first stage divides by `first` and the second by the rest.
static double cost(double fs_hz, size_t first, size_t factor) {
  const double middle_hz = fs_hz / (double)first, end_hz = fs_hz / (double)factor;
  if (first == factor) return (double)(2 * half_length(fs_hz, end_hz - PASS_HZ) + 1) / (double)factor;
  const comb c = comb_of(fs_hz, first);
  return (double)(2 * comb_half(&c) + 1) / (double)first + (double)(2 * half_length(middle_hz, end_hz - PASS_HZ) + 1) / (double)factor;
}

static size_t first_factor(double fs_hz, size_t factor) {
  size_t best = factor;
  for (size_t first = 2; first < factor; first++)
    if (factor % first == 0 && cost(fs_hz, first, factor) < cost(fs_hz, best, factor)) best = first;
  return best;
}

// Room for a stage of so many taps to either side of the middle one.
static int stage_init(stage *s, size_t factor, size_t half) {
  s->factor = factor;
  s->n_taps = 2 * half + 1;
  s->n_padded = (s->n_taps + LANES - 1) / LANES * LANES;
  s->taps = gn_new(s->n_padded, sizeof *s->taps);
  s->held = gn_new(2 * s->n_padded, sizeof *s->held);
  return s->taps && s->held ? 0 : -1;
}

static int plan(gn_decimator *d, double fs_hz) {
  if (d->factor == 1) return 0;
  const size_t first = first_factor(fs_hz, d->factor);
  const bool two = first < d->factor;
  const comb c = two ? comb_of(fs_hz, first) : (comb){0};
  if (two) {
    if (stage_init(&d->stages[d->n_stages++], first, comb_half(&c))) return -1;
    design_comb(d->stages[0].taps, &c);
    fs_hz /= (double)first;
  }
  const double stop_hz = d->fs_hz - PASS_HZ;
  const size_t half = half_length(fs_hz, stop_hz);
  stage *const last = &d->stages[d->n_stages++];
  if (stage_init(last, two ? d->factor / first : d->factor, half)) return -1;
  design(last->taps, half, fs_hz, stop_hz, two ? &c : NULL);
  for (size_t i = d->n_stages; i-- > 0;) d->delay_n = d->delay_n * d->stages[i].factor + (d->stages[i].n_taps - 1) / 2;
  return 0;
}

// Eight sums side by side: the order is fixed, and a compiler may keep them in vector registers without being allowed
// to change it.
GN_WIDE_PART float added(const float sum[LANES]) { return ((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7])); }

GN_WIDE_PART float dot(const float *restrict a, const float *restrict b, size_t n) {
  float sum[LANES] = {0};
  for (size_t i = 0; i < n; i += LANES)
    for (size_t k = 0; k < LANES; k++) sum[k] += a[i + k] * b[i + k];
  return added(sum);
}

// Eight of them, step apart: each tap is fetched once for all, none waits for the others' sums, and those are added up side by side: halves, then
// quarters, then single numbers, of two at a time.
enum { DOTS = 8 };

GN_WIDE_PART void many_dots(const float *restrict a, const float *restrict b, size_t step, size_t n, float *restrict out) {
  gn_eight sum[DOTS];
  for (size_t q = 0; q < DOTS; q++) sum[q] = (gn_eight){0};
  for (size_t i = 0; i < n; i += LANES) {
    const gn_eight tap = *(const gn_eight *)(a + i);
    for (size_t q = 0; q < DOTS; q++) sum[q] += tap * *(const gn_eight *)(b + i + q * step);
  }
  for (size_t q = 0; q < DOTS / 2; q++)
    sum[q] = __builtin_shufflevector(sum[q], sum[q + 4], 0, 1, 2, 3, 12, 13, 14, 15) + __builtin_shufflevector(sum[q], sum[q + 4], 4, 5, 6, 7, 8, 9, 10, 11);
  for (size_t q = 0; q < DOTS / 2; q += 2)
    sum[q] = GN_SHUFFLE_HALVES(sum[q], sum[q + 1], 0, 1, 4, 5) + GN_SHUFFLE_HALVES(sum[q], sum[q + 1], 2, 3, 6, 7);
  *(gn_eight *)out = GN_SHUFFLE_HALVES(sum[0], sum[2], 0, 2, 4, 6) + GN_SHUFFLE_HALVES(sum[0], sum[2], 1, 3, 5, 7);
}

// The outputs whose taps begin from *at to before `end` and lie within n samples; *at goes on.
GN_WIDE static size_t outputs_of(const stage *s, const float *x, size_t n, size_t end, size_t *at, float *out) {
  const size_t step = s->factor, width = s->n_padded;
  size_t i = *at, n_out = 0;
  for (; i + (DOTS - 1) * step < end && i + (DOTS - 1) * step + width <= n; i += DOTS * step, n_out += DOTS) many_dots(s->taps, x + i, step, width, out + n_out);
  for (; i < end && i + width <= n; i += step) out[n_out++] = dot(s->taps, x + i, width);
  *at = i;
  return n_out;
}

// Take n samples: what begins in those held, then what lies in the new ones alone.
static size_t stage_push(stage *s, const float *in, size_t n, float *out) {
  const size_t drop = s->skip < n ? s->skip : n;
  s->skip -= drop;
  in += drop;
  n -= drop;
  const size_t joined_n = n < s->n_padded ? n : s->n_padded;
  size_t at = 0;
  memcpy(s->held + s->n_held, in, joined_n * sizeof *in);
  size_t n_out = outputs_of(s, s->held, s->n_held + joined_n, s->n_held, &at, out);
  if (at < s->n_held) { // too few came
    s->n_held += joined_n - at;
    memmove(s->held, s->held + at, s->n_held * sizeof *s->held);
    return n_out;
  }
  at -= s->n_held;
  n_out += outputs_of(s, in, n, n, &at, out + n_out);
  s->skip = at > n ? at - n : 0;
  s->n_held = at > n ? 0 : n - at;
  memcpy(s->held, in + (n - s->n_held), s->n_held * sizeof *s->held);
  return n_out;
}

// in == NULL: zeros.
static size_t push(gn_decimator *d, const float *in, size_t n, float *out) {
  static const float SILENCE[64] = {0};
  const size_t most = in ? CHUNK : sizeof SILENCE / sizeof *SILENCE;
  size_t n_out = 0;
  while (n > 0) {
    const size_t k = n < most ? n : most;
    const float *const x = in ? in : SILENCE;
    if (d->n_stages == 1) {
      n_out += stage_push(&d->stages[0], x, k, out + n_out);
    } else {
      const size_t n_between = stage_push(&d->stages[0], x, k, d->between);
      n_out += stage_push(&d->stages[1], d->between, n_between, out + n_out);
    }
    if (in) in += k;
    n -= k;
  }
  return n_out;
}

gn_decimator *gn_decimator_new(double fs_hz) {
  if (!(fs_hz >= 1000 && fs_hz <= 200000)) return NULL;
  gn_decimator *d = gn_new(1, sizeof *d);
  if (!d) return NULL;
  d->factor = factor_of(fs_hz);
  d->fs_hz = fs_hz / (double)d->factor;
  if (plan(d, fs_hz)) {
    gn_decimator_free(d);
    return NULL;
  }
  // Zeros before the recording, as many as the filters look back: the first output is the one at time 0.
  if (d->n_stages) push(d, NULL, d->delay_n, d->between);
  return d;
}

void gn_decimator_free(gn_decimator *d) {
  if (!d) return;
  for (size_t i = 0; i < STAGES; i++) {
    gn_free(d->stages[i].taps);
    gn_free(d->stages[i].held);
  }
  gn_free(d);
}

size_t gn_decimator_factor(const gn_decimator *d) { return d->factor; }
double gn_decimator_fs_hz(const gn_decimator *d) { return d->fs_hz; }

size_t gn_decimator_push(gn_decimator *d, const float *in, size_t n, float *out) {
  if (!d->n_stages) {
    memcpy(out, in, n * sizeof *in);
    return n;
  }
  d->n_in += n;
  const size_t n_out = push(d, in, n, out);
  d->n_out += n_out;
  return n_out;
}

size_t gn_decimator_tail(const gn_decimator *d) { return d->n_stages ? (d->n_in + d->factor - 1) / d->factor - d->n_out : 0; }

size_t gn_decimator_finish(gn_decimator *d, float *out) {
  if (!d->n_stages) return 0;
  const size_t n_tail = gn_decimator_tail(d);
  size_t n_out = 0;
  while (n_out < n_tail) n_out += push(d, NULL, 1, out + n_out);
  d->n_out += n_out;
  return n_out;
}
