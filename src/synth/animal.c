// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/parts.h"

#include <math.h>

#include "base/maths.h"

/// What a kind of animal sounds like. The figures are this folder's own choices within published ranges (resting and
/// breathing rates: handbook ranges in docs/references.md).
///
/// Systole (S1 to S2) follows interval as A * interval / (interval + B): a constant share of very short intervals, a
/// ceiling at very long ones. The two anchors fix A and B. Human anchors: Weissler, Harris and Schoenfeld 1968
/// (Circulation 37:149), QS2 = 546 - 2.1 HR ms for men, less 60 ms from Q to S1, at 60 and 100 a minute. Dog: LVET and
/// PEP of Atkins and Snyder 1992 (159 and 54 ms at 124 a minute). Horse: between 400 and 500 ms at 30 to 45 a minute
/// (no published regression was found). The others are scaled between these by body size: a choice.
typedef struct animal_kind {
  double bpm, breaths_per_min;
  double anchor_s[2][2];   // interval, systole
  double pitch, stretch;   // against the horse
  double s3_delay_s, s4_lead_s;
} animal_kind;

static const animal_kind KINDS[GIRTHLINE_N_SPECIES] = {
    [GIRTHLINE_HORSE] = {37, 11, {{1.70, 0.492}, {0.60, 0.291}}, 1.00, 1.00, 0.165, 0.170},
    [GIRTHLINE_FOAL] = {88, 30, {{0.80, 0.288}, {0.50, 0.231}}, 1.40, 0.72, 0.110, 0.110},
    [GIRTHLINE_DONKEY] = {46, 19, {{1.40, 0.415}, {0.75, 0.302}}, 1.12, 0.90, 0.145, 0.150},
    [GIRTHLINE_DOG] = {96, 21, {{0.95, 0.236}, {0.48, 0.182}}, 1.50, 0.60, 0.090, 0.080},
    [GIRTHLINE_CAT] = {172, 32, {{0.50, 0.174}, {0.30, 0.136}}, 2.15, 0.38, 0.075, 0.065},
    [GIRTHLINE_CATTLE] = {66, 24, {{0.95, 0.365}, {0.60, 0.288}}, 1.05, 0.92, 0.140, 0.140},
    [GIRTHLINE_CALF] = {108, 34, {{0.75, 0.281}, {0.50, 0.228}}, 1.35, 0.70, 0.105, 0.100},
    [GIRTHLINE_SHEEP] = {84, 22, {{0.80, 0.268}, {0.50, 0.212}}, 1.45, 0.62, 0.100, 0.095},
    [GIRTHLINE_GOAT] = {94, 21, {{0.80, 0.262}, {0.50, 0.208}}, 1.48, 0.60, 0.100, 0.095},
    [GIRTHLINE_HUMAN] = {70, 15, {{1.00, 0.360}, {0.60, 0.276}}, 1.18, 0.85, 0.140, 0.105},
};

double gn_synth_systole(const animal *a, double interval_s) {
  const double x1 = a->kind->anchor_s[0][0], y1 = a->kind->anchor_s[0][1];
  const double x2 = a->kind->anchor_s[1][0], y2 = a->kind->anchor_s[1][1];
  const double b = x1 * x2 * (y1 - y2) / (x1 * y2 - x2 * y1);
  const double ceiling = y1 * (x1 + b) / x1;
  const double systole = a->systole_scale * ceiling * interval_s / (interval_s + b);
  // The ventricle needs time to fill: never more than two thirds of the cycle (a choice).
  return fmin(systole, 0.66 * interval_s);
}

static double mean_of(const gn_synth_intervals *list) {
  double sum = 0;
  for (size_t i = 0; i < list->n; i++) sum += list->len_s[i];
  return sum / (double)list->n;
}

void gn_synth_animal_draw(animal *a, const gn_synth_spec *spec) {
  gn_random r = gn_synth_stream(spec->seed, STREAM_ANIMAL);
  const animal_kind *k = &KINDS[spec->species];
  a->kind = k;
  a->bpm = spec->bpm > 0 ? spec->bpm : k->bpm * gn_synth_spread(&r, 0.08);
  if (spec->intervals) a->bpm = 60 / mean_of(spec->intervals);
  a->breaths_per_min = spec->breaths_per_min > 0 ? spec->breaths_per_min : k->breaths_per_min * gn_synth_spread(&r, 0.15);
  a->breath_phase = gn_synth_between(&r, 0, 2 * GN_PI);
  a->breath_wobble = gn_synth_between(&r, 0.1, 0.6);
  a->systole_scale = gn_synth_spread(&r, 0.045);
  a->systole_memory = gn_synth_between(&r, 0.30, 0.60);
  a->pitch = k->pitch * gn_synth_spread(&r, 0.10);
  a->stretch = k->stretch * gn_synth_spread(&r, 0.10);
  a->s1_split_s = spec->split_s1_ms >= 0 ? spec->split_s1_ms / 1000 : gn_synth_between(&r, 0.010, 0.024) * k->stretch;
  a->s2_split_s = spec->split_s2_ms >= 0 ? spec->split_s2_ms / 1000 : gn_synth_between(&r, 0.004, 0.016) * k->stretch;
  a->s2_split_breath = spec->split_s2_ms >= 0 ? 0.25 : 0.9;
  a->s2_over_s1 = gn_exp(gn_synth_between(&r, -0.55, 0.22)); // -4.8 to +1.9 dB
  a->s3_gain = gn_exp(gn_synth_between(&r, -1.8, -1.1));
  a->s4_gain = gn_exp(gn_synth_between(&r, -1.8, -1.0));
  a->s3_delay_s = k->s3_delay_s * gn_synth_spread(&r, 0.10);
  a->s4_lead_s = k->s4_lead_s * gn_synth_spread(&r, 0.12);
  a->click_at = gn_synth_between(&r, 0.45, 0.7);
  a->breath_depth = gn_synth_between(&r, 0.05, 0.20);
  a->loud_spread = gn_synth_between(&r, 0.04, 0.11);
}

double gn_synth_breath_angle(const animal *a, double t_s) {
  // A steady rate with a slow wobble, in closed form so that any time can be asked in any order.
  const double turn = a->breaths_per_min / 60;
  const double cycles = t_s * turn, wobble = cycles * 0.137;
  const double whole = floor(cycles), slow = floor(wobble);
  return 2 * GN_PI * (cycles - whole) + a->breath_phase + a->breath_wobble * gn_sin(2 * GN_PI * (wobble - slow));
}

double gn_synth_inspiration(const animal *a, double t_s) { return 0.5 - 0.5 * gn_cos(gn_synth_breath_angle(a, t_s)); }
