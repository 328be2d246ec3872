// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/biquad.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/signal.h"
#include "base/wide.h"

// Below this a filter's memory is far under the last bit of any sample; kept, it would sink into denormal numbers, which
// are slow, whenever a recording falls silent.
static const double STATE_FLOOR = 1e-30;
static const size_t FLUSH_EVERY_N = 1024;

static const double RINGS_TO = 1e-3; // of its start: where the padding ends
static const size_t SETTLES_N = 3;   // paddings after which nothing is left of how it began: 1e-9 of it, where a float has 6e-8

static double warped(double cut_hz, double fs_hz) {
  double share = cut_hz / fs_hz;
  if (!(share > 1e-6)) share = 1e-6;
  if (share > 0.4999) share = 0.4999;
  return gn_tan(GN_PI * share);
}

gn_biquad gn_biquad_lowpass(double cut_hz, double fs_hz) {
  const double k = warped(cut_hz, fs_hz), norm = 1 / (1 + sqrt(2.0) * k + k * k);
  const double b0 = k * k * norm;
  return (gn_biquad){b0, 2 * b0, b0, 2 * (k * k - 1) * norm, (1 - sqrt(2.0) * k + k * k) * norm};
}

gn_biquad gn_biquad_highpass(double cut_hz, double fs_hz) {
  const double k = warped(cut_hz, fs_hz), norm = 1 / (1 + sqrt(2.0) * k + k * k);
  return (gn_biquad){norm, -2 * norm, norm, 2 * (k * k - 1) * norm, (1 - sqrt(2.0) * k + k * k) * norm};
}

void gn_biquad_bandpass(gn_biquad sections[2], double low_hz, double high_hz, double fs_hz) {
  sections[0] = gn_biquad_highpass(low_hz, fs_hz);
  sections[1] = gn_biquad_lowpass(high_hz, fs_hz);
}

static void flush(double *state, size_t n) {
  for (size_t i = 0; i < n; i++)
    if (fabs(state[i]) < STATE_FLOOR) state[i] = 0;
}

static const gn_biquad THROUGH = {1, 0, 0, 0, 0}; // changes nothing

// The state in which the section would be had its input been `level` for ever.
static void settle(const gn_biquad *section, double level, double state[2]) {
  const double y = level * (section->b0 + section->b1 + section->b2) / (1 + section->a1 + section->a2);
  state[1] = section->b2 * level - section->a2 * y;
  state[0] = section->b1 * level - section->a1 * y + state[1];
}

size_t gn_biquad_padding(const gn_biquad *sections, size_t n_sections) {
  double longest_n = 0;
  for (size_t i = 0; i < n_sections; i++) {
    // Butterworth sections have a pair of complex poles of this radius.
    const double radius = sqrt(fabs(sections[i].a2));
    const double n = radius <= 0 ? 0 : radius >= 1 ? 1e6 : gn_log(RINGS_TO) / gn_log(radius);
    if (n > longest_n) longest_n = n;
  }
  return longest_n > 1e6 ? 1000000 : (size_t)longest_n + 2;
}

// The states of two sections, one behind the other, had the first's input been `level` for ever.
static void settle_both(const gn_biquad two[2], double level, double s[4]) {
  settle(&two[0], level, s);
  settle(&two[1], level * (two[0].b0 + two[0].b1 + two[0].b2) / (1 + two[0].a1 + two[0].a2), s + 2);
}

// One direction of the whole cascade in place; step is 1 or -1; s: settle_both's, and what it ends with.
// Two sections at once: they overlap in the processor, and most cascades are a high-pass and a low-pass.
static void sweep_pair(const gn_biquad two[2], float *first, ptrdiff_t step, size_t n, double s[4]) {
  const gn_biquad c = two[0], d = two[1];
  for (size_t done = 0; done < n; done += FLUSH_EVERY_N) {
    const size_t block_n = n - done < FLUSH_EVERY_N ? n - done : FLUSH_EVERY_N;
    double s0 = s[0], s1 = s[1], t0 = s[2], t1 = s[3];
    for (size_t i = 0; i < block_n; i++) {
      float *sample = first + step * (ptrdiff_t)(done + i);
      const double x = (double)*sample, y = c.b0 * x + s0;
      s0 = (c.b1 * x + s1) - c.a1 * y;
      s1 = c.b2 * x - c.a2 * y;
      const double z = d.b0 * y + t0;
      t0 = (d.b1 * y + t1) - d.a1 * z;
      t1 = d.b2 * y - d.a2 * z;
      *sample = (float)z;
    }
    s[0] = s0, s[1] = s1, s[2] = t0, s[3] = t1;
    flush(s, 4);
  }
}

