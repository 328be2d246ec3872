// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"

gn_random gn_synth_stream(uint64_t seed, stream_of id) {
  // Any odd constant keeps the streams apart; one step of the generator mixes seed and name.
  gn_random mix = gn_random_of(seed ^ ((uint64_t)id * 0xd1b54a32d192ed03u));
  return gn_random_of(gn_random_next(&mix));
}

double gn_synth_between(gn_random *r, double lo, double hi) { return lo + (hi - lo) * gn_random_uniform(r); }

double gn_synth_white(gn_random *r) {
  // Four 16-bit uniforms out of one draw: Irwin and Hall's sum, near enough to normal for what is then filtered.
  const uint64_t z = gn_random_next(r);
  const double sum = (double)(z & 0xffff) + (double)((z >> 16) & 0xffff) + (double)((z >> 32) & 0xffff) + (double)(z >> 48);
  return (sum * (1.0 / 65536) - 2.0 + 2.0 / 65536) * 1.7320508075688772;
}

double gn_synth_spread(gn_random *r, double relative) { return gn_exp(relative * gn_random_normal(r)); }

double gn_synth_exponential(gn_random *r, double mean) { return -mean * gn_log(1 - gn_random_uniform(r)); }

typedef struct warp { double cos_w, alpha; } warp;

static warp warp_of(double fs_hz, double f_hz, double q) {
  if (f_hz > 0.45 * fs_hz) f_hz = 0.45 * fs_hz;
  const double w = 2 * GN_PI * f_hz / fs_hz;
  return (warp){gn_cos(w), gn_sin(w) / (2 * q)};
}

static biquad section(double b0, double b1, double b2, warp w, double over) {
  const double a0 = 1 + w.alpha * over;
  return (biquad){b0 / a0, b1 / a0, b2 / a0, -2 * w.cos_w / a0, (1 - w.alpha * over) / a0, 0, 0};
}

biquad gn_synth_low_pass(double fs_hz, double f_hz, double q) {
  const warp w = warp_of(fs_hz, f_hz, q);
  return section((1 - w.cos_w) / 2, 1 - w.cos_w, (1 - w.cos_w) / 2, w, 1);
}

biquad gn_synth_high_pass(double fs_hz, double f_hz, double q) {
  const warp w = warp_of(fs_hz, f_hz, q);
  return section((1 + w.cos_w) / 2, -1 - w.cos_w, (1 + w.cos_w) / 2, w, 1);
}

biquad gn_synth_band_pass(double fs_hz, double f_hz, double q) {
  const warp w = warp_of(fs_hz, f_hz, q);
  return section(w.alpha, 0, -w.alpha, w, 1);
}

biquad gn_synth_peak(double fs_hz, double f_hz, double q, double gain_db) {
  const warp w = warp_of(fs_hz, f_hz, q);
  const double a = gn_from_db(gain_db / 4); // square root of the amplitude ratio
  return section(1 + w.alpha * a, -2 * w.cos_w, 1 - w.alpha * a, w, 1 / a);
}

void gn_synth_filter(biquad *f, float *x, size_t n) {
  for (size_t i = 0; i < n; i++) x[i] = (float)gn_synth_step(f, (double)x[i]);
  // What has died away is set to nothing, before it becomes so small that arithmetic slows down.
  if (fabs(f->z1) < 1e-30) f->z1 = 0;
  if (fabs(f->z2) < 1e-30) f->z2 = 0;
}

int gn_synth_spans_add(spans *s, double start_s, double end_s) {
  if (gn_grow((void **)&s->items, &s->capacity, s->n + 1, sizeof *s->items)) return -1;
  s->items[s->n++] = (gn_synth_span){start_s, end_s};
  return 0;
}
