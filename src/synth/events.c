// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/parts.h"

#include <math.h>

#include "base/maths.h"

// Things that begin at random moments: the gut, a voice, a hand on the stethoscope, knocks. One random draw to a
// statement: C leaves the order of a call's arguments open, and the bytes must not hang on the compiler.

static events start(const gn_synth_spec *spec, stream_of id, double first_within_s) {
  events e = {.r = gn_synth_stream(spec->seed, id)};
  e.next_s = gn_synth_between(&e.r, 0.02, 0.8) * fmin(spec->seconds, first_within_s);
  return e;
}

// A hump that begins and ends at zero, uneven as tissue is.
static double hump(double u, double lean) {
  if (u <= 0 || u >= 1) return 0;
  const double v = u / (u + lean * (1 - u));
  return 4 * v * (1 - v);
}

static void add(track *out, int64_t at, double v) {
  const int64_t i = at - out->start_n;
  if (i >= 0 && (size_t)i < out->n) out->x[i] += (float)v;
}

// Noise through a band, under a hump, roughened by a slow random modulation.
static void rumble(gn_random *r, track *out, double start_s, double length_s, double f_hz, double q, double gain) {
  const double fs = out->fs_hz, lean = gn_synth_spread(r, 0.6), rough_hz = gn_synth_between(r, 5, 22);
  biquad band = gn_synth_band_pass(fs, f_hz, q), slow = gn_synth_low_pass(fs, rough_hz, 0.7);
  const double lift = sqrt(fs / (4 * rough_hz)), level = gain * sqrt(q * fs / (4 * f_hz));
  const int64_t from = (int64_t)ceil(start_s * fs), n = (int64_t)(length_s * fs);
  for (int64_t i = 0; i < n; i++) {
    const double modulation = 0.4 + fabs(lift * gn_synth_step(&slow, gn_synth_white(r)));
    const double v = gn_synth_step(&band, gn_synth_white(r));
    add(out, from + i, level * hump((double)i / (double)n, lean) * modulation * v);
  }
}

// A gliding tone with a grumble on it.
static void chirp(gn_random *r, track *out, double start_s, double gain) {
  const double fs = out->fs_hz, f0 = gn_synth_between(r, 80, 190), f1 = f0 * gn_synth_spread(r, 0.4);
  const double length_s = gn_synth_between(r, 0.08, 0.45), grumble_hz = gn_synth_between(r, 12, 35);
  const int64_t from = (int64_t)ceil(start_s * fs), n = (int64_t)(length_s * fs);
  double phase = 0, slow = 0;
  for (int64_t i = 0; i < n; i++) {
    const double u = (double)i / (double)n;
    phase += (f0 + (f1 - f0) * u) / fs;
    slow += grumble_hz / fs;
    add(out, from + i, gain * hump(u, 0.7) * (0.6 + 0.4 * gn_sin(2 * GN_PI * slow)) * gn_sin(2 * GN_PI * phase));
  }
}

static void pop(gn_random *r, track *out, double start_s, double f_hz, double tau_s, double gain) {
  const double fs = out->fs_hz, phase = gn_synth_between(r, 0, 2 * GN_PI), rise_s = fmin(0.004, 0.3 * tau_s);
  const int64_t from = (int64_t)ceil(start_s * fs), n = (int64_t)(6 * tau_s * fs);
  for (int64_t i = 0; i < n; i++) {
    const double t = (double)(from + i) / fs - start_s;
    const double size = (1 - gn_exp(-t / rise_s)) * gn_exp(-t / tau_s);
    add(out, from + i, gain * size * gn_sin(2 * GN_PI * f_hz * t + phase));
  }
}

void gn_synth_gut_start(events *e, const gn_synth_spec *spec) {
  *e = start(spec, STREAM_GUT, 5);
  e->a = gn_synth_between(&e->r, 1.5, 4.5); // mean gap, seconds
}

void gn_synth_gut(events *e, double until_s, track *out) {
  for (; e->next_s < until_s; e->next_s += 0.1 + gn_synth_exponential(&e->r, e->a)) {
    const double what = gn_random_uniform(&e->r), gain = gn_synth_spread(&e->r, 0.45);
    if (what < 0.55) {
      const double length_s = gn_synth_between(&e->r, 0.4, 2.4);
      rumble(&e->r, out, e->next_s, length_s, gn_synth_between(&e->r, 25, 95), 0.9, gain);
    } else if (what < 0.8) {
      chirp(&e->r, out, e->next_s, 1.2 * gain);
    } else {
      double at = e->next_s;
      for (int k = 3 + (int)gn_random_below(&e->r, 9); k > 0; k--, at += gn_synth_between(&e->r, 0.02, 0.12)) {
        const double tau_s = gn_synth_between(&e->r, 0.003, 0.010);
        pop(&e->r, out, at, gn_synth_between(&e->r, 90, 320), tau_s, 1.4 * gain);
      }
    }
  }
}

void gn_synth_voice_start(events *e, const gn_synth_spec *spec) {
  *e = start(spec, STREAM_VOICE, 4);
  e->a = gn_synth_between(&e->r, 95, 210);      // the speaker's pitch, Hz
  e->b = gn_synth_between(&e->r, 2, 5);         // mean pause between phrases, seconds
}