static void sweep(const gn_biquad *sections, size_t n_sections, float *first, ptrdiff_t step, size_t n) {
  for (size_t i = 0; i < n_sections; i += 2) {
    const gn_biquad two[2] = {sections[i], i + 1 < n_sections ? sections[i + 1] : THROUGH};
    double s[4];
    settle_both(two, (double)*first, s);
    sweep_pair(two, first, step, n, s);
  }
}

// The signal with both ends continued, pad_n samples each.
static void put_padded(const float *in, size_t n, size_t pad_n, float *x) {
  for (size_t k = 0; k < pad_n; k++) x[k] = gn_signal_before(in, pad_n - k);
  memcpy(x + pad_n, in, n * sizeof *x);
  for (size_t k = 0; k < pad_n; k++) x[pad_n + n + k] = gn_signal_behind(in, n, k + 1);
}

static size_t padding_within(const gn_biquad *sections, size_t n_sections, size_t n) {
  const size_t pad_n = gn_biquad_padding(sections, n_sections);
  return pad_n < n ? pad_n : n - 1;
}

static int zero_phase_any(const gn_biquad *sections, size_t n_sections, const float *in, float *out, size_t n) {
  if (n == 0) return 0;
  const size_t pad_n = padding_within(sections, n_sections, n), all_n = n + 2 * pad_n;
  float *x = gn_room(all_n, sizeof *x);
  if (!x) return -1;
  put_padded(in, n, pad_n, x);
  sweep(sections, n_sections, x, 1, all_n);
  sweep(sections, n_sections, x + all_n - 1, -1, all_n);
  memcpy(out, x + pad_n, n * sizeof *x);
  gn_free(x);
  return 0;
}

// Band-passes, eight at once, in float: each waits for its own last output, and eight fit into a vector register (on a processor of narrow ones into
// two). A high-pass has b1 = -2 b0 and b2 = b0, a low-pass b1 = 2 b0 and b2 = b0: together (1 - z^-2)^2, two differences of inputs two samples apart,
// which come first and leave nothing of a level; what is left of either section looks at its own last two outputs alone (direct form I, two operations
// between one output and the next). The signals lie side by side.
enum { LANES = 8, ROW_N = 4 }; // ROW_N: samples of each that are taken at a time
typedef float lanes __attribute__((vector_size(LANES * sizeof(float))));

// Coefficients, b of both; then what is remembered: the last two inputs, their steps, and what came out of either section.
#define BAND_PASS(NAME, T)                                                                                              \
  typedef struct NAME { T b, high_a1, high_a2, low_a1, low_a2, x1, x2, step1, step2, y1, y2, z1, z2; } NAME;            \
  GN_WIDE_PART void NAME##_take(NAME *s, T *x) {                                                                        \
    const T step = *x - s->x2, bend = step - s->step2;                                                                  \
    const T y = (bend - s->high_a2 * s->y2) - s->high_a1 * s->y1, z = (y - s->low_a2 * s->z2) - s->low_a1 * s->z1;      \
    s->x2 = s->x1, s->x1 = *x, s->step2 = s->step1, s->step1 = step;                                                    \
    s->y2 = s->y1, s->y1 = y, s->z2 = s->z1, s->z1 = z;                                                                 \
    *x = s->b * z;                                                                                                      \
  }
BAND_PASS(alone, double)
BAND_PASS(together, lanes)

// As if its input had been `level` for ever.
static alone alone_of(const gn_biquad two[2], double level) {
  return (alone){.b = two[0].b0 * two[1].b0, .high_a1 = two[0].a1, .high_a2 = two[0].a2, .low_a1 = two[1].a1, .low_a2 = two[1].a2, .x1 = level, .x2 = level};
}

static void flush_alone(alone *s) {
  double *const kept[] = {&s->step1, &s->step2, &s->y1, &s->y2, &s->z1, &s->z2};
  for (size_t k = 0; k < sizeof kept / sizeof *kept; k++)
    if (fabs(*kept[k]) < STATE_FLOOR) *kept[k] = 0;
}

