// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>
#include <stdio.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"

// Under GN_RHYTHM_NOISY_DB over the noise a single pause may be a missed beat, a single early beat a false one, unless it looks its part: its
// beats are sure, the pause a whole number of intervals, the early beat followed as one is. A choice: of the single pauses in up to 20 intervals of 4000
// simulated recordings 95 that did were pauses and ten missed beats; of the single early beats of 7200 48 were, and four were false.
static const double SURE = 0.9, WHOLE_WITHIN = 0.1, SURE_EARLY = 0.8;
// An ectopic beat of a fast heart comes hardly early, but the interval after it is long: a couple. In a real heart with early
// beats (tests/reference/intervals_208.csv) the couples' long intervals are 1.15 to 1.45 times the usual, and what lies outside
// couples spreads 6 %; in fibrillation that is 14 % and more. Only a long series carries such a count (choices).
static const double COUPLE_SHORT = 0.97, COUPLE_LONG = 1.15;
static const size_t COUPLES_FEWEST_N = 40;
// What lies outside the early beats of an irregular heart still spreads more than this; a heart as even as this with some short
// intervals has false beats among its own.
static const double EVEN_REST = 0.035;
// A breathing heart has no pauses; one interval in so many may be two of which the beat between was missed.
static const size_t CYCLIC_ONE_PAUSE_IN = 10;

typedef struct view {
  const girthline_rhythm_limits *m;
  size_t n, n_plain, n_pauses, n_early, n_atrial;
  size_t n_gaps;       ///< pauses that a wave through the intervals does not make
  double spread;       ///< of the plain intervals, half their 16 to 84 % range, share of the usual interval
  double all_spread;   ///< the same of all intervals
  double wide_spread;  ///< the larger of that and their 5 to 95 % range over 3.29: sees the odd ones out too
  double early_gap;    ///< how far the early beats' intervals stand below the usual one, median, share of it
  size_t n_even_early; ///< early beats whose two intervals make two usual ones (compensated)
  size_t n_made_up;    ///< of those, whose second interval is as long as a pause
  size_t n_ectopic;    ///< early beats, and couples whose long interval alone shows them
  double rest_spread;  ///< 5 to 95 % range over 3.29 of what lies outside those and their long intervals
  size_t n_far;        ///< intervals that are early or pauses in a rhythm without a pattern, too
  size_t n_odd_early;  ///< early beats followed by neither that nor about a usual interval
  bool in_turn;        ///< short and long intervals come in turn, and early beats are every second one
  bool hardly_in_turn; ///< they do, and no interval is as short or as long as in a rhythm without a pattern
  bool noisy;          ///< a beat may be missed under the noise
  bool sure_pause, sure_early; ///< one looks its part whatever the noise
  double tight;        ///< limit on it
  double steady_odds;  ///< for single beats out of place against no pattern at all, nats
  double sway_odds;    ///< for a wave against no pattern at all, nats; minus infinity where no wave is large enough
  gn_wave wave;
} view;

// Half the range from 16 to 84 %: the SD of a normal variable, whatever the outliers. Reorders x.
static double half_range(double *x, size_t n) { return n < 2 ? (double)NAN : 0.5 * (gn_quantile(x, n, 0.84) - gn_quantile(x, n, 0.16)); }

// A whole number of intervals, but for what each dropped beat may shift.
static bool whole(double ratio) {
  const double n = floor(ratio + 0.5);
  return fabs(ratio - n) <= WHOLE_WITHIN * (n - 1);
}

static bool sure_pause(const gn_series *s, size_t i) {
  return s->kind[i] == GN_PAUSE && (double)s->confidence[i] >= SURE && whole(s->ratio[i]);
}

// i: a short interval with another that follows it. (Whether that one follows as it should, stands_out asks of every early beat.)
static bool sure_early(const gn_series *s, size_t i) {
  return (double)fminf(s->confidence[i], s->confidence[i + 1]) >= SURE && s->ratio[i] <= SURE_EARLY;
}

