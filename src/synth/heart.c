// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/parts.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"

// Each sound is one or more voices; each voice a sum of damped modes that set in together. Frequencies and lengths are
// for an adult horse and scale with the animal's pitch and stretch. Spectra fall from 20 to 60 Hz as published spectra
// of S1 do (some -7 dB an octave; Sakai, Feigen and Luisada 1971), S2's lie higher (Yoganathan et al. 1976); the
// numbers themselves are choices.
// Each line: modes {Hz, gain, decay s, phase (drawn per animal)}, how many, rise s, roughness.
static const sound_voice M1 = {{{26, 0.50, 0.046, 0}, {37, 1.00, 0.042, 0}, {55, 0.55, 0.033, 0}, {79, 0.24, 0.024, 0},
                                {113, 0.09, 0.016, 0}}, 5, 0.017, 0.10};
static const sound_voice T1 = {{{31, 0.35, 0.042, 0}, {47, 0.80, 0.034, 0}, {68, 0.40, 0.026, 0},
                                {96, 0.16, 0.018, 0}}, 4, 0.013, 0.10};
static const sound_voice LATE = {{{29, 0.9, 0.030, 0}, {44, 0.5, 0.026, 0}}, 2, 0.016, 0.05};
static const sound_voice A2 = {{{41, 0.45, 0.027, 0}, {59, 1.00, 0.024, 0}, {83, 0.50, 0.018, 0}, {122, 0.20, 0.012, 0},
                                {178, 0.06, 0.008, 0}}, 5, 0.010, 0.08};
static const sound_voice P2 = {{{35, 0.60, 0.026, 0}, {52, 0.90, 0.022, 0}, {74, 0.40, 0.016, 0}}, 3, 0.009, 0.08};
static const sound_voice S3 = {{{22, 1.00, 0.032, 0}, {33, 0.70, 0.026, 0}, {48, 0.18, 0.018, 0}}, 3, 0.018, 0.04};
static const sound_voice S4 = {{{20, 1.00, 0.034, 0}, {30, 0.75, 0.028, 0}, {43, 0.22, 0.020, 0}}, 3, 0.020, 0.04};
static const sound_voice CLICK = {{{130, 1.00, 0.0060, 0}, {215, 0.70, 0.0045, 0}, {330, 0.30, 0.0030, 0}}, 3, 0.0015, 0.0};

static const double S1_SCALE = 0.62, S2_SCALE = 0.74; // so that a usual S1 and an equal S2 peak near 1
static const double LONGEST_SOUND_S = 0.9;
static const double END_SHARE = 0.1; // a sound ends where its waveform was last a tenth of its largest value

// Make a voice this animal's own: its modes are its own, not the species'.
static sound_voice own(gn_random *r, const animal *a, sound_voice v) {
  for (int i = 0; i < v.n; i++) {
    v.modes[i].f_hz *= a->pitch * gn_synth_spread(r, 0.07);
    v.modes[i].gain *= gn_synth_spread(r, 0.20);
    v.modes[i].tau_s *= a->stretch * gn_synth_spread(r, 0.10);
    // A blow starts every mode from rest; the way to the skin turns each a little.
    v.modes[i].phase = 0.45 * gn_random_normal(r);
  }
  v.attack_s *= a->stretch * gn_synth_spread(r, 0.15);
  return v;
}

int gn_synth_heart_start(heart *h, const gn_synth_spec *spec, const animal *a) {
  *h = (heart){.spec = spec, .a = a, .r = gn_synth_stream(spec->seed, STREAM_HEART)};
  const sound_voice *from[] = {&M1, &T1, &LATE, &A2, &P2, &S3, &S4, &CLICK};
  sound_voice *to[] = {&h->m1, &h->t1, &h->late, &h->a2, &h->p2, &h->s3, &h->s4, &h->click};
  for (size_t i = 0; i < sizeof to / sizeof *to; i++) *to[i] = own(&h->r, a, *from[i]);
  h->scratch_n = (size_t)(LONGEST_SOUND_S * spec->rate_hz) + 2;
  h->scratch = gn_new(h->scratch_n, sizeof *h->scratch);
  return h->scratch ? 0 : -1;
}

void gn_synth_heart_clear(heart *h) {
  if (!h) return;
  gn_free(h->scratch);
  h->scratch = NULL;
}