// n samples from first on, step apart.
static void sweep_alone(alone *state, float *first, ptrdiff_t step, size_t n) {
  alone s = *state;
  for (size_t done = 0; done < n; done += FLUSH_EVERY_N) {
    const size_t block_n = n - done < FLUSH_EVERY_N ? n - done : FLUSH_EVERY_N;
    for (size_t i = 0; i < block_n; i++) {
      float *sample = first + step * (ptrdiff_t)(done + i);
      double x = (double)*sample;
      alone_take(&s, &x);
      *sample = (float)x;
    }
    flush_alone(&s);
  }
  *state = s;
}

static void put_lane(together *t, size_t l, const alone *s) {
  t->b[l] = (float)s->b;
  t->high_a1[l] = (float)s->high_a1, t->high_a2[l] = (float)s->high_a2, t->low_a1[l] = (float)s->low_a1, t->low_a2[l] = (float)s->low_a2;
  t->x1[l] = (float)s->x1, t->x2[l] = (float)s->x2, t->step1[l] = (float)s->step1, t->step2[l] = (float)s->step2;
  t->y1[l] = (float)s->y1, t->y2[l] = (float)s->y2, t->z1[l] = (float)s->z1, t->z2[l] = (float)s->z2;
}

static void take_lane(const together *t, size_t l, alone *s) {
  s->x1 = (double)t->x1[l], s->x2 = (double)t->x2[l], s->step1 = (double)t->step1[l], s->step2 = (double)t->step2[l];
  s->y1 = (double)t->y1[l], s->y2 = (double)t->y2[l], s->z1 = (double)t->z1[l], s->z2 = (double)t->z2[l];
}

// Up to LANES band-passes at work on one signal, or fewer on as many parts of it as there is room for: what goes on in a part begins ahead of it, by as
// much as it takes to settle, and so it is the other way round. The signal's ends are each band's own, and are swept alone, as are the last samples, that
// no part has. Nothing else is kept of what the first direction made for the second but in the bands' own samples.
enum { BLOCK_N = 1024 };

typedef struct team {
  const gn_biquad (*sections)[2];
  const float *in;
  float *const *out;
  size_t n_bands, n;
  size_t n_lanes, part_n, settle_n; // lane l has band l % n_bands, and part_n samples from l / n_bands * part_n on
  size_t pad_n[LANES];
  float *head[LANES], *tail[LANES], *room; // pad_n[l] samples ahead of the signal and behind it
  alone alone[LANES];
  together together;
} team;

// No part is shorter than twice what its beginning takes.
static void share_out(team *t) {
  for (size_t l = 0; l < t->n_bands; l++) t->settle_n = SETTLES_N * t->pad_n[l] > t->settle_n ? SETTLES_N * t->pad_n[l] : t->settle_n;
  const size_t room = LANES / t->n_bands, fit = t->n / (2 * t->settle_n + 1), n_parts = fit < 1 ? 1 : fit < room ? fit : room;
  t->n_lanes = n_parts * t->n_bands;
  t->part_n = t->n / n_parts;
}

static int team_init(team *t, const gn_biquad (*sections)[2], size_t n_bands, const float *in, float *const *out, size_t n) {
  size_t pads_n = 0;
  *t = (team){.sections = sections, .in = in, .out = out, .n_bands = n_bands, .n = n};
  for (size_t l = 0; l < n_bands; l++) pads_n += 2 * (t->pad_n[l] = padding_within(sections[l], 2, n));
  share_out(t);
  float *at = t->room = gn_room(pads_n, sizeof *at);
  if (!at) return -1;
  for (size_t l = 0; l < n_bands; at += 2 * t->pad_n[l], l++) {
    t->head[l] = at;
    t->tail[l] = at + t->pad_n[l];
    for (size_t k = 0; k < t->pad_n[l]; k++) t->head[l][k] = gn_signal_before(in, t->pad_n[l] - k);
    for (size_t k = 0; k < t->pad_n[l]; k++) t->tail[l][k] = gn_signal_behind(in, n, k + 1);
  }
  return 0;
}

static void join(team *t) {
  for (size_t l = 0; l < LANES; l++) put_lane(&t->together, l, &t->alone[l < t->n_lanes ? l : 0]);
}

// What is too small to be kept is let go of.
static void part(team *t) {
  for (size_t l = 0; l < t->n_lanes; l++) {
    take_lane(&t->together, l, &t->alone[l]);
    flush_alone(&t->alone[l]);
  }
}