static void tally(const gn_series *s, double *room, view *v) {
  const girthline_rhythm_limits *m = s->limits;
  size_t n_short = 0;
  for (size_t i = 0; i < s->n; i++) {
    v->n_pauses += s->kind[i] == GN_PAUSE;
    v->n_far += s->kind[i] == GN_PAUSE || s->ratio[i] <= m->early_swinging_ratio;
    v->sure_pause = v->sure_pause || sure_pause(s, i);
    if (s->kind[i] == GN_PLAIN) room[v->n_plain++] = s->ratio[i];
  }
  v->spread = half_range(room, v->n_plain);
  if (v->n_plain) v->wide_spread = fmax(v->spread, (gn_quantile(room, v->n_plain, 0.95) - gn_quantile(room, v->n_plain, 0.05)) / 3.29);
  for (size_t i = 0; i < s->n; i++) {
    if (s->kind[i] != GN_SHORT) continue;
    room[n_short++] = 1 - s->ratio[i];
    if (i + 1 >= s->n || !s->linked[i + 1]) continue; // nothing is known of what follows
    const double after = s->ratio[i + 1], made_up = 2 - s->ratio[i]; // between a usual interval and this one any is an early beat's
    if (fabs(after - made_up) <= m->even_tolerance) v->n_even_early++, v->n_made_up += s->kind[i + 1] == GN_PAUSE;
    else if (after < m->after_early_low || after > fmax(m->after_early_high, made_up)) v->n_odd_early++;
    v->sure_early = v->sure_early || sure_early(s, i);
  }
  v->n_early = n_short;
  v->early_gap = gn_median(room, n_short);
  for (size_t i = 0; i < s->n; i++) room[i] = s->ratio[i];
  v->all_spread = half_range(room, s->n);
}

static bool couple(const gn_series *s, size_t i) {
  return i + 1 < s->n && s->linked[i + 1] && s->kind[i + 1] != GN_PAUSE && s->ratio[i] <= COUPLE_SHORT && s->ratio[i + 1] >= COUPLE_LONG;
}

static void tally_couples(const gn_series *s, double *room, view *v) {
  size_t n = 0;
  for (size_t i = 0; i < s->n; i++) {
    const bool ectopic = s->kind[i] == GN_SHORT || couple(s, i), after = i > 0 && (couple(s, i - 1) || s->kind[i] == GN_AFTER);
    v->n_ectopic += ectopic;
    if (!ectopic && !after) room[n++] = s->ratio[i];
  }
  v->rest_spread = n < 2 ? (double)NAN : (gn_quantile(room, n, 0.95) - gn_quantile(room, n, 0.05)) / 3.29;
}

// Larger than a heart's ordinary wandering, and most of what there is.
static bool waves(const view *v) {
  return v->wave.amplitude >= v->m->wave_share && v->wave.explained >= v->m->wave_explained && v->wave.kept >= v->m->wave_kept;
}

static int look(gn_series *s, double jitter_ms, view *v) {
  const girthline_rhythm_limits *m = s->limits;
  *v = (view){.m = m, .n = s->n, .spread = NAN, .sway_odds = -INFINITY};
  double *room = gn_new(s->n, sizeof *room);
  if (!room) return -1;
  tally(s, room, v);
  tally_couples(s, room, v);
  gn_free(room);
  const double jitter = jitter_ms > 0 ? jitter_ms / 1000 / gn_mean(s->usual_s, s->n) : 0;
  v->tight = sqrt(m->tight_share * m->tight_share + jitter * jitter);
  v->in_turn = s->alternates && v->n_early * 3 >= s->n;
  v->hardly_in_turn = s->alternates && v->n_far == 0;
  if (gn_rhythm_steady_odds(s, &v->steady_odds)) return -1;
  if (gn_rhythm_wave(s, &v->wave)) return -1;
  if (waves(v)) v->sway_odds = gn_rhythm_sway_odds(s);
  for (size_t i = 0; i < s->n; i++) v->n_gaps += s->kind[i] == GN_PAUSE && s->ratio[i] >= m->pause_ratio * s->swing[i];
  return 0;
}

static bool enough(size_t events, double share, double short_n, const view *v) {
  if (events >= 2) return (double)events >= share * (double)v->n;
  return events == 1 && (double)v->n <= short_n;
}

