// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The rhythm stage alone on simulated series of beats whose pattern is known: `rhythm [COUNT [FLOOR]]` prints, for each
/// condition, how COUNT series of each pattern were named, and exits 1 when less than FLOOR of a condition's were named right
/// or a regular heart was called irregular. The generator shares no constant with the classifier.
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/result.h"
#include "rhythm/rhythm.h"

enum { EVEN, SETTLING, BREATHING, DROPPING, EARLY, NO_PATTERN, N_HEARTS, MOST_BEATS = 600, N_TOLD = 6 };
static const char *const HEARTS[N_HEARTS] = {"regular", "settling", "cyclic", "pauses", "early-beats", "irregular"};
static const girthline_pattern TRUTH[N_HEARTS] = {GIRTHLINE_REGULAR, GIRTHLINE_REGULAR, GIRTHLINE_CYCLIC, GIRTHLINE_PAUSES, GIRTHLINE_EARLY_BEATS, GIRTHLINE_IRREGULAR};

typedef struct kind { girthline_species species; double lo_bpm, hi_bpm, most_swing; } kind;
static const kind KINDS[] = {{GIRTHLINE_HORSE, 26, 48, 0.15}, {GIRTHLINE_FOAL, 62, 118, 0.15}, {GIRTHLINE_DOG, 58, 150, 0.25}, {GIRTHLINE_CAT, 125, 215, 0.12},
                             {GIRTHLINE_CATTLE, 48, 84, 0.15}, {GIRTHLINE_HUMAN, 52, 98, 0.15}};
enum { N_KINDS = sizeof KINDS / sizeof *KINDS };

/// What the decoder does to a series.
typedef struct condition { const char *name; double jitter_s, wrong, known, floor; } condition;
static const condition CONDITIONS[] = {{"onsets within 5 ms", 0.005, 0, 0, 0.985},
                                       {"and 1 to 3 % missed or false, all known as doubtful", 0.005, 0.02, 1, 0.98},
                                       {"and 1 to 3 % missed or false, half of them unknown", 0.005, 0.02, 0.5, 0.97}};
enum { N_CONDITIONS = sizeof CONDITIONS / sizeof *CONDITIONS };

typedef struct heart {
  int h;
  double usual_s, cv, wander, drift_phase, fall, tau_s, swing, turn_s, phase, coupling, spread, debt_s;
  bool compensates;
  int until, dropped;
} heart;

static double between(gn_random *g, double lo, double hi) { return lo + (hi - lo) * gn_random_uniform(g); }
static int whole(gn_random *g, int lo, int hi) { return lo + (int)gn_random_below(g, (uint64_t)(hi - lo + 1)); }

static heart make_heart(int h, const kind *k, gn_random *g) {
  heart x = {.h = h, .usual_s = 60 / between(g, k->lo_bpm, k->hi_bpm)};
  x.cv = between(g, 0.004, 0.018);
  x.drift_phase = between(g, 0, 6);
  x.fall = h == SETTLING ? between(g, 0.2, 0.55) : 0;
  x.tau_s = between(g, 5, 15);
  x.swing = between(g, 0.08, k->most_swing);
  x.turn_s = x.usual_s * between(g, 3.2, 8);
  x.phase = between(g, 0, 6.28);
  x.spread = between(g, 0.18, 0.32);
  x.compensates = gn_random_uniform(g) < 0.6;
  x.until = whole(g, 1, 6);
  x.dropped = gn_random_uniform(g) < 0.8 ? 1 : whole(g, 2, 3);
  return x;
}

static double early_s(heart *x, double even_s, gn_random *g) {
  if (x->debt_s > 0) {
    const double after_s = x->debt_s;
    x->debt_s = 0;
    return after_s;
  }
  if (x->until-- > 0) return even_s;
  x->until = whole(g, 4, 10);
  const double coupled_s = even_s * between(g, 0.55, 0.80);
  x->debt_s = x->compensates ? 2 * even_s - coupled_s : even_s * between(g, 1.0, 1.1);
  return coupled_s;
}

static double next_s(heart *x, double t, gn_random *g) {
  x->wander = 0.5 * x->wander + 0.87 * x->cv * gn_random_normal(g);
  double s = x->usual_s * (1 + x->wander + 0.015 * gn_sin(t * 0.14 + x->drift_phase));
  s /= 1 + x->fall * gn_exp(-t / x->tau_s);
  if (x->h == BREATHING) return s * (1 + x->swing * gn_sin(2 * GN_PI * t / x->turn_s + x->phase));
  if (x->h == NO_PATTERN) return s * fmin(2.1, fmax(0.5, gn_exp(x->spread * gn_random_normal(g))));
  if (x->h == EARLY) return early_s(x, s, g);
  if (x->h == DROPPING && x->until-- <= 0) {
    x->until = whole(g, 3, 8);
    return s * (x->dropped + 1) * between(g, 0.96, 1.0);
  }
  return s;
}