// Samples from a place on in every lane's row, and back into the rows of those that are kept. Lanes to spare have the first one's row.
GN_WIDE_PART void take_rows(const float *const *from, size_t at, lanes x[ROW_N]) {
  for (size_t k = 0; k < ROW_N; k++) x[k] = GN_JOINED(*(const gn_row *)(from[k] + at), *(const gn_row *)(from[k + ROW_N] + at));
}

GN_WIDE_PART void put_rows(float *const *to, size_t n_kept, size_t at, const lanes x[ROW_N]) {
  for (size_t l = 0; l < LANES; l++)
    if (l < n_kept) *(gn_row *)(to[l] + at) = *((const gn_row *)&x[l % ROW_N] + l / ROW_N);
}

// Either half's four rows of four become their columns.
GN_WIDE_PART void turn_over(lanes x[ROW_N]) {
  const lanes a = GN_SHUFFLE_HALVES(x[0], x[1], 0, 4, 1, 5), b = GN_SHUFFLE_HALVES(x[2], x[3], 0, 4, 1, 5), c = GN_SHUFFLE_HALVES(x[0], x[1], 2, 6, 3, 7),
              d = GN_SHUFFLE_HALVES(x[2], x[3], 2, 6, 3, 7);
  x[0] = GN_SHUFFLE_HALVES(a, b, 0, 1, 4, 5), x[1] = GN_SHUFFLE_HALVES(a, b, 2, 3, 6, 7);
  x[2] = GN_SHUFFLE_HALVES(c, d, 0, 1, 4, 5), x[3] = GN_SHUFFLE_HALVES(c, d, 2, 3, 6, 7);
}

// A single sample of each.
GN_WIDE_PART void sweep_one(together *s, const float *const *from, float *const *to, size_t n_kept, size_t at) {
  lanes x = {0};
  for (size_t l = 0; l < LANES; l++) x[l] = from[l][at];
  together_take(s, &x);
  for (size_t l = 0; l < n_kept; l++) to[l][at] = x[l];
}

// n samples of every lane from the place `from_n` on; what comes out is kept of the first n_kept. to may be from.
GN_WIDE static void sweep_forwards(together *state, const float *const *from, float *const *to, size_t n_kept, size_t from_n, size_t n) {
  together s = *state;
  size_t at = from_n;
  for (; at + ROW_N <= from_n + n; at += ROW_N) {
    lanes x[ROW_N];
    take_rows(from, at, x);
    turn_over(x);
    for (size_t k = 0; k < ROW_N; k++) together_take(&s, &x[k]);
    turn_over(x);
    put_rows(to, n_kept, at, x);
  }
  for (; at < from_n + n; at++) sweep_one(&s, from, to, n_kept, at);
  *state = s;
}

// The same from the last one to the first.
GN_WIDE static void sweep_back(together *state, const float *const *from, float *const *to, size_t n_kept, size_t from_n, size_t n) {
  together s = *state;
  size_t end = from_n + n;
  for (; (end - from_n) % ROW_N; end--) sweep_one(&s, from, to, n_kept, end - 1);
  for (; end > from_n; end -= ROW_N) {
    lanes x[ROW_N];
    take_rows(from, end - ROW_N, x);
    turn_over(x);
    for (size_t k = ROW_N; k-- > 0;) together_take(&s, &x[k]);
    turn_over(x);
    put_rows(to, n_kept, end - ROW_N, x);
  }
  *state = s;
}

// Four signals side by side, in double.
typedef double four __attribute__((vector_size(ROW_N * sizeof(double))));

// Four samples, named one by one: gcc 12 makes two steps of a vector that is converted.
GN_WIDE_PART void widen(const float *x, four *wide) { *wide = (four){(double)x[0], (double)x[1], (double)x[2], (double)x[3]}; }

// Transposed direct form II; the brackets keep the chain from one output to the next short.
GN_WIDE_PART void step(const gn_biquad *c, four s[2], gn_row *sample) {
  four x;
  widen((const float *)sample, &x);
  const four y = c->b0 * x + s[0];
  s[0] = (c->b1 * x + s[1]) - c->a1 * y;
  s[1] = c->b2 * x - c->a2 * y;
  *sample = __builtin_convertvector(y, gn_row);
}

