// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>
#include <stdio.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"

// A rhythm is "otherwise regular" up to a spread of the plain intervals (half of their 16 to 84 % range over the usual
// interval). Healthy horses at rest: SDRR 47.8 +- 22.3 ms of about 1500 (facts: Liege, ORBi 2268/293159), so 3 to
// 5 %; atrial fibrillation about 24 % (Tateno and Glass 2001). Between them, chosen on simulated series.
// A repeated event makes a pattern; one alone is listed, unless the recording is so short that more could not be expected.
// Rare ones are explained by missed or doubled beats as well (unless an atrial sound stands in two pauses).
//
// Breathing swings a heart by some 10 %, fibrillation by some 24 %: at a spread between both are as likely. In a dog
// breathing may do more, so the swing's size never weighs more than a few beats' worth of evidence.

typedef struct view {
  const girthline_rhythm_limits *m;
  size_t n, n_plain, n_pauses, n_early, n_split, n_atrial;
  double spread;       ///< of the plain intervals, half their 16 to 84 % range, share of the usual interval
  double all_spread;   ///< the same of all intervals
  double wide_spread;  ///< the larger of that and their 5 to 95 % range over 3.29: sees the odd ones out too
  double early_gap;    ///< how far the early beats' intervals stand below the usual one, median, share of it
  size_t n_even_early; ///< early beats whose two intervals make two usual ones (compensated)
  size_t n_odd_early;  ///< early beats followed by neither that nor about a usual interval
  double tight;        ///< limit on it
  gn_wave wave;
} view;

// Half the range from 16 to 84 %: the SD of a normal variable, whatever the outliers. Reorders x.
static double half_range(double *x, size_t n) { return n < 2 ? (double)NAN : 0.5 * (gn_quantile(x, n, 0.84) - gn_quantile(x, n, 0.16)); }

static void tally(const gn_series *s, double *room, view *v) {
  const girthline_rhythm_limits *m = s->limits;
  size_t n_short = 0;
  for (size_t i = 0; i < s->n; i++) {
    v->n_pauses += s->kind[i] == GN_PAUSE;
    v->n_split += s->kind[i] == GN_SPLIT;
    if (s->kind[i] == GN_PLAIN) room[v->n_plain++] = s->ratio[i];
  }
  v->spread = half_range(room, v->n_plain);
  if (v->n_plain) v->wide_spread = fmax(v->spread, (gn_quantile(room, v->n_plain, 0.95) - gn_quantile(room, v->n_plain, 0.05)) / 3.29);
  for (size_t i = 0; i < s->n; i++) {
    if (s->kind[i] != GN_SHORT) continue;
    room[n_short++] = 1 - s->ratio[i];
    if (i + 1 >= s->n || !s->linked[i + 1]) continue; // nothing is known of what follows
    const double after = s->ratio[i + 1];
    if (fabs(s->ratio[i] + after - 2) <= m->even_tolerance) v->n_even_early++;
    else if (after < m->after_early_low || after > m->after_early_high) v->n_odd_early++;
  }
  v->n_early = n_short;
  v->early_gap = gn_median(room, n_short);
  for (size_t i = 0; i < s->n; i++) room[i] = s->ratio[i];
  v->all_spread = half_range(room, s->n);
}

static int look(const gn_series *s, double jitter_ms, view *v) {
  const girthline_rhythm_limits *m = s->limits;
  *v = (view){.m = m, .n = s->n, .spread = NAN};
  double *room = gn_new(s->n, sizeof *room);
  if (!room) return -1;
  tally(s, room, v);
  gn_free(room);
  const double jitter = jitter_ms > 0 ? jitter_ms / 1000 / gn_mean(s->usual_s, s->n) : 0;
  v->tight = sqrt(m->tight_share * m->tight_share + jitter * jitter);
  return gn_rhythm_wave(s, &v->wave);
}

static bool enough(size_t events, double share, double short_n, const view *v) {
  if (events >= 2) return (double)events >= share * (double)v->n;
  return events == 1 && (double)v->n <= short_n;
}

static bool pauses_enough(const view *v) { return v->n_atrial >= 2 || enough(v->n_pauses, v->m->pauses_share, v->m->pauses_short_n, v); }

static bool early_enough(const view *v) {
  const girthline_rhythm_limits *m = v->m;
  return enough(v->n_early, m->early_share, v->n_even_early ? m->early_even_short_n : m->early_short_n, v);
}

// Early beats are a pattern only where they stand well outside the spread of the others: in an irregular rhythm, taking
// the short intervals away leaves a spread too, only a smaller one.
static bool stands_out(const view *v) { return v->wide_spread * v->m->early_gap_spreads <= v->early_gap && 3 * v->n_odd_early <= v->n_early; }

// What the size of the swing alone says for breathing against no pattern, in log-likelihood.
static double swing_prior(const girthline_rhythm_limits *m, double spread) {
  const double x = gn_log(spread / m->swing_even) * m->swing_slope;
  return x > m->swing_most ? -m->swing_most : x < -m->swing_most ? m->swing_most : -x;
}