static void add_beat(girthline_result *r, double onset_s, double confidence) {
  if (r->n_beats < MOST_BEATS)
    r->beats[r->n_beats++] = (girthline_beat){.s1_onset_s = onset_s, .s2_onset_s = onset_s + 0.1, .confidence = (float)confidence, .name_confidence = 0.95f};
}

// A wrong beat is missing, or one too many stands after it; the decoder knows of it or does not.
static void hear_beat(girthline_result *r, double t, double interval_s, const condition *c, gn_random *g) {
  const double at = t + c->jitter_s * gn_random_normal(g), sure = between(g, 0.85, 1);
  const bool wrong = gn_random_uniform(g) < c->wrong * between(g, 0.5, 1.5), known = gn_random_uniform(g) < c->known;
  if (!wrong) {
    add_beat(r, at, sure);
  } else if (gn_random_uniform(g) < 0.5) {
    if (known) add_beat(r, at + between(g, -0.08, 0.08) * interval_s, between(g, 0.1, 0.45));
  } else {
    add_beat(r, at, sure);
    add_beat(r, at + interval_s * between(g, 0.25, 0.75), known ? between(g, 0.1, 0.45) : between(g, 0.6, 0.95));
  }
}

static girthline_pattern read_heart(int h, const kind *k, const condition *c, gn_random *g) {
  static const double LENGTHS_S[] = {15, 20, 30, 40, 60};
  heart x = make_heart(h, k, g);
  girthline_result *r = gn_result_new();
  if (!r) abort();
  r->beats = gn_new(MOST_BEATS, sizeof *r->beats);
  r->settings.species = k->species;
  r->recording.to_s = r->recording.duration_s = fmax(LENGTHS_S[whole(g, 0, 4)], 9 * x.usual_s);
  double t = between(g, 0, x.usual_s), s;
  for (; t < r->recording.to_s; t += s) {
    s = next_s(&x, t, g);
    hear_beat(r, t, s, c, g);
  }
  if (gn_rhythm_run(r, NULL, 0, 1000 * sqrt(2.0) * c->jitter_s) != GIRTHLINE_OK) abort();
  const girthline_pattern told = r->rhythm.pattern;
  girthline_result_free(r);
  return told;
}

static bool run(const condition *c, int count, double floor_share) {
  int told[N_HEARTS][N_TOLD] = {{0}}, right = 0, kinds[N_KINDS][2] = {{0}};
  gn_random g = gn_random_of(20260711);
  for (int h = 0; h < N_HEARTS; h++)
    for (int i = 0; i < count; i++) {
      const girthline_pattern p = read_heart(h, &KINDS[i % N_KINDS], c, &g);
      told[h][p + 1]++;
      right += p == TRUTH[h];
      kinds[i % N_KINDS][p == TRUTH[h]]++;
    }
  printf("\n%s\n  %-12s %8s %8s %8s %8s %8s %8s %8s\n", c->name, "heart", "none", "regular", "cyclic", "pauses", "early", "irreg.", "right");
  for (int h = 0; h < N_HEARTS; h++) {
    printf("  %-12s", HEARTS[h]);
    for (int p = 0; p < N_TOLD; p++) printf(" %8d", told[h][p]);
    printf(" %8.3f\n", (double)told[h][TRUTH[h] + 1] / count);
  }
  for (int k = 0; k < N_KINDS; k++) printf("  %s %.3f", girthline_species_name(KINDS[k].species), (double)kinds[k][1] / (kinds[k][0] + kinds[k][1]));
  const double share = (double)right / (N_HEARTS * count);
  const int irregular = told[EVEN][GIRTHLINE_IRREGULAR + 1];
  printf("\n  right %.4f (floor %.2f); regular hearts called irregular: %d of %d\n", share, floor_share, irregular, count);
  return share >= floor_share && (irregular == 0 || c->known < 1);
}

int main(int argc, char **argv) {
  const int count = argc > 1 ? atoi(argv[1]) : 3000;
  bool holds = true;
  for (int i = 0; i < N_CONDITIONS; i++) holds = run(&CONDITIONS[i], count, CONDITIONS[i].floor) && holds;
  puts(holds ? "\nEvery floor holds." : "\nA floor does not hold.");
  return holds ? 0 : 1;
}