// The next samples of four signals, as many of each, in place.
GN_WIDE_PART void run_row(const gn_biquad *sections, size_t n_sections, four s[3][2], gn_row x[ROW_N]) {
  gn_turn_over(x);
  for (size_t k = 0; k < ROW_N; k++) {
    step(&sections[0], s[0], &x[k]);
    step(&sections[1], s[1], &x[k]);
    if (n_sections == 3) step(&sections[2], s[2], &x[k]);
  }
  gn_turn_over(x);
}

GN_WIDE void gn_biquad_run_four(const gn_biquad *sections, size_t n_sections, const float *const in[4], float *const out[4], size_t n) {
  four s[3][2] = {{{0}}};
  for (size_t l = 0; l < ROW_N && n; l++) {
    double settled[2];
    settle(&sections[0], (double)in[l][0], settled);
    s[0][0][l] = settled[0], s[0][1][l] = settled[1];
  }
  gn_row x[ROW_N];
  size_t i = 0;
  for (; i + ROW_N <= n; i += ROW_N) {
    for (size_t l = 0; l < ROW_N; l++) x[l] = *(const gn_row *)(in[l] + i);
    run_row(sections, n_sections, s, x);
    for (size_t l = 0; l < ROW_N; l++) *(gn_row *)(out[l] + i) = x[l];
  }
  for (size_t l = 0; l < ROW_N; l++)
    for (size_t k = 0; k < ROW_N; k++) x[l][k] = i + k < n ? in[l][i + k] : 0;
  run_row(sections, n_sections, s, x);
  for (size_t l = 0; l < ROW_N; l++)
    for (size_t k = 0; i + k < n; k++) out[l][i + k] = x[l][k];
}

// Where a lane's samples begin; lanes to spare have the first one's.
static size_t first_of(const team *t, size_t lane) { return lane < t->n_lanes ? lane / t->n_bands * t->part_n : 0; }
static size_t band_of(const team *t, size_t lane) { return lane < t->n_lanes ? lane % t->n_bands : 0; }

// As if every part but the first had taken all that lies ahead of it, which is swept for company.
static void settle_forwards(team *t) {
  const float *ahead[LANES];
  for (size_t l = 0; l < LANES; l++) {
    ahead[l] = t->in + (first_of(t, l) ? first_of(t, l) - t->settle_n : 0);
    t->alone[l] = alone_of(t->sections[band_of(t, l)], (double)ahead[l][0]);
  }
  join(t);
  sweep_forwards(&t->together, ahead, NULL, 0, 0, t->settle_n);
  part(t);
}

// And every part but the last all that lies behind it.
static void settle_back(team *t) {
  const float *behind[LANES];
  for (size_t l = 0; l < LANES; l++) {
    const size_t end = first_of(t, l) + t->part_n;
    behind[l] = t->out[band_of(t, l)] + (end + t->settle_n <= t->n ? end : 0);
    t->alone[l] = alone_of(t->sections[band_of(t, l)], (double)behind[l][t->settle_n - 1]);
  }
  join(t);
  sweep_back(&t->together, behind, NULL, 0, 0, t->settle_n);
  part(t);
}

static void run_forwards(team *t) {
  const size_t last = t->n_lanes - t->n_bands, done_n = first_of(t, last) + t->part_n; // last: the first of the lanes that end with the signal
  const float *in[LANES];
  float *out[LANES];
  for (size_t l = 0; l < LANES; l++) {
    in[l] = t->in + first_of(t, l);
    out[l] = t->out[band_of(t, l)] + first_of(t, l);
  }
  if (last) settle_forwards(t);
  for (size_t l = 0; l < t->n_bands; l++) {
    t->alone[l] = alone_of(t->sections[l], (double)(t->pad_n[l] ? t->head[l][0] : t->in[0]));
    sweep_alone(&t->alone[l], t->head[l], 1, t->pad_n[l]);
  }
  for (size_t at = 0; at < t->part_n; at += BLOCK_N) {
    join(t);
    sweep_forwards(&t->together, in, out, t->n_lanes, at, t->part_n - at < BLOCK_N ? t->part_n - at : BLOCK_N);
    part(t);
  }
  for (size_t l = 0; l < t->n_bands; l++) {
    memcpy(t->out[l] + done_n, t->in + done_n, (t->n - done_n) * sizeof *t->in);
    sweep_alone(&t->alone[last + l], t->out[l] + done_n, 1, t->n - done_n);
    sweep_alone(&t->alone[last + l], t->tail[l], 1, t->pad_n[l]);
  }
}