static void syllable(events *e, track *out, double start_s, double length_s, double gain) {
  const double fs = out->fs_hz, f0 = e->a * gn_synth_spread(&e->r, 0.12), fall = gn_synth_between(&e->r, -0.15, 0.1);
  biquad first = gn_synth_band_pass(fs, gn_synth_between(&e->r, 300, 700), 3);
  biquad second = gn_synth_band_pass(fs, gn_synth_between(&e->r, 900, 1700), 4), wall = gn_synth_low_pass(fs, 600, 0.7);
  const int64_t from = (int64_t)ceil(start_s * fs), n = (int64_t)(length_s * fs);
  double phase = 0, last = 0;
  for (int64_t i = 0; i < n; i++) {
    const double u = (double)i / (double)n;
    phase += f0 * (1 + fall * u) / fs;
    if (phase >= 1) phase -= 1;
    const double pulse = phase < 0.4 ? 1 - phase / 0.4 : 0, source = pulse - last; // a glottis: sharp close, slow open
    last = pulse;
    const double mouth = gn_synth_step(&first, source) + 0.5 * gn_synth_step(&second, source) + 0.25 * (pulse - 0.2);
    add(out, from + i, gain * hump(u, 0.8) * gn_synth_step(&wall, mouth));
  }
}

void gn_synth_voice(events *e, double until_s, track *out) {
  while (e->next_s < until_s) {
    const double gain = gn_synth_spread(&e->r, 0.3);
    for (int k = 2 + (int)gn_random_below(&e->r, 7); k > 0; k--) {
      const double length_s = gn_synth_between(&e->r, 0.10, 0.32);
      syllable(e, out, e->next_s, length_s, gain * gn_synth_spread(&e->r, 0.3));
      e->next_s += length_s + gn_synth_between(&e->r, 0.02, 0.12);
    }
    e->next_s += gn_synth_exponential(&e->r, e->b);
  }
}

void gn_synth_handling_start(events *e, const gn_synth_spec *spec) {
  *e = start(spec, STREAM_HANDLING, 18);
  e->a = gn_synth_between(&e->r, 7, 13); // mean gap, seconds
}

static double handle(gn_random *r, track *out, double start_s) {
  const double gain = gn_exp(gn_synth_between(r, 0.5, 2.0)); // 1.6 to 7 times a usual S1's peak
  if (gn_random_uniform(r) < 0.45) {
    const double tau_s = gn_synth_between(r, 0.03, 0.09);
    pop(r, out, start_s, gn_synth_between(r, 14, 60), tau_s, gain);
    pop(r, out, start_s, gn_synth_between(r, 70, 160), 0.4 * tau_s, 0.4 * gain);
    return start_s + 4.0 * tau_s;
  }
  const double length_s = gn_synth_between(r, 0.2, 0.85);
  rumble(r, out, start_s, length_s, gn_synth_between(r, 110, 420), 0.7, 0.6 * gain);
  rumble(r, out, start_s, length_s, gn_synth_between(r, 20, 60), 0.9, 0.3 * gain);
  return start_s + length_s;
}

int gn_synth_handling(events *e, double until_s, track *out, spans *bad) {
  while (e->next_s < until_s) {
    const double end_s = handle(&e->r, out, e->next_s);
    if (gn_synth_spans_add(bad, e->next_s, end_s)) return -1;
    e->next_s = end_s + 0.3 + gn_synth_exponential(&e->r, e->a);
  }
  return 0;
}

void gn_synth_knocks_start(events *e, const gn_synth_spec *spec) {
  *e = start(spec, STREAM_KNOCKS, 1);
  e->a = 60 / spec->knocks_per_min;
  e->b = gn_synth_between(&e->r, 45, 140); // the knock's own pitch, Hz
}

void gn_synth_knocks(events *e, double until_s, track *out) {
  for (; e->next_s < until_s; e->next_s += e->a * gn_synth_spread(&e->r, 0.004)) {
    const double gain = 0.8 * gn_synth_spread(&e->r, 0.1);
    pop(&e->r, out, e->next_s, e->b * gn_synth_spread(&e->r, 0.02), 0.030, gain);
    pop(&e->r, out, e->next_s, 2.7 * e->b, 0.012, 0.5 * gain);
  }
}

double gn_synth_put_on(const gn_synth_spec *spec, track *out) {
  gn_random r = gn_synth_stream(spec->seed, STREAM_PUT_ON);
  const double sits_s = fmin(gn_synth_between(&r, 1.2, 3.2), 0.5 * spec->seconds);
  for (double at = 0.05; at < sits_s - 0.25; at += gn_synth_between(&r, 0.15, 0.5)) {
    const double length_s = fmin(gn_synth_between(&r, 0.15, 0.7), sits_s - at), f_hz = gn_synth_between(&r, 60, 380);
    rumble(&r, out, at, length_s, f_hz, 0.7, gn_synth_between(&r, 0.4, 2));
  }
  const double f_hz = gn_synth_between(&r, 18, 45);
  pop(&r, out, fmax(0, sits_s - 0.22), f_hz, 0.035, gn_synth_between(&r, 2, 5));
  return sits_s;
}