// Rare ones are explained by missed beats as well, unless two atrial sounds stand in them.
static bool pauses_enough(const view *v) {
  return v->n_atrial >= 2 || enough(v->n_pauses, v->m->pauses_share, v->noisy && !v->sure_pause ? 0 : v->m->pauses_short_n, v);
}

static bool early_enough(const view *v) {
  return enough(v->n_early, v->m->early_share, v->noisy && !v->sure_early ? 0 : v->n_even_early ? v->m->early_even_short_n : v->m->early_short_n, v);
}

// Early beats are a pattern only where they stand well outside the spread of the others: in an irregular rhythm, taking
// the short intervals away leaves a spread too, only a smaller one.
static bool stands_out(const view *v) { return v->wide_spread * v->m->early_gap_spreads <= v->early_gap && 3 * v->n_odd_early <= v->n_early; }

// A long series, otherwise regular, with early beats of which most come hardly early.
static bool coupled(const view *v) {
  return v->n >= COUPLES_FEWEST_N && v->n_early >= 1 && v->n_ectopic >= 2 && (double)v->n_ectopic >= v->m->early_share * (double)v->n &&
         v->rest_spread <= v->tight;
}

static bool is_cyclic(const view *v) { return v->sway_odds > fmax(0, v->steady_odds) && v->n_gaps * CYCLIC_ONE_PAUSE_IN <= v->n; }

static girthline_pattern decide(const view *v) {
  if (v->in_turn) return GIRTHLINE_EARLY_BEATS;
  const bool tight = v->spread <= v->tight && 3 * v->n_plain >= v->n;
  const bool steady = v->steady_odds >= v->m->steady_odds;
  if (tight && steady && pauses_enough(v) && v->n_pauses - v->n_made_up >= v->n_early) return GIRTHLINE_PAUSES;
  const bool early = tight && ((steady && stands_out(v) && early_enough(v)) || coupled(v));
  if (is_cyclic(v) && !(early && v->spread < v->wave.residual)) return GIRTHLINE_CYCLIC;
  if (early) return GIRTHLINE_EARLY_BEATS;
  // Many short intervals that do not stand out are the swing of an irregular heart, and so are those that no steady heart explains; a few
  // in a long series are single events.
  const bool many = v->n_early >= 2 && (double)v->n_early >= v->m->early_share * (double)v->n && !stands_out(v);
  const size_t n_odd = v->n_early + v->n_pauses;
  const bool uneven = v->rest_spread > EVEN_REST, swings = (many && uneven) || (!steady && (n_odd >= 2 || (n_odd == 1 && uneven)));
  if (tight && !swings) return GIRTHLINE_REGULAR;
  return v->hardly_in_turn ? GIRTHLINE_PATTERN_UNDETERMINED : GIRTHLINE_IRREGULAR; // what comes in turn repeats, as breath over two beats does
}

// How often a call like this was right on simulated series (15 to 40 s, onsets spread by 3 to 12 ms, some beats missed or
// invented): grows with the number of intervals, falls where a limit was passed narrowly, one event decided, or much was unusable.
static double confidence(const view *v, const girthline_rhythm *y) {
  double c = 0.985 - 0.5 * gn_exp(-((double)v->n - 2) / 3.5);
  const double margin = v->tight > 0 && v->spread > 0 ? fabs(gn_log(v->spread / v->tight)) : 1;
  if (y->pattern != GIRTHLINE_CYCLIC && margin < 0.4) c -= 0.35 * (1 - margin / 0.4);
  if (y->pattern == GIRTHLINE_CYCLIC) c -= 0.4 * gn_exp(-v->sway_odds / 4);
  if (y->pattern == GIRTHLINE_PAUSES && v->n_pauses == 1) c -= 0.1;
  if (y->pattern == GIRTHLINE_REGULAR && v->n_pauses + v->n_early > 0) c -= 0.1;
  c -= 0.2 * (1 - (double)y->used_count / (double)y->n_intervals);
  return c < 0.1 ? 0.1 : c;
}

static void count_in_words(char out[48], const char *before, size_t n, const char *thing) {
  if (n) snprintf(out, 48, "%s%zu %s%s", before, n, thing, n == 1 ? "" : "s");
}