// One damped mode into scratch; lead_s: from the first sample to where the voice sets in.
static void lay_mode(heart *h, const mode *m, double lead_s, double attack_s, double phase) {
  const double fs = h->spec->rate_hz;
  const size_t from = lead_s > 0 ? (size_t)ceil(lead_s * fs) : 0;
  size_t until = from + (size_t)((6 * m->tau_s + 3 * attack_s) * fs) + 1;
  if (until > h->scratch_n) until = h->scratch_n;
  const double t0 = (double)from / fs - lead_s, w = 2 * GN_PI * m->f_hz;
  const double decay = gn_exp(-1 / (m->tau_s * fs)), rise = gn_exp(-1 / (attack_s * fs));
  const double cos_w = gn_cos(w / fs) * decay, sin_w = gn_sin(w / fs) * decay;
  double size = m->gain * gn_exp(-t0 / m->tau_s), re = size * gn_cos(w * t0 + phase), im = size * gn_sin(w * t0 + phase);
  double closed = gn_exp(-t0 / attack_s);
  // The last fifth fades to nothing, so that nothing is cut off.
  const size_t fade = (until - from) / 5 + 1;
  for (size_t i = from; i < until; i++) {
    const double left = i + fade >= until ? (double)(until - i) / (double)fade : 1;
    h->scratch[i] += (1 - closed) * im * left;
    const double next = re * cos_w - im * sin_w;
    im = re * sin_w + im * cos_w;
    re = next;
    closed *= rise;
  }
}

// A voice, with this beat's own small differences in frequency, strength and phase.
static void lay_voice(heart *h, const sound_voice *v, double lead_s, double gain) {
  const double tune = gn_synth_spread(&h->r, 0.018);
  for (int i = 0; i < v->n; i++) {
    mode m = v->modes[i];
    m.f_hz *= tune * gn_synth_spread(&h->r, 0.012);
    m.gain *= gain * gn_synth_spread(&h->r, 0.09);
    lay_mode(h, &m, lead_s, v->attack_s, m.phase + 0.15 * gn_random_normal(&h->r));
  }
  if (v->rough <= 0) return;
  // Tissue is not a bell: a short burst of noise under the same envelope.
  const double fs = h->spec->rate_hz;
  biquad band = gn_synth_band_pass(fs, 1.4 * v->modes[1].f_hz, 0.8);
  const mode *m = &v->modes[1];
  for (size_t i = (size_t)ceil(fmax(lead_s, 0) * fs); i < h->scratch_n; i++) {
    const double t = (double)i / fs - lead_s;
    if (t > 5 * m->tau_s) break;
    const double envelope = (1 - t / (5 * m->tau_s)) * t / (t + v->attack_s);
    const double left = envelope * gn_exp(-t / m->tau_s);
    h->scratch[i] += gain * v->rough * left * 2.2 * gn_synth_step(&band, gn_synth_white(&h->r));
  }
}

// Move scratch into the track and find the sound's end.
static double flush(heart *h, double onset_s, track *out) {
  const double fs = h->spec->rate_hz;
  const int64_t first = (int64_t)floor(onset_s * fs) - out->start_n;
  double most = 0;
  for (size_t i = 0; i < h->scratch_n; i++) most = fmax(most, fabs(h->scratch[i]));
  size_t last = 0;
  for (size_t i = 0; i < h->scratch_n; i++) {
    if (fabs(h->scratch[i]) >= END_SHARE * most) last = i;
    const int64_t at = first + (int64_t)i;
    if (at >= 0 && (size_t)at < out->n) out->x[at] += (float)h->scratch[i];
  }
  memset(h->scratch, 0, h->scratch_n * sizeof *h->scratch);
  return ((double)(first + out->start_n) + (double)last + 1) / fs;
}

// Scratch begins at the sample at or before the onset; voices set in at onset + delay.
static double lead_of(const heart *h, double onset_s, double delay_s) {
  const double fs = h->spec->rate_hz;
  return onset_s + delay_s - floor(onset_s * fs) / fs;
}

static gn_synth_sound lay_one(heart *h, int number, const sound_voice *v, double onset_s, double gain, track *out) {
  lay_voice(h, v, lead_of(h, onset_s, 0), gain);
  return (gn_synth_sound){number, onset_s, flush(h, onset_s, out)};
}

