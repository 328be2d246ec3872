// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/biquad.h"

#include <math.h>
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

// One direction of the whole cascade in place; step is 1 or -1. Settled at the first sample, as if it had stood for ever.
// Two sections at once: they overlap in the processor, and most cascades are a high-pass and a low-pass.
static void sweep_pair(const gn_biquad *two, float *first, ptrdiff_t step, size_t n) {
  const gn_biquad c = two[0], d = two[1];
  double s[4];
  gn_biquad_settle(&c, (double)*first, s);
  gn_biquad_settle(&d, (double)*first * (c.b0 + c.b1 + c.b2) / (1 + c.a1 + c.a2), s + 2);
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
    sweep_pair(two, first, step, n);
  }
}

int gn_biquad_zero_phase(const gn_biquad *sections, size_t n_sections, const float *in, float *out, size_t n) {
  if (n == 0) return 0;
  size_t pad_n = gn_biquad_padding(sections, n_sections);
  if (pad_n > n - 1) pad_n = n - 1;
  const size_t all_n = n + 2 * pad_n;
  float *x = gn_new(all_n, sizeof *x);
  if (!x) return -1;
  for (size_t i = 0; i < pad_n; i++) {
    x[i] = 2 * in[0] - in[pad_n - i];
    x[pad_n + n + i] = 2 * in[n - 1] - in[n - 2 - i];
  }
  memcpy(x + pad_n, in, n * sizeof *x);
  sweep(sections, n_sections, x, 1, all_n);
  sweep(sections, n_sections, x + all_n - 1, -1, all_n);
  memcpy(out, x + pad_n, n * sizeof *x);
  gn_free(x);
  return 0;
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
