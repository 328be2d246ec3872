// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/parts.h"

#include <math.h>

#include "base/maths.h"

// Choices, within what section "rhythm" of docs/references.md tells of horses: sinus rhythm at rest varies by some per
// cent; a dropped beat comes every few beats; an early beat couples at 0.55 to 0.8 of the usual interval.
static const double SINUS_CV = 0.010, DRIFT = 0.015;
static const double REFRACTORY_SHARE = 1.22; // no beat sooner than this share of the systole it would follow

static int beats_until(gn_random *r, int lo, int hi) { return lo + (int)gn_random_below(r, (uint64_t)hi - (uint64_t)lo + 1); }

static void draw_event(rhythm *r) {
  r->until_event = r->spec->rhythm == GN_SYNTH_PAUSES ? beats_until(&r->r, 3, 8) : beats_until(&r->r, 4, 10);
}

void gn_synth_rhythm_start(rhythm *r, const gn_synth_spec *spec, const animal *a) {
  *r = (rhythm){.spec = spec, .a = a, .r = gn_synth_stream(spec->seed, STREAM_RHYTHM)};
  const double usual_s = 60 / a->bpm;
  r->t_s = gn_synth_between(&r->r, 0.12, 0.5 + 0.4 * fmin(usual_s, 1.5));
  r->depth = spec->cycle_depth_percent > 0 ? spec->cycle_depth_percent / 100 : gn_synth_between(&r->r, 0.08, 0.12);
  r->cv = gn_synth_between(&r->r, 0.19, 0.28);
  r->settle_tau_s = gn_synth_between(&r->r, 6, 14);
  r->compensates = gn_random_uniform(&r->r) < 0.6;
  r->drift_phase = gn_synth_between(&r->r, 0, 2 * GN_PI);
  r->drift_s = gn_synth_between(&r->r, 25, 70);
  // The rhythm follows the breathing where a breath spans some beats; a fast breather's own slow wave else.
  const double breath_s = 60 / a->breaths_per_min;
  r->cycle_s = breath_s >= 3.5 * usual_s ? breath_s : usual_s * gn_synth_between(&r->r, 4, 7);
  r->cycle_phase = r->cycle_s == breath_s ? a->breath_phase : gn_synth_between(&r->r, 0, 2 * GN_PI);
  r->last_s = r->slow_s = usual_s / (1 + spec->settle_percent / 100);
  draw_event(r);
}

static double turn(double t_s, double period_s) {
  const double x = t_s / period_s;
  return 2 * GN_PI * (x - floor(x));
}

// The sinus node's interval at the time of this beat.
static double sinus_interval(rhythm *r) {
  double x = 60 / r->a->bpm;
  x /= 1 + r->spec->settle_percent / 100 * gn_exp(-r->t_s / r->settle_tau_s);
  r->wander = 0.55 * r->wander + gn_random_normal(&r->r) * SINUS_CV * 0.83; // first order, SD SINUS_CV
  x *= 1 + r->wander + DRIFT * gn_sin(turn(r->t_s, r->drift_s) + r->drift_phase);
  if (r->spec->rhythm == GN_SYNTH_CYCLIC) x *= 1 + r->depth * gn_sin(turn(r->t_s, r->cycle_s) + r->cycle_phase);
  return x;
}

static double refractory(const rhythm *r) {
  return REFRACTORY_SHARE * gn_synth_systole(r->a, 0.5 * (60 / r->a->bpm)) + 0.05 * 60 / r->a->bpm;
}

// Conduction at random: a skewed distribution, cut below at what the ventricle allows and above at twice the usual.
static double irregular_interval(rhythm *r, double usual_s) {
  const double least_s = fmax(refractory(r), 0.5 * usual_s);
  for (int tries = 0; tries < 64; tries++) {
    const double x = usual_s * gn_synth_spread(&r->r, r->cv);
    if (x >= least_s && x <= 2.1 * usual_s) return x;
  }
  return fmax(usual_s, least_s);
}

static double pause_interval(rhythm *r, double usual_s, beat *out) {
  if (r->until_event-- > 0) return usual_s;
  draw_event(r);
  out->pause = true;
  out->n_dropped = r->spec->pause_beats;
  for (int i = 0; i < out->n_dropped; i++) out->dropped_s[i] = r->t_s + usual_s * (i + 1);
  // After the pause conduction is a little quicker than before it: the gap is somewhat short of the whole number.
  return usual_s * (out->n_dropped + 1) * gn_synth_between(&r->r, 0.965, 1.0);
}

static double early_interval(rhythm *r, double usual_s) {
  if (r->debt_s > 0) {
    const double x = r->debt_s;
    r->debt_s = 0;
    return x;
  }
  if (r->until_event-- > 0) return usual_s;
  draw_event(r);
  const double x = fmax(usual_s * gn_synth_between(&r->r, 0.55, 0.80), refractory(r));
  if (x > 0.85 * usual_s) return usual_s; // too fast a heart for an early beat
  r->early_next = true;
  r->debt_s = r->compensates ? 2 * usual_s - x : usual_s * gn_synth_between(&r->r, 1.0, 1.12);
  return x;
}

static double given_interval(rhythm *r) {
  const gn_synth_intervals *list = r->spec->intervals;
  const size_t at = r->given_at++ % list->n;
  r->early_next = list->early[at];
  return list->len_s[at];
}

static double next_interval(rhythm *r, beat *out) {
  if (r->spec->intervals) return given_interval(r);
  const double usual_s = sinus_interval(r);
  switch (r->spec->rhythm) {
  case GN_SYNTH_IRREGULAR: return irregular_interval(r, usual_s);
  case GN_SYNTH_PAUSES: return pause_interval(r, usual_s, out);
  case GN_SYNTH_EARLY_BEATS: return early_interval(r, usual_s);
  case GN_SYNTH_REGULAR:
  case GN_SYNTH_CYCLIC:
  case GN_SYNTH_N_RHYTHMS: break;
  }
  return usual_s;
}

void gn_synth_rhythm_next(rhythm *r, beat *out) {
  *out = (beat){.s1_s = r->t_s};
  out->early = r->early_next;
  r->early_next = false;
  // The ratio that sets loudness is to what this heart has been doing, not to the rate asked for.
  out->ratio = r->last_s / r->slow_s;
  const double felt_s = r->a->systole_memory * fmin(r->last_s, 1.5 * r->slow_s) + (1 - r->a->systole_memory) * r->slow_s;
  out->interval_s = next_interval(r, out);
  out->systole_s = gn_synth_systole(r->a, felt_s) * gn_synth_spread(&r->r, 0.006);
  out->systole_s = fmin(out->systole_s, 0.72 * out->interval_s);
  r->slow_s += 0.18 * (fmin(out->interval_s, 1.5 * r->slow_s) - r->slow_s);
  r->last_s = out->interval_s;
  r->t_s += out->interval_s;
}