static double breath_gain(const heart *h, double t_s, double sign) {
  return 1 + sign * h->a->breath_depth * (2 * gn_synth_inspiration(h->a, t_s) - 1);
}

// S1 is louder after a short interval (the valves are caught wide open), softer as air comes between at inspiration.
static gn_synth_sound lay_s1(heart *h, const beat *b, track *out) {
  const double gain = S1_SCALE * fmin(fmax(1 + 0.35 * (1 - b->ratio), 0.8), 1.3) * breath_gain(h, b->s1_s, -1) *
                      gn_synth_spread(&h->r, h->a->loud_spread);
  const double split = h->a->s1_split_s * gn_synth_spread(&h->r, 0.08);
  lay_voice(h, &h->m1, lead_of(h, b->s1_s, 0), gain);
  lay_voice(h, &h->t1, lead_of(h, b->s1_s, split), 0.6 * gain * breath_gain(h, b->s1_s, 1));
  lay_voice(h, &h->late, lead_of(h, b->s1_s, split + 1.1 * h->m1.modes[0].tau_s), 0.22 * gain);
  return (gn_synth_sound){1, b->s1_s, flush(h, b->s1_s, out)};
}

// S2 is soft after a short filling (low stroke volume), and P2 falls behind A2 in inspiration.
static gn_synth_sound lay_s2(heart *h, const beat *b, track *out) {
  const double onset_s = b->s1_s + b->systole_s;
  const double filling = fmin(fmax(1 - 1.25 * (1 - b->ratio), 0.38), 1.18);
  const double gain = S2_SCALE * h->a->s2_over_s1 * filling * breath_gain(h, onset_s, -0.6) *
                      gn_synth_spread(&h->r, h->a->loud_spread);
  const double split = h->a->s2_split_s * (1 + h->a->s2_split_breath * gn_synth_inspiration(h->a, onset_s));
  lay_voice(h, &h->a2, lead_of(h, onset_s, 0), gain);
  lay_voice(h, &h->p2, lead_of(h, onset_s, split), 0.55 * gain);
  return (gn_synth_sound){2, onset_s, flush(h, onset_s, out)};
}

static gn_synth_sound lay_s4(heart *h, double onset_s, track *out) {
  return lay_one(h, 4, &h->s4, onset_s, h->a->s4_gain * gn_synth_spread(&h->r, 0.12), out);
}

int gn_synth_heart_beat(heart *h, const beat *b, track *out, gn_synth_sound sounds[8]) {
  int n = 0;
  sounds[n++] = lay_s1(h, b, out);
  if (h->spec->click)
    lay_one(h, 0, &h->click, b->s1_s + b->systole_s * h->a->click_at * gn_synth_spread(&h->r, 0.02), 0.5, out);
  sounds[n++] = lay_s2(h, b, out);
  const double s2_s = sounds[1].onset_s, next_s = b->s1_s + b->interval_s;
  const double s3_s = s2_s + h->a->s3_delay_s * gn_synth_spread(&h->r, 0.03);
  const double lead_s = h->a->s4_lead_s * gn_synth_spread(&h->r, 0.04);
  double free_s = s2_s + 0.06 * h->a->stretch;
  // In a fast heart filling and atrial sound meet: no S3 or S4 where there is no room for one.
  if (h->spec->s3 && s3_s + 0.10 * h->a->stretch < next_s) {
    sounds[n++] = lay_one(h, 3, &h->s3, s3_s, h->a->s3_gain * gn_synth_spread(&h->r, 0.12), out);
    free_s = s3_s + 0.10 * h->a->stretch;
  }
  if (!h->spec->s4) return n;
  for (int i = 0; i < b->n_dropped; i++)
    if (b->dropped_s[i] - lead_s > free_s) sounds[n++] = lay_s4(h, b->dropped_s[i] - lead_s, out);
  // An irregular rhythm has no atrial beat in step with the ventricle, and an early beat none of its own.
  const double soonest_s = 0.85 * 60 / h->a->bpm / (1 + h->spec->settle_percent / 100);
  const bool atrial = h->spec->rhythm != GN_SYNTH_IRREGULAR && b->interval_s > soonest_s;
  if (atrial && next_s - lead_s > free_s) sounds[n++] = lay_s4(h, next_s - lead_s, out);
  return n;
}