static bool is_cyclic(const view *v) {
  const gn_wave *w = &v->wave;
  const bool likely = w->evidence + swing_prior(v->m, w->spread) > 0;
  return likely && w->amplitude >= v->m->wave_share && w->explained >= v->m->wave_explained && w->kept >= v->m->wave_kept;
}

static girthline_pattern decide(const view *v) {
  const bool tight = v->spread <= v->tight && 3 * v->n_plain >= v->n;
  if (tight && pauses_enough(v) && v->n_pauses >= v->n_early) return GIRTHLINE_PAUSES;
  const bool early = tight && stands_out(v) && early_enough(v);
  if (is_cyclic(v) && !(early && v->spread < v->wave.residual)) return GIRTHLINE_CYCLIC;
  if (early) return GIRTHLINE_EARLY_BEATS;
  if (tight && !(v->n_early >= 2 && !stands_out(v))) return GIRTHLINE_REGULAR;
  return GIRTHLINE_IRREGULAR;
}

// How often a call like this was right on simulated series (15 to 40 s, onsets spread by 3 to 12 ms, some beats missed or
// invented): grows with the number of intervals, falls where a limit was passed narrowly, one event decided, or much was unusable.
static double confidence(const view *v, const girthline_rhythm *y) {
  double c = 0.985 - 0.5 * gn_exp(-((double)v->n - 2) / 3.5);
  const double margin = v->tight > 0 && v->spread > 0 ? fabs(gn_log(v->spread / v->tight)) : 1;
  if (y->pattern != GIRTHLINE_CYCLIC && margin < 0.4) c -= 0.35 * (1 - margin / 0.4);
  if (y->pattern == GIRTHLINE_CYCLIC) c -= 0.4 * gn_exp(-(v->wave.evidence + swing_prior(v->m, v->wave.spread)) / 4);
  if (y->pattern == GIRTHLINE_PAUSES && v->n_pauses == 1) c -= 0.1;
  if (y->pattern == GIRTHLINE_REGULAR && v->n_pauses + v->n_early > 0) c -= 0.1;
  c -= 0.2 * (1 - (double)y->used_count / (double)y->n_intervals);
  return c < 0.1 ? 0.1 : c;
}

static void explain(girthline_rhythm *y, const view *v) {
  char *out = y->explanation;
  const size_t size = sizeof y->explanation;
  const double spread = 100 * v->spread, all = 100 * v->all_spread;
  switch (y->pattern) {
  case GIRTHLINE_REGULAR:
    snprintf(out, size, "The intervals are even: they spread %.1f %% about the usual one (%zu intervals).", spread, v->n);
    break;
  case GIRTHLINE_CYCLIC:
    snprintf(out, size, "The intervals lengthen and shorten smoothly by %.0f %% either way, about every %.1f s; this wave explains %.0f %% of their variance (%zu intervals).",
             100 * v->wave.amplitude, v->wave.period_s, 100 * v->wave.explained, v->n);
    break;
  case GIRTHLINE_PAUSES:
    snprintf(out, size, "%zu of %zu intervals are %g times the usual one or longer; the others spread only %.1f %%.", v->n_pauses, v->n, v->m->pause_ratio,
             spread);
    break;
  case GIRTHLINE_EARLY_BEATS:
    snprintf(out, size, "%zu of %zu intervals end in a beat that comes early; the others spread only %.1f %%.", v->n_early, v->n, spread);
    break;
  case GIRTHLINE_IRREGULAR:
    snprintf(out, size, "The intervals spread %.0f %% about the usual one and no pattern repeats (%zu intervals).", all, v->n);
    break;
  case GIRTHLINE_PATTERN_UNDETERMINED: break;
  }
}

int gn_rhythm_pattern(girthline_result *r, const gn_series *s, double jitter_ms) {
  girthline_rhythm *y = &r->rhythm;
  const size_t fewest = (size_t)r->limits.rhythm.pattern_intervals_n;
  if (s->n < fewest) {
    if (!y->explanation[0] && s->n)
      snprintf(y->explanation, sizeof y->explanation, "Only %zu usable interval%s between beats; a pattern needs %zu.", s->n, s->n == 1 ? "" : "s", fewest);
    else if (!y->explanation[0])
      snprintf(y->explanation, sizeof y->explanation, "No interval between two beats was usable; a pattern needs %zu.", fewest);
    if (gn_result_undetermine(r, "/rhythm/pattern", "%s", y->explanation)) return -1;
    return gn_result_undetermine(r, "/rhythm/confidence", "No pattern was determined.");
  }
  view v;
  if (look(s, jitter_ms, &v)) return -1;
  for (size_t i = 0; i < y->n_pauses; i++) v.n_atrial += y->pauses[i].n_atrial > 0;
  y->pattern = decide(&v);
  y->confidence = confidence(&v, y);
  explain(y, &v);
  return 0;
}
