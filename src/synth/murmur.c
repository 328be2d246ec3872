// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/parts.h"

#include <math.h>

#include "base/maths.h"

static const double SETTLE_S = 0.03; // the filters run this long before the span, so that it begins in full

static double drawn_pitch(gn_random *r, const gn_synth_murmur *what, const animal *a) {
  // Flow and regurgitation lie in the low hundreds of hertz, higher in small hearts; musical ones are purer and lower.
  const double f = what->musical ? gn_synth_between(r, 140, 290) : gn_synth_between(r, 120, 300);
  return fmin(f * sqrt(a->pitch), 600);
}

void gn_synth_murmur_start(murmur *m, const gn_synth_spec *spec, size_t index, const animal *a) {
  *m = (murmur){.what = spec->murmurs[index], .a = a};
  m->r = gn_synth_stream(spec->seed + 7919 * index, STREAM_MURMUR);
  const double drawn_hz = drawn_pitch(&m->r, &m->what, a);
  if (m->what.pitch_hz <= 0) m->what.pitch_hz = drawn_hz;
  const double fs = spec->rate_hz, f = m->what.pitch_hz;
  if (m->what.musical) { // a thin wash under the tone
    m->low = gn_synth_high_pass(fs, 0.7 * f, 0.707);
    m->high = gn_synth_low_pass(fs, 1.5 * f, 0.707);
  } else {
    m->low = gn_synth_high_pass(fs, f / gn_synth_between(&m->r, 1.5, 2.2), 0.8);
    m->high = gn_synth_low_pass(fs, f * gn_synth_between(&m->r, 1.2, 1.6), 0.9);
  }
  m->low2 = gn_synth_band_pass(fs, f, gn_synth_between(&m->r, 0.5, 0.9));
  const double slope = gn_synth_between(&m->r, 0.28, 0.5);
  double gain = 1;
  for (int k = 0; k < 4; k++, gain *= slope) m->harmonics[k] = gain * gn_synth_spread(&m->r, 0.2);
  m->vibrato_hz = gn_synth_between(&m->r, 4, 8);
  m->phase = gn_synth_between(&m->r, 0, 2 * GN_PI);
}

// Where the murmur sits: named thirds and halves of systole or diastole (the trade's words; the shares are choices).
static gn_synth_span place(const murmur *m, const beat *b, double s1_end_s, double s2_end_s) {
  const double s2_s = b->s1_s + b->systole_s, next_s = b->s1_s + b->interval_s;
  const double after_s1_s = b->s1_s + 0.6 * (s1_end_s - b->s1_s), after_s2_s = s2_s + 0.5 * (s2_end_s - s2_s);
  if (m->what.phase == GN_SYNTH_CONTINUOUS) return (gn_synth_span){b->s1_s, next_s};
  if (m->what.phase == GN_SYNTH_SYSTOLE) {
    const double room = s2_s - after_s1_s;
    switch (m->what.timing) {
    case GN_SYNTH_EARLY: return (gn_synth_span){after_s1_s, after_s1_s + 0.50 * room};
    case GN_SYNTH_MID: return (gn_synth_span){after_s1_s + 0.14 * room, after_s1_s + 0.84 * room};
    case GN_SYNTH_LATE: return (gn_synth_span){after_s1_s + 0.46 * room, s2_s};
    case GN_SYNTH_HOLO: break;
    }
    return (gn_synth_span){after_s1_s, s2_s};
  }
  // Early diastole is a fixed length where diastole is long; the rest follow its end.
  const double room = next_s - after_s2_s, early = fmin(0.40 * room, 0.30 * m->a->stretch + 0.05);
  switch (m->what.timing) {
  case GN_SYNTH_EARLY: return (gn_synth_span){after_s2_s, after_s2_s + early};
  case GN_SYNTH_MID: return (gn_synth_span){after_s2_s + 0.6 * early, after_s2_s + fmin(0.65 * room, 2.2 * early)};
  case GN_SYNTH_LATE: return (gn_synth_span){next_s - fmin(0.36 * room, 0.32 * m->a->stretch + 0.05), next_s};
  case GN_SYNTH_HOLO: break;
  }
  return (gn_synth_span){after_s2_s, next_s};
}

static double shape_at(gn_synth_shape shape, double u) {
  switch (shape) {
  case GN_SYNTH_CRESCENDO: return 0.12 + 0.88 * u * sqrt(u);
  case GN_SYNTH_DECRESCENDO: return 0.10 + 0.90 * (1 - u) * sqrt(1 - u);
  case GN_SYNTH_CRESCENDO_DECRESCENDO: return 0.10 + 0.90 * 4 * u * (1 - u);
  case GN_SYNTH_PLATEAU: break;
  }
  return 1;
}

static double tone(murmur *m, double fs_hz, double pitch_hz) {
  m->vibrato_phase += 2 * GN_PI * m->vibrato_hz / fs_hz;
  if (m->vibrato_phase > 2 * GN_PI) m->vibrato_phase -= 2 * GN_PI;
  m->phase += 2 * GN_PI * pitch_hz * (1 + 0.012 * gn_sin(m->vibrato_phase)) / fs_hz;
  if (m->phase > 2 * GN_PI) m->phase -= 2 * GN_PI;
  // Harmonics from the first sine and cosine by the addition theorem; none above the half rate.
  const double s = gn_sin(m->phase), c = gn_cos(m->phase);
  double sum = 0, sk = s, ck = c;
  for (int k = 0; k < 4 && pitch_hz * (k + 1) < 0.42 * fs_hz; k++) {
    sum += m->harmonics[k] * sk;
    const double next = sk * c + ck * s;
    ck = ck * c - sk * s;
    sk = next;
  }
  return sum;
}

gn_synth_span gn_synth_murmur_beat(murmur *m, const beat *b, double s1_end_s, double s2_end_s, track *out) {
  const gn_synth_span span = place(m, b, s1_end_s, s2_end_s);
  const double fs = out->fs_hz, length_s = span.end_s - span.start_s;
  if (length_s < 0.01) return span;
  // More blood moves after a long filling.
  const double flow = fmin(fmax(0.35 + 0.65 * b->ratio, 0.5), 1.3), gain = flow * gn_synth_spread(&m->r, 0.09);
  const double pitch_hz = m->what.pitch_hz * gn_synth_spread(&m->r, 0.015), edge_s = fmin(0.012, 0.12 * length_s);
  const double tilt = 0.06 * gn_random_normal(&m->r);
  for (int64_t at = (int64_t)ceil((span.start_s - SETTLE_S) * fs); (double)at < span.end_s * fs; at++) {
    double v = gn_synth_step(&m->high, gn_synth_step(&m->low, gn_synth_white(&m->r)));
    v = m->what.musical ? 0.25 * v + tone(m, fs, pitch_hz) : 0.5 * v + gn_synth_step(&m->low2, v);
    const double t = (double)at / fs - span.start_s, i = (double)(at - out->start_n);
    if (t <= 0 || i < 0 || i >= (double)out->n) continue;
    const double u = t / length_s, open = fmin(1, fmin(t, length_s - t) / edge_s);
    out->x[(size_t)i] += (float)(gain * open * shape_at(m->what.shape, u) * (1 + tilt * (2 * u - 1)) * v);
  }
  return span;
}
