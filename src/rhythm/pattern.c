// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>
#include <stdio.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"

static const size_t FEWEST = 5; // intervals; fewer carry no pattern
// Spread of the plain intervals (half of their 16 to 84 % range over the usual interval) up to which a rhythm is
// "otherwise regular". Healthy horses at rest: SDRR 47.8 +- 22.3 ms of about 1500 (facts: Liege, ORBi 2268/293159), so 3 to
// 5 %; atrial fibrillation about 24 % (Tateno and Glass 2001). Between them, chosen on simulated series.
static const double TIGHT = 0.085;
// A repeated event makes a pattern; one alone is listed, unless the recording is so short that more could not be expected.
static const size_t SHORT_SERIES_N = 12;
static const double EVENT_SHARE = 0.05; // rarer than one in twenty, a missed or doubled beat explains them as well
// A wave of less than this share of the mean interval is a heart's ordinary wandering.
static const double LEAST_WAVE = 0.055;
static const double LEAST_EXPLAINED = 0.5, LEAST_KEPT = 0.75;

typedef struct view {
  size_t n, n_plain, n_pauses, n_early, n_split, n_atrial;
  double spread;       ///< of the plain intervals
  double tight;        ///< limit on it
  gn_wave wave;
} view;

static int look(const gn_series *s, double jitter_ms, view *v) {
  *v = (view){.n = s->n, .spread = NAN};
  double *plain = gn_new(s->n, sizeof *plain);
  if (!plain) return -1;
  double usual_s = 0;
  for (size_t i = 0; i < s->n; i++) {
    v->n_pauses += s->kind[i] == GN_PAUSE;
    v->n_early += s->kind[i] == GN_SHORT;
    v->n_split += s->kind[i] == GN_SPLIT;
    usual_s += s->usual_s[i] / (double)s->n;
    if (s->kind[i] == GN_PLAIN) plain[v->n_plain++] = s->ratio[i];
  }
  if (v->n_plain >= 2) {
    const double hi = gn_quantile(plain, v->n_plain, 0.84), lo = gn_quantile(plain, v->n_plain, 0.16);
    v->spread = 0.5 * (hi - lo);
  }
  gn_free(plain);
  const double jitter = jitter_ms > 0 && usual_s > 0 ? jitter_ms / 1000 / usual_s : 0;
  v->tight = sqrt(TIGHT * TIGHT + jitter * jitter);
  return gn_rhythm_wave(s, &v->wave);
}

static bool enough(size_t events, const view *v) {
  if (events >= 2) return (double)events >= EVENT_SHARE * (double)v->n;
  return events == 1 && v->n <= SHORT_SERIES_N;
}

static bool is_cyclic(const view *v) {
  const gn_wave *w = &v->wave;
  return w->evidence > 0 && w->amplitude >= LEAST_WAVE && w->explained >= LEAST_EXPLAINED && w->kept >= LEAST_KEPT;
}

static girthline_pattern decide(const view *v) {
  const bool tight = v->spread <= v->tight && 3 * v->n_plain >= v->n;
  if (tight && enough(v->n_pauses, v) && v->n_pauses >= v->n_early) return GIRTHLINE_PAUSES;
  const bool early = tight && enough(v->n_early, v);
  if (is_cyclic(v) && !(early && v->spread < v->wave.residual)) return GIRTHLINE_CYCLIC;
  if (early) return GIRTHLINE_EARLY_BEATS;
  if (tight) return GIRTHLINE_REGULAR;
  return GIRTHLINE_IRREGULAR;
}

static void explain(girthline_rhythm *y, const view *v) {
  char *out = y->explanation;
  const size_t size = sizeof y->explanation;
  const double spread = 100 * v->spread;
  switch (y->pattern) {
  case GIRTHLINE_REGULAR:
    snprintf(out, size, "The intervals are even: they spread %.1f %% about the usual one (%zu intervals).", spread, v->n);
    break;
  case GIRTHLINE_CYCLIC:
    snprintf(out, size, "The intervals lengthen and shorten smoothly by %.0f %% either way, about every %.1f s; this wave explains %.0f %% of their variance (%zu intervals).",
             100 * v->wave.amplitude, v->wave.period_s, 100 * v->wave.explained, v->n);
    break;
  case GIRTHLINE_PAUSES:
    snprintf(out, size, "%zu of %zu intervals are 1.6 times the usual one or longer; the others spread only %.1f %%.", v->n_pauses, v->n, spread);
    break;
  case GIRTHLINE_EARLY_BEATS:
    snprintf(out, size, "%zu of %zu intervals end in a beat that comes early; the others spread only %.1f %%.", v->n_early, v->n, spread);
    break;
  case GIRTHLINE_IRREGULAR:
    snprintf(out, size, "No repeating pattern: even without long and early ones the intervals spread %.0f %% about the usual one (%zu intervals).", spread, v->n);
    break;
  case GIRTHLINE_PATTERN_UNDETERMINED: break;
  }
}

int gn_rhythm_pattern(girthline_result *r, const gn_series *s, const gn_fall *fall, double jitter_ms) {
  (void)fall;
  girthline_rhythm *y = &r->rhythm;
  if (s->n < FEWEST) {
    snprintf(y->explanation, sizeof y->explanation, "Only %zu usable intervals between beats; a pattern needs %zu.", s->n, FEWEST);
    return gn_result_undetermine(r, "/rhythm/confidence", "No pattern was determined.");
  }
  view v;
  if (look(s, jitter_ms, &v)) return -1;
  y->pattern = decide(&v);
  y->confidence = 0.9;
  explain(y, &v);
  return 0;
}