static void run_back(team *t) {
  const size_t last = t->n_lanes - t->n_bands, done_n = first_of(t, last) + t->part_n;
  float *out[LANES];
  for (size_t l = 0; l < LANES; l++) out[l] = t->out[band_of(t, l)] + first_of(t, l);
  if (last) settle_back(t);
  for (size_t l = 0; l < t->n_bands; l++) {
    float *const behind = t->pad_n[l] ? t->tail[l] + t->pad_n[l] - 1 : t->out[l] + t->n - 1;
    t->alone[last + l] = alone_of(t->sections[l], (double)*behind);
    sweep_alone(&t->alone[last + l], behind, -1, t->pad_n[l]);
    sweep_alone(&t->alone[last + l], t->out[l] + t->n - 1, -1, t->n - done_n);
  }
  for (size_t left = t->part_n; left > 0;) {
    const size_t n = left % BLOCK_N ? left % BLOCK_N : BLOCK_N;
    left -= n;
    join(t);
    sweep_back(&t->together, (const float *const *)out, out, t->n_lanes, left, n);
    part(t);
  }
}

static int zero_phase_lanes(const gn_biquad (*sections)[2], size_t n_bands, const float *in, float *const *out, size_t n) {
  team t;
  if (team_init(&t, sections, n_bands, in, out, n)) return -1;
  run_forwards(&t);
  run_back(&t);
  gn_free(t.room);
  return 0;
}

// A single one has nobody to share a register with. out may be in.
static int zero_phase_alone(const gn_biquad (*two)[2], const float *in, float *out, size_t n) {
  team t;
  if (team_init(&t, two, 1, in, &out, n)) return -1;
  const size_t pad_n = t.pad_n[0];
  alone s = alone_of(*two, (double)(pad_n ? t.head[0][0] : in[0]));
  memmove(out, in, n * sizeof *in);
  sweep_alone(&s, t.head[0], 1, pad_n);
  sweep_alone(&s, out, 1, n);
  sweep_alone(&s, t.tail[0], 1, pad_n);
  float *const last = pad_n ? t.tail[0] + pad_n - 1 : out + n - 1;
  s = alone_of(*two, (double)*last);
  sweep_alone(&s, last, -1, pad_n);
  sweep_alone(&s, out + n - 1, -1, n);
  gn_free(t.room);
  return 0;
}

static bool is_band_pass(const gn_biquad two[2]) {
  const gn_biquad *high = &two[0], *low = &two[1];
  return high->b1 == -2 * high->b0 && high->b2 == high->b0 && low->b1 == 2 * low->b0 && low->b2 == low->b0;
}

int gn_biquad_zero_phase_bands(const gn_biquad (*bands)[2], size_t n_bands, const float *in, float *const *out, size_t n) {
  int refused = 0;
  for (size_t i = 0; i < n_bands; i++)
    if (!is_band_pass(bands[i])) return -1;
  for (size_t done = 0; n && done < n_bands && !refused; done += LANES) {
    const size_t some = n_bands - done < LANES ? n_bands - done : LANES;
    refused = some > 1 ? zero_phase_lanes(bands + done, some, in, out + done, n) : zero_phase_alone(bands + done, in, out[done], n);
  }
  return refused;
}

int gn_biquad_zero_phase(const gn_biquad *sections, size_t n_sections, const float *in, float *out, size_t n) {
  if (n_sections != 2 || !is_band_pass(sections)) return zero_phase_any(sections, n_sections, in, out, n);
  gn_biquad two[1][2] = {{sections[0], sections[1]}};
  return gn_biquad_zero_phase_bands((const gn_biquad(*)[2])two, 1, in, &out, n);
}

double gn_biquad_power_at(const gn_biquad *sections, size_t n_sections, double frequency_hz, double fs_hz) {
  const double w = 2 * GN_PI * frequency_hz / fs_hz;
  const double c1 = gn_cos(w), s1 = gn_sin(w), c2 = gn_cos(2 * w), s2 = gn_sin(2 * w);
  double power = 1;
  for (size_t i = 0; i < n_sections; i++) {
    const gn_biquad *q = &sections[i];
    const double nr = q->b0 + q->b1 * c1 + q->b2 * c2, ni = q->b1 * s1 + q->b2 * s2;
    const double dr = 1 + q->a1 * c1 + q->a2 * c2, di = q->a1 * s1 + q->a2 * s2;
    power *= (nr * nr + ni * ni) / (dr * dr + di * di);
  }
  return power;
}
