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
static const double STATE_FLOOR = 1e-60;
static const size_t FLUSH_EVERY_N = 1024;

static const double RINGS_TO = 1e-3; // of its start: where the padding ends
static const size_t SETTLES_N = 6;   // paddings after which nothing is left of how it began: 1e-18 of it, where a double has 1e-16

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

// Band-passes, four at once: each waits for its own last output, and four fit into a vector register (on a processor of narrow ones into
// two). A high-pass has b1 = -2 b0 and b2 = b0, a low-pass b1 = 2 b0 and b2 = b0: together (1 - z^-2)^2, two differences of inputs two samples apart,
// which come first; what is left of either section looks at its own last two outputs alone (direct form I, two operations between one
// output and the next). The signals lie side by side.
enum { LANES = 4 };
typedef double lanes __attribute__((vector_size(LANES * sizeof(double))));

// Coefficients, b of both; then what is remembered: the last two inputs, their steps, and what came out of either section.
#define BAND_PASS(NAME, T)                                                                                              \
  typedef struct NAME { T b, high_a1, high_a2, low_a1, low_a2, x1, x2, step1, step2, y1, y2, z1, z2; } NAME;           \
  GN_WIDE_PART void NAME##_answer(NAME *s, T *x) {                                                                      \
    const T y = (*x - s->high_a2 * s->y2) - s->high_a1 * s->y1, z = (y - s->low_a2 * s->z2) - s->low_a1 * s->z1;       \
    s->y2 = s->y1, s->y1 = y, s->z2 = s->z1, s->z1 = z;                                                                \
    *x = s->b * z;                                                                                                      \
  }                                                                                                                     \
  GN_WIDE_PART void NAME##_take(NAME *s, T *x) {                                                                        \
    const T step = *x - s->x2, bend = step - s->step2;                                                                  \
    s->x2 = s->x1, s->x1 = *x, s->step2 = s->step1, s->step1 = step;                                                    \
    *x = bend;                                                                                                          \
    NAME##_answer(s, x);                                                                                                \
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
  t->b[l] = s->b, t->high_a1[l] = s->high_a1, t->high_a2[l] = s->high_a2, t->low_a1[l] = s->low_a1, t->low_a2[l] = s->low_a2;
  t->x1[l] = s->x1, t->x2[l] = s->x2, t->step1[l] = s->step1, t->step2[l] = s->step2;
  t->y1[l] = s->y1, t->y2[l] = s->y2, t->z1[l] = s->z1, t->z2[l] = s->z2;
}

static void take_lane(const together *t, size_t l, alone *s) {
  s->x1 = t->x1[l], s->x2 = t->x2[l], s->step1 = t->step1[l], s->step2 = t->step2[l];
  s->y1 = t->y1[l], s->y2 = t->y2[l], s->z1 = t->z1[l], s->z2 = t->z2[l];
}

// Up to LANES band-passes at work on one signal, or two on both halves of it: what goes on in the second half begins ahead of it, by as much as it takes
// to settle, and so it is the other way round. The signal's ends are each one's own, and are swept alone, as is the last sample of an odd number. Nothing
// else is kept of what the first direction made for the second but in the bands' own samples.
enum { BLOCK_N = 1024 };

typedef struct team {
  const gn_biquad (*sections)[2];
  const float *in;
  float *const *out;
  size_t n_bands, n;
  size_t n_lanes, part_n, apart; // samples of a lane, and how far the second half's lie behind the first's; 0: each has all
  size_t pad_n[LANES], settle_n;
  float *head[LANES], *tail[LANES], *room, *settling; // pad_n[l] samples ahead of the signal and behind it; settle_n
  alone alone[LANES];
  together together;
  float *lane[LANES]; // each lane's samples; of lanes to spare the first one's
} team;

// Two bands leave two lanes to spare.
static void share_out(team *t) {
  size_t settle_n = 0;
  for (size_t l = 0; l < t->n_bands; l++) settle_n = SETTLES_N * t->pad_n[l] > settle_n ? SETTLES_N * t->pad_n[l] : settle_n;
  const bool halved = 2 * t->n_bands == LANES && 4 * settle_n <= t->n;
  t->n_lanes = halved ? LANES : t->n_bands;
  t->part_n = halved ? t->n / 2 : t->n;
  t->apart = halved ? t->part_n : 0;
  t->settle_n = halved ? settle_n : 0;
  for (size_t l = 0; l < LANES; l++) t->lane[l] = l < t->n_lanes ? t->out[l % t->n_bands] + l / t->n_bands * t->apart : t->out[0];
}

