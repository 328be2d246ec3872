// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/parts.h"

#include <math.h>

#include "base/maths.h"

void gn_synth_steady_start(steady *s, const gn_synth_spec *spec, const animal *a) {
  const double fs = spec->rate_hz;
  *s = (steady){.fs_hz = fs, .a = a, .hum_hz = spec->hum_hz};
  s->breath_r = gn_synth_stream(spec->seed, STREAM_BREATH);
  s->wind_r = gn_synth_stream(spec->seed, STREAM_WIND);
  s->sensor_r = gn_synth_stream(spec->seed, STREAM_SENSOR);
  // Breath over the chest: power falls with frequency and ends near 450 Hz, lower in expiration (Gavriely 1981).
  s->breath_hp = gn_synth_high_pass(fs, gn_synth_between(&s->breath_r, 70, 110), 0.707);
  s->breath_lp = gn_synth_low_pass(fs, gn_synth_between(&s->breath_r, 150, 240), 0.55);
  s->breath_lp2 = gn_synth_low_pass(fs, 450, 0.8);
  s->expiry_lp = gn_synth_low_pass(fs, 200, 0.6);
  s->wind1 = gn_synth_low_pass(fs, gn_synth_between(&s->wind_r, 25, 60), 0.6);
  s->wind2 = gn_synth_low_pass(fs, 160, 0.6);
  gn_random r = gn_synth_stream(spec->seed, STREAM_HUM);
  static const double USUAL[5] = {1, 0.35, 0.45, 0.12, 0.22}; // odd harmonics stand out
  for (int k = 0; k < 5; k++) {
    s->hum_gain[k] = USUAL[k] * gn_synth_spread(&r, 0.4);
    s->hum_phase[k] = gn_synth_between(&r, 0, 2 * GN_PI);
  }
}

// Inspiration's and expiration's strength at a breath angle: two humps, the second longer, softer, with rests.
static void flow_at(double angle, double *in, double *ex) {
  const double turns = angle / (2 * GN_PI), u = turns - floor(turns);
  *in = u < 0.38 ? gn_sin(GN_PI * u / 0.38) : 0;
  *ex = u > 0.44 && u < 0.88 ? 0.6 * gn_sin(GN_PI * (u - 0.44) / 0.44) : 0;
}

void gn_synth_breath(steady *s, int64_t start_n, float *x, size_t n) {
  enum { EVERY = 64 }; // strength is worked out this often and drawn straight between
  double in0, ex0, in1, ex1;
  flow_at(gn_synth_breath_angle(s->a, (double)start_n / s->fs_hz), &in0, &ex0);
  for (size_t i = 0; i < n; i += EVERY) {
    flow_at(gn_synth_breath_angle(s->a, (double)(start_n + (int64_t)i + EVERY) / s->fs_hz), &in1, &ex1);
    for (size_t j = i; j < n && j < i + EVERY; j++) {
      const double part = (double)(j - i) / EVERY, in = in0 + part * (in1 - in0), ex = ex0 + part * (ex1 - ex0);
      const double v = gn_synth_step(&s->breath_lp, gn_synth_step(&s->breath_hp, gn_synth_white(&s->breath_r)));
      const double high = gn_synth_step(&s->breath_lp2, v), low = gn_synth_step(&s->expiry_lp, v);
      x[j] = (float)((in * in + 0.03) * high + ex * low);
    }
    in0 = in1;
    ex0 = ex1;
  }
}

void gn_synth_hum(steady *s, int64_t start_n, float *x, size_t n) {
  for (size_t i = 0; i < n; i++) x[i] = 0;
  for (int k = 0; k < 5 && s->hum_hz * (k + 1) < 0.45 * s->fs_hz; k++) {
    const double cycles = (double)start_n * s->hum_hz * (k + 1) / s->fs_hz, w = 2 * GN_PI * s->hum_hz * (k + 1) / s->fs_hz;
    const double phase = 2 * GN_PI * (cycles - floor(cycles)) + s->hum_phase[k];
    double re = gn_cos(phase), im = gn_sin(phase);
    const double c = gn_cos(w), sn = gn_sin(w);
    for (size_t i = 0; i < n; i++) {
      x[i] += (float)(s->hum_gain[k] * im);
      const double next = re * c - im * sn;
      im = re * sn + im * c;
      re = next;
    }
  }
}

void gn_synth_wind(steady *s, float *x, size_t n) {
  const double follow = 1 / (0.8 * s->fs_hz), change = 1 / (1.5 * s->fs_hz); // gusts of a second or two
  for (size_t i = 0; i < n; i++) {
    if (gn_random_uniform(&s->wind_r) < change) s->gust_to = gn_synth_exponential(&s->wind_r, 1);
    s->gust += follow * (s->gust_to - s->gust);
    const double v = gn_synth_white(&s->wind_r);
    x[i] = (float)((0.15 + s->gust) * (gn_synth_step(&s->wind1, v) + 0.06 * gn_synth_step(&s->wind2, v)));
  }
}

void gn_synth_sensor(steady *s, gn_random *r, float *x, size_t n) {
  // White, with a rise to the low end as amplifiers have.
  const double keep = gn_exp(-2 * GN_PI * 40 / s->fs_hz);
  for (size_t i = 0; i < n; i++) {
    const double v = gn_synth_white(r);
    s->pink = keep * s->pink + (1 - keep) * v;
    x[i] = (float)(v + 3 * s->pink);
  }
}
