// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/biquad.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"

// Below this a filter's memory is far under the last bit of any sample; kept, it would sink into denormal numbers, which
// are slow, whenever a recording falls silent.
static const double STATE_FLOOR = 1e-60;
static const size_t FLUSH_EVERY_N = 256;

static const double RINGS_TO = 1e-3; // of its start: where the padding ends

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

// Transposed direct form II; the brackets keep the chain from one output to the next short.
void gn_biquad_run(const gn_biquad *section, double state[2], const float *in, float *out, size_t n) {
  const gn_biquad c = *section;
  for (size_t start = 0; start < n; start += FLUSH_EVERY_N) {
    const size_t end = n - start < FLUSH_EVERY_N ? n : start + FLUSH_EVERY_N;
    double s0 = state[0], s1 = state[1];
    for (size_t i = start; i < end; i++) {
      const double x = (double)in[i], y = c.b0 * x + s0;
      s0 = (c.b1 * x + s1) - c.a1 * y;
      s1 = c.b2 * x - c.a2 * y;
      out[i] = (float)y;
    }
    state[0] = s0;
    state[1] = s1;
    flush(state, 2);
  }
}

void gn_biquad_settle(const gn_biquad *section, double level, double state[2]) {
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
  gn_biquad_settle(&two[0], level, s);
  gn_biquad_settle(&two[1], level * (two[0].b0 + two[0].b1 + two[0].b2) / (1 + two[0].a1 + two[0].a2), s + 2);
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

static const gn_biquad THROUGH = {1, 0, 0, 0, 0};

static void sweep(const gn_biquad *sections, size_t n_sections, float *first, ptrdiff_t step, size_t n) {
  for (size_t i = 0; i < n_sections; i += 2) {
    const gn_biquad two[2] = {sections[i], i + 1 < n_sections ? sections[i + 1] : THROUGH};
    double s[4];
    settle_both(two, (double)*first, s);
    sweep_pair(two, first, step, n, s);
  }
}

// The signal with both ends continued by odd reflection, pad_n samples each.
static float *padded(const float *in, size_t n, size_t pad_n) {
  float *x = gn_room(n + 2 * pad_n, sizeof *x);
  if (!x) return NULL;
  for (size_t i = 0; i < pad_n; i++) {
    x[i] = 2 * in[0] - in[pad_n - i];
    x[pad_n + n + i] = 2 * in[n - 1] - in[n - 2 - i];
  }
  memcpy(x + pad_n, in, n * sizeof *x);
  return x;
}

static size_t padding_within(const gn_biquad *sections, size_t n_sections, size_t n) {
  const size_t pad_n = gn_biquad_padding(sections, n_sections);
  return pad_n < n ? pad_n : n - 1;
}

int gn_biquad_zero_phase(const gn_biquad *sections, size_t n_sections, const float *in, float *out, size_t n) {
  if (n == 0) return 0;
  const size_t pad_n = padding_within(sections, n_sections, n), all_n = n + 2 * pad_n;
  float *x = padded(in, n, pad_n);
  if (!x) return -1;
  sweep(sections, n_sections, x, 1, all_n);
  sweep(sections, n_sections, x + all_n - 1, -1, all_n);
  memcpy(out, x + pad_n, n * sizeof *x);
  gn_free(x);
  return 0;
}

// Several cascades at once: each waits for its own last output, and two fit into a vector register. The numbers are sweep_pair's.
enum { PAIRS = 2, LANES = 2 * PAIRS };
typedef double pair __attribute__((vector_size(2 * sizeof(double))));
typedef struct pair_section { pair b0, a1, a2, s0, s1; } pair_section;
typedef struct lane { const gn_biquad *sections; float *x; size_t n, pad_n; } lane;

static pair_section pair_of(const gn_biquad *a, const gn_biquad *b, const double *state_a, const double *state_b) {
  return (pair_section){{a->b0, b->b0}, {a->a1, b->a1}, {a->a2, b->a2}, {state_a[0], state_b[0]}, {state_a[1], state_b[1]}};
}

// A high-pass has b1 = -2 b0 and b2 = b0, a low-pass b1 = 2 b0: twice a number is exact, and so one product does for three.
static inline pair high_step(pair_section *s, pair x) {
  const pair g = s->b0 * x, y = g + s->s0;
  s->s0 = (s->s1 - (g + g)) - s->a1 * y;
  s->s1 = g - s->a2 * y;
  return y;
}

static inline pair low_step(pair_section *s, pair x) {
  const pair g = s->b0 * x, y = g + s->s0;
  s->s0 = ((g + g) + s->s1) - s->a1 * y;
  s->s1 = g - s->a2 * y;
  return y;
}

static void flush_pair(pair_section *s) {
  for (size_t k = 0; k < 2; k++) {
    if (fabs(s->s0[k]) < STATE_FLOOR) s->s0[k] = 0;
    if (fabs(s->s1[k]) < STATE_FLOOR) s->s1[k] = 0;
  }
}

// FLUSH_EVERY_N samples from each lane's own place on. Where two lanes are all, the second pair is left out.
static inline __attribute__((always_inline)) void sweep_block(pair_section one[PAIRS], pair_section two[PAIRS], float *const at[LANES], ptrdiff_t step,
                                                              const bool both) {
  pair_section a = one[0], b = one[1], c = two[0], d = two[1];
  float *const x0 = at[0], *const x1 = at[1], *const x2 = at[2], *const x3 = at[3];
  for (ptrdiff_t i = 0; i < (ptrdiff_t)FLUSH_EVERY_N; i++) {
    const ptrdiff_t k = step * i;
    const pair y = low_step(&c, high_step(&a, (pair){(double)x0[k], (double)x1[k]}));
    if (both) {
      const pair z = low_step(&d, high_step(&b, (pair){(double)x2[k], (double)x3[k]}));
      x2[k] = (float)z[0], x3[k] = (float)z[1];
    }
    x0[k] = (float)y[0], x1[k] = (float)y[1];
  }
  one[0] = a, one[1] = b, two[0] = c, two[1] = d;
  for (size_t p = 0; p < PAIRS; p++) {
    flush_pair(&one[p]);
    flush_pair(&two[p]);
  }
}

// The first n samples of all lanes, n a multiple of FLUSH_EVERY_N.
static void sweep_lanes(const lane lanes[LANES], size_t n_lanes, float *const first[LANES], ptrdiff_t step, size_t n, double states[LANES][4]) {
  pair_section one[PAIRS], two[PAIRS];
  for (size_t p = 0; p < PAIRS; p++) {
    const lane *l = &lanes[2 * p], *m = l + 1;
    one[p] = pair_of(&l->sections[0], &m->sections[0], states[2 * p], states[2 * p + 1]);
    two[p] = pair_of(&l->sections[1], &m->sections[1], states[2 * p] + 2, states[2 * p + 1] + 2);
  }
  for (size_t done = 0; done < n; done += FLUSH_EVERY_N) {
    float *at[LANES];
    for (size_t l = 0; l < LANES; l++) at[l] = first[l] + step * (ptrdiff_t)done;
    if (n_lanes > 2) sweep_block(one, two, at, step, true);
    else sweep_block(one, two, at, step, false);
  }
  for (size_t l = 0; l < LANES; l++) {
    const pair_section *s = &one[l / 2], *t = &two[l / 2];
    states[l][0] = s->s0[l % 2], states[l][1] = s->s1[l % 2], states[l][2] = t->s0[l % 2], states[l][3] = t->s1[l % 2];
  }
}

// One direction of the first n_lanes; those behind them repeat the first, sample by sample.
static void sweep_together(const lane lanes[LANES], size_t n_lanes, ptrdiff_t step) {
  float *first[LANES];
  double states[LANES][4];
  size_t shared_n = lanes[0].n;
  for (size_t l = 0; l < LANES; l++) {
    first[l] = step > 0 ? lanes[l].x : lanes[l].x + lanes[l].n - 1;
    settle_both(lanes[l].sections, (double)*first[l], states[l]);
    if (lanes[l].n < shared_n) shared_n = lanes[l].n;
  }
  shared_n -= shared_n % FLUSH_EVERY_N;
  sweep_lanes(lanes, n_lanes, first, step, shared_n, states);
  for (size_t l = 0; l < n_lanes; l++)
    sweep_pair(lanes[l].sections, first[l] + step * (ptrdiff_t)shared_n, step, lanes[l].n - shared_n, states[l]);
}

static int zero_phase_lanes(const gn_biquad (*bands)[2], size_t n_bands, const float *in, float *const *out, size_t n) {
  lane lanes[LANES] = {{NULL, NULL, 0, 0}};
  int refused = 0;
  for (size_t l = 0; l < n_bands && !refused; l++) {
    const size_t pad_n = padding_within(bands[l], 2, n);
    lanes[l] = (lane){bands[l], padded(in, n, pad_n), n + 2 * pad_n, pad_n};
    refused = lanes[l].x ? 0 : -1;
  }
  for (size_t l = n_bands; l < LANES; l++) lanes[l] = lanes[0];
  if (!refused) {
    sweep_together(lanes, n_bands, 1);
    sweep_together(lanes, n_bands, -1);
  }
  for (size_t l = 0; l < n_bands; l++) {
    if (!refused) memcpy(out[l], lanes[l].x + lanes[l].pad_n, n * sizeof **out);
    gn_free(lanes[l].x);
  }
  return refused;
}

static bool is_band_pass(const gn_biquad two[2]) {
  const gn_biquad *high = &two[0], *low = &two[1];
  return high->b1 == -2 * high->b0 && high->b2 == high->b0 && low->b1 == 2 * low->b0 && low->b2 == low->b0;
}

int gn_biquad_zero_phase_bands(const gn_biquad (*bands)[2], size_t n_bands, const float *in, float *const *out, size_t n) {
  int refused = 0;
  for (size_t i = 0; i < n_bands; i++)
    if (!is_band_pass(bands[i])) return -1;
  for (size_t done = 0; n && done < n_bands && !refused; done += LANES)
    refused = zero_phase_lanes(bands + done, n_bands - done < LANES ? n_bands - done : LANES, in, out + done, n);
  return refused;
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