static void explain_regular(const view *v, char *out, size_t size) {
  char early[48] = "", pauses[48] = "";
  count_in_words(early, " but for ", v->n_early, "early beat");
  count_in_words(pauses, v->n_early ? " and " : " but for ", v->n_pauses, "pause");
  snprintf(out, size, "The intervals are even%s%s: %s spread %.1f %% about the usual one (%zu intervals).", early, pauses,
           v->n_early + v->n_pauses ? "the others" : "they", 100 * v->spread, v->n);
}

static void explain(girthline_rhythm *y, const view *v) {
  char *out = y->explanation;
  const size_t size = sizeof y->explanation;
  const double spread = 100 * v->spread, all = 100 * v->all_spread;
  switch (y->pattern) {
  case GIRTHLINE_REGULAR: explain_regular(v, out, size); break;
  case GIRTHLINE_CYCLIC:
    snprintf(out, size, "The intervals lengthen and shorten smoothly by %.0f %% either way, about every %.1f s; this wave explains %.0f %% of their variance (%zu intervals).",
             100 * v->wave.amplitude, v->wave.period_s, 100 * v->wave.explained, v->n);
    break;
  case GIRTHLINE_PAUSES:
    snprintf(out, size, "%zu of %zu intervals are %g times the usual one or longer; the others spread only %.1f %%.", v->n_pauses, v->n, v->m->pause_ratio,
             spread);
    break;
  case GIRTHLINE_EARLY_BEATS:
    if (v->in_turn)
      snprintf(out, size, "Short and long intervals come in turn: every second beat comes early, by %.0f %% of the usual interval in the middle (%zu intervals).",
               100 * v->early_gap, v->n);
    else if (v->n_ectopic > v->n_early)
      snprintf(out, size, "%zu of %zu intervals end in a beat that comes early, and %zu more a little early with a long interval after it; the others spread only %.1f %%.",
               v->n_early, v->n, v->n_ectopic - v->n_early, 100 * v->rest_spread);
    else
      snprintf(out, size, "%zu of %zu intervals end in a beat that comes early; the others spread only %.1f %%.", v->n_early, v->n, spread);
    break;
  case GIRTHLINE_IRREGULAR:
    snprintf(out, size, "The intervals spread %.0f %% about the usual one and no pattern repeats (%zu intervals).", all, v->n);
    break;
  case GIRTHLINE_PATTERN_UNDETERMINED:
    snprintf(out, size, "Short and long intervals come in turn, and spread %.0f %%: too little for every second beat to be early, too much for an even heart (%zu intervals).",
             all, v->n);
    break;
  }
}

static int no_pattern(girthline_result *r) {
  r->rhythm.confidence = NAN;
  return gn_result_undetermine(r, "/rhythm/pattern", "%s", r->rhythm.explanation) || gn_result_undetermine(r, "/rhythm/confidence", "No pattern was determined.") ? -1 : 0;
}

int gn_rhythm_pattern(girthline_result *r, gn_series *s, double jitter_ms) {
  girthline_rhythm *y = &r->rhythm;
  const size_t fewest = (size_t)r->limits.rhythm.pattern_intervals_n;
  if (s->n < fewest) {
    if (!y->explanation[0] && s->n)
      snprintf(y->explanation, sizeof y->explanation, "Only %zu usable interval%s between beats; a pattern needs %zu.", s->n, s->n == 1 ? "" : "s", fewest);
    else if (!y->explanation[0])
      snprintf(y->explanation, sizeof y->explanation, "No interval between two beats was usable; a pattern needs %zu.", fewest);
    return no_pattern(r);
  }
  view v;
  if (look(s, jitter_ms, &v)) return -1;
  v.noisy = r->quality.heart_to_noise_db < GN_RHYTHM_NOISY_DB;
  for (size_t i = 0; i < y->n_pauses; i++) v.n_atrial += y->pauses[i].n_atrial;
  y->pattern = decide(&v);
  y->confidence = confidence(&v, y);
  explain(y, &v);
  return y->pattern == GIRTHLINE_PATTERN_UNDETERMINED ? no_pattern(r) : 0;
}