static int team_init(team *t, const gn_biquad (*sections)[2], size_t n_bands, const float *in, float *const *out, size_t n) {
  size_t pads_n = 0;
  *t = (team){.sections = sections, .in = in, .out = out, .n_bands = n_bands, .n = n};
  for (size_t l = 0; l < n_bands; l++) pads_n += 2 * (t->pad_n[l] = padding_within(sections[l], 2, n));
  share_out(t);
  float *at = t->room = gn_room(pads_n + t->settle_n, sizeof *at);
  if (!at) return -1;
  t->settling = at + pads_n;
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

// One sample through every lane.
GN_WIDE_PART gn_row taken(together *s, lanes *x) {
  together_take(s, x);
  return __builtin_convertvector(*x, gn_row);
}

GN_WIDE_PART void put(float *const *to, size_t n_lanes, size_t at, const gn_row x[LANES]) {
  for (size_t l = 0; l < LANES; l++)
    if (l < n_lanes) *(gn_row *)(to[l] + at) = x[l];
}

// Every lane takes its samples from `at` to before `end`, one at a time: the last two those `apart` behind the first two's.
GN_WIDE_PART void take_each(together *s, const float *in, size_t apart, float *const *to, size_t n_lanes, size_t at, size_t end) {
  for (; at < end; at++) {
    const double v = (double)in[at], w = (double)in[at + apart];
    const gn_row x = taken(s, &(lanes){v, v, w, w});
    for (size_t l = 0; l < n_lanes; l++) to[l][at] = x[l];
  }
}

// Four samples, named one by one: gcc 12 makes two steps of a vector that is converted.
GN_WIDE_PART void widen(const float *x, lanes *wide) { *wide = (lanes){(double)x[0], (double)x[1], (double)x[2], (double)x[3]}; }

// Both differences of four samples.
GN_WIDE_PART void bends_of(const float *in, lanes *bend) {
  lanes x, ahead, before;
  widen(in, &x);
  widen(in - 2, &ahead);
  widen(in - 4, &before);
  *bend = (x - ahead) - (ahead - before);
}

// Every lane takes the next n samples: what comes out goes to its own from `at` on. Four at a time, behind the first four, whose differences are the
// same for all that share them.
GN_WIDE_PART void sweep_apart(together *state, const float *in, size_t apart, float *const *to, size_t n_lanes, size_t at, size_t n) {
  together s = *state;
  const size_t end = at + n, first = at || n < LANES ? at : LANES, fours = first + (end - first) / LANES * LANES;
  take_each(&s, in, apart, to, n_lanes, at, first);
  for (at = first; at < fours; at += LANES) {
    gn_row x[LANES];
    lanes bend, other;
    bends_of(in + at, &bend);
    bends_of(in + at + apart, &other);
    for (size_t k = 0; k < LANES; k++) {
      lanes v = {bend[k], bend[k], other[k], other[k]};
      together_answer(&s, &v);
      x[k] = __builtin_convertvector(v, gn_row);
    }
    gn_turn_over(x);
    put(to, n_lanes, at, x);
  }
  if (first < fours)
    for (size_t l = 0; l < LANES; l++) {
      const float *const behind = in + at + (l < LANES / 2 ? 0 : apart);
      s.x1[l] = (double)*(behind - 1), s.x2[l] = (double)*(behind - 2);
      s.step1[l] = (double)*(behind - 1) - (double)*(behind - 3), s.step2[l] = (double)*(behind - 2) - (double)*(behind - 4);
    }
  take_each(&s, in, apart, to, n_lanes, at, end);
  *state = s;
}

// The same twice: where all lanes take the same samples nothing is worked out for the second half.
GN_WIDE static void sweep_forwards(together *state, const float *in, size_t apart, float *const *to, size_t n_lanes, size_t at, size_t n) {
  if (apart) sweep_apart(state, in, apart, to, n_lanes, at, n);
  else sweep_apart(state, in, 0, to, n_lanes, at, n);
}

// n samples of the bands' own in place, from the last to the first; lanes to spare look at the first one's.
GN_WIDE static void sweep_back(together *state, float *const *in, size_t n_lanes, size_t from, size_t n) {
  together s = *state;
  size_t left = n;
  for (; left % LANES; left--) {
    const size_t at = from + left - 1;
    const gn_row x = taken(&s, &(lanes){(double)in[0][at], (double)in[1][at], (double)in[2][at], (double)in[3][at]});
    for (size_t l = 0; l < n_lanes; l++) in[l][at] = x[l];
  }
  for (; left; left -= LANES) {
    const size_t at = from + left - LANES;
    gn_row x[LANES];
    for (size_t l = 0; l < LANES; l++) x[l] = *(const gn_row *)(in[l] + at);
    gn_turn_over(x);
    for (size_t k = LANES; k-- > 0;) {
      lanes a;
      widen((const float *)&x[k], &a);
      x[k] = taken(&s, &a);
    }
    gn_turn_over(x);
    put(in, n_lanes, at, x);
  }
  *state = s;
}

// Transposed direct form II; the brackets keep the chain from one output to the next short.
GN_WIDE_PART void step(const gn_biquad *c, lanes s[2], gn_row *sample) {
  lanes x;
  widen((const float *)sample, &x);
  const lanes y = c->b0 * x + s[0];
  s[0] = (c->b1 * x + s[1]) - c->a1 * y;
  s[1] = c->b2 * x - c->a2 * y;
  *sample = __builtin_convertvector(y, gn_row);
}

// The next samples of four signals, as many of each, in place.
GN_WIDE_PART void run_row(const gn_biquad *sections, size_t n_sections, lanes s[3][2], gn_row x[LANES]) {
  gn_turn_over(x);
  for (size_t k = 0; k < LANES; k++) {
    step(&sections[0], s[0], &x[k]);
    step(&sections[1], s[1], &x[k]);
    if (n_sections == 3) step(&sections[2], s[2], &x[k]);
  }
  gn_turn_over(x);
}

GN_WIDE void gn_biquad_run_four(const gn_biquad *sections, size_t n_sections, const float *const in[4], float *const out[4], size_t n) {
  lanes s[3][2] = {{{0}}};
  for (size_t l = 0; l < LANES && n; l++) {
    double settled[2];
    settle(&sections[0], (double)in[l][0], settled);
    s[0][0][l] = settled[0], s[0][1][l] = settled[1];
  }
  gn_row x[LANES];
  size_t i = 0;
  for (; i + LANES <= n; i += LANES) {
    for (size_t l = 0; l < LANES; l++) x[l] = *(const gn_row *)(in[l] + i);
    run_row(sections, n_sections, s, x);
    for (size_t l = 0; l < LANES; l++) *(gn_row *)(out[l] + i) = x[l];
  }
  for (size_t l = 0; l < LANES; l++)
    for (size_t k = 0; k < LANES; k++) x[l][k] = i + k < n ? in[l][i + k] : 0;
  run_row(sections, n_sections, s, x);
  for (size_t l = 0; l < LANES; l++)
    for (size_t k = 0; i + k < n; k++) out[l][i + k] = x[l][k];
}

// As if it had taken all that lies ahead of its half of the signal: settle_n samples from `from` on, in this direction.
static alone settled(const team *t, size_t band, const float *from, ptrdiff_t step) {
  float *const first = step > 0 ? t->settling : t->settling + t->settle_n - 1;
  memcpy(t->settling, from, t->settle_n * sizeof *from);
  alone s = alone_of(t->sections[band], (double)*first);
  sweep_alone(&s, first, step, t->settle_n);
  return s;
}

static void run_forwards(team *t) {
  const size_t done_n = t->apart + t->part_n, last = t->n_lanes - t->n_bands; // the first of the lanes that end with the signal
  for (size_t l = 0; l < t->n_bands; l++) {
    if (t->apart) t->alone[last + l] = settled(t, l, t->in + t->apart - t->settle_n, 1);
    t->alone[l] = alone_of(t->sections[l], (double)(t->pad_n[l] ? t->head[l][0] : t->in[0]));
    sweep_alone(&t->alone[l], t->head[l], 1, t->pad_n[l]);
  }
  for (size_t at = 0; at < t->part_n; at += BLOCK_N) {
    const size_t n = t->part_n - at < BLOCK_N ? t->part_n - at : BLOCK_N;
    join(t);
    sweep_forwards(&t->together, t->in, t->apart, t->lane, t->n_lanes, at, n);
    part(t);
  }
  for (size_t l = 0; l < t->n_bands; l++) {
    memcpy(t->out[l] + done_n, t->in + done_n, (t->n - done_n) * sizeof *t->in);
    sweep_alone(&t->alone[last + l], t->out[l] + done_n, 1, t->n - done_n);
    sweep_alone(&t->alone[last + l], t->tail[l], 1, t->pad_n[l]);
  }
}

static void run_back(team *t) {
  const size_t done_n = t->apart + t->part_n, last = t->n_lanes - t->n_bands;
  for (size_t l = 0; l < t->n_bands; l++) {
    float *const behind = t->pad_n[l] ? t->tail[l] + t->pad_n[l] - 1 : t->out[l] + t->n - 1;
    if (t->apart) t->alone[l] = settled(t, l, t->out[l] + t->apart, -1);
    t->alone[last + l] = alone_of(t->sections[l], (double)*behind);
    sweep_alone(&t->alone[last + l], behind, -1, t->pad_n[l]);
    sweep_alone(&t->alone[last + l], t->out[l] + t->n - 1, -1, t->n - done_n);
  }
  for (size_t left = t->part_n; left > 0;) {
    const size_t n = left % BLOCK_N ? left % BLOCK_N : BLOCK_N;
    left -= n;
    join(t);
    sweep_back(&t->together, t->lane, t->n_lanes, left, n);
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
