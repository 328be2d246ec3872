// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"

// The usual interval around one: the median of nine (this one and four either side). A dropped beat in every third and
// an early beat in every fourth leave the median at the usual interval.
#define AROUND_N 9

// Where every second beat comes early that median is each interval's own length, and all look even. Short and long ones in turn, alike among
// themselves, make two usual ones together; where the long one is two short ones, a beat is dropped behind every second one. Choices: of intervals
// drawn each for itself two apart differ as much as neighbours do: 1 series in 100 of eight passes, 1 in 500 of twelve.
#define ALTERNATE_TIMES 1.03 // longer than both neighbours, or shorter
#define ALTERNATE_SHARE 0.8  // of the intervals
#define ALTERNATE_ALIKE 0.25 // the middle difference of intervals two apart, of that of neighbours
#define ALTERNATE_LEAST_N 6
#define DOUBLE_WITHIN 0.15   // of the short one

// Is it linked to both neighbours?
static bool is_between(const gn_series *s, size_t i) { return i > 0 && i + 1 < s->n && s->linked[i] && s->linked[i + 1]; }

static int look_for_turns(gn_series *s) {
  double *near = gn_new(2 * s->n, sizeof *near), *far = near ? near + s->n : NULL;
  size_t n = 0, n_turns = 0;
  s->alternates = false;
  if (!near) return -1;
  for (size_t i = 0; i < s->n; i++) {
    if (!is_between(s, i)) continue;
    const double before = s->len_s[i - 1], here = s->len_s[i], after = s->len_s[i + 1];
    n_turns += fmin(before, after) > ALTERNATE_TIMES * here || here > ALTERNATE_TIMES * fmax(before, after);
    near[n] = fabs(here - before);
    far[n++] = fabs(after - before);
  }
  s->alternates = n >= ALTERNATE_LEAST_N && (double)n_turns >= ALTERNATE_SHARE * (double)n && gn_median(far, n) <= ALTERNATE_ALIKE * gn_median(near, n);
  gn_free(near);
  return 0;
}

// The usual interval by this one: of intervals in turn half of what it and a neighbour take, or the short one where the other is twice as long.
static double usual_by(const gn_series *s, size_t i) {
  const size_t other = i > 0 && s->linked[i] ? i - 1 : i + 1 < s->n && s->linked[i + 1] ? i + 1 : i;
  if (!s->alternates) return s->len_s[i];
  const double shorter = fmin(s->len_s[i], s->len_s[other]), longer = fmax(s->len_s[i], s->len_s[other]);
  return fabs(longer / shorter - 2) <= DOUBLE_WITHIN ? shorter : (shorter + longer) / 2;
}

static void usual(gn_series *s) {
  double *const by = s->ratio; // until it is known
  for (size_t i = 0; i < s->n; i++) by[i] = usual_by(s, i) / s->trend[i];
  for (size_t i = 0; i < s->n; i++) {
    const size_t take = s->n < AROUND_N ? (s->n - 1) | 1 : AROUND_N; // odd, so that the median is one of them
    size_t from = i < take / 2 ? 0 : i - take / 2;
    if (from + take > s->n) from = s->n - take;
    double x[AROUND_N];
    memcpy(x, by + from, take * sizeof *x);
    s->usual_s[i] = gn_median(x, take) * s->trend[i];
  }
  for (size_t i = 0; i < s->n; i++) s->ratio[i] = s->len_s[i] / s->usual_s[i];
}

static bool splits(const gn_series *s, size_t i) {
  const girthline_rhythm_limits *m = s->limits;
  if (i + 1 >= s->n || !s->linked[i + 1]) return false;
  const double a = s->ratio[i], b = s->ratio[i + 1];
  return a < m->early_ratio && b < m->early_ratio && fabs(a + b - m->split_sum) <= m->split_tolerance;
}

int gn_rhythm_events(gn_series *s) {
  const girthline_rhythm_limits *m = s->limits;
  if (look_for_turns(s)) return -1;
  usual(s);
  for (size_t i = 0; i < s->n; i++) s->kind[i] = s->ratio[i] >= m->pause_ratio ? GN_PAUSE : GN_PLAIN;
  for (size_t i = 0; i < s->n; i++) {
    if (s->kind[i] != GN_PLAIN) continue;
    if (splits(s, i)) {
      s->kind[i] = s->kind[i + 1] = GN_SPLIT;
      i++;
    } else if (s->ratio[i] <= m->early_ratio) {
      s->kind[i] = GN_SHORT;
      if (i + 1 < s->n && s->linked[i + 1] && s->kind[i + 1] == GN_PLAIN && s->ratio[i + 1] > m->early_ratio) s->kind[++i] = GN_AFTER;
    }
  }
  return 0;
}

// The sound nearest to a time, within some seconds; NaN: none.
static double nearest(double at_s, double within_s, const double *lone_s, size_t n_lone) {
  double best = (double)NAN, least_s = within_s;
  for (size_t k = 0; k < n_lone; k++)
    if (fabs(lone_s[k] - at_s) <= least_s) least_s = fabs(lone_s[k] - at_s), best = lone_s[k];
  return best;
}

// The atria keep their time while a beat is dropped: one sound where each dropped beat's S4 belongs, the rest is noise.
static void atrial_sounds(girthline_pause *p, double lead_s, double within, const double *lone_s, size_t n_lone) {
  const int n_beats = (int)(p->ratio + 0.5); // that the pause has room for
  const double usual_s = (p->span.end_s - p->span.start_s) / n_beats;
  for (int k = 1; k < n_beats && p->n_atrial < GIRTHLINE_MAX_ATRIAL; k++) {
    const double at_s = nearest(p->span.start_s + k * usual_s - lead_s, within * usual_s, lone_s, n_lone);
    if (!isnan(at_s)) p->atrial_onset_s[p->n_atrial++] = at_s;
  }
}

int gn_rhythm_list_pauses(girthline_result *result, const gn_series *s, const double *lone_s, size_t n_lone) {
  girthline_rhythm *y = &result->rhythm;
  const girthline_extra *s4 = gn_result_extra(result, GIRTHLINE_EXTRA_S4); // how long before S1 the atria are heard where a beat follows
  size_t n = 0;
  for (size_t i = 0; i < s->n; i++) n += s->kind[i] == GN_PAUSE;
  y->n_pauses = 0;
  y->pauses = gn_new(n, sizeof *y->pauses);
  if (!y->pauses) return -1;
  for (size_t i = 0; i < s->n; i++) {
    if (s->kind[i] != GN_PAUSE) continue;
    girthline_pause *p = &y->pauses[y->n_pauses++];
    *p = (girthline_pause){.span = {s->start_s[i], s->start_s[i] + s->len_s[i]}, .ratio = s->ratio[i]};
    if (s4) atrial_sounds(p, s4->delay_s, s->limits->atrial_within, lone_s, n_lone);
  }
  return 0;
}

// In a heart that breathing makes swing far, the wave's own long and short intervals are neither pauses nor early.
static bool is_long(const gn_series *s, size_t i) { return s->kind[i] == GN_PAUSE && s->ratio[i] >= s->limits->pause_ratio * s->swing[i]; }

void gn_rhythm_sift_pauses(girthline_result *result, const gn_series *s) {
  girthline_rhythm *y = &result->rhythm;
  if (y->pattern != GIRTHLINE_CYCLIC) return;
  size_t k = 0, n = 0; // each pause of the series is one of the list
  for (size_t i = 0; i < s->n; i++) {
    if (s->kind[i] != GN_PAUSE) continue;
    if (is_long(s, i)) y->pauses[n++] = y->pauses[k];
    k++;
  }
  y->n_pauses = n;
}

int gn_rhythm_list_early(girthline_result *result, const gn_series *s) {
  const girthline_rhythm_limits *m = s->limits;
  girthline_rhythm *y = &result->rhythm;
  size_t n = 0;
  for (size_t i = 0; i < s->n; i++) n += s->kind[i] == GN_SHORT;
  y->n_early = 0;
  y->early = gn_new(n, sizeof *y->early);
  if (!y->early) return -1;
  // Where no usual interval holds, "early" means little: only what stands out of the swing is listed then.
  const bool swings = y->pattern == GIRTHLINE_IRREGULAR || y->pattern == GIRTHLINE_CYCLIC;
  const double most_ratio = swings ? m->early_swinging_ratio : m->early_ratio;
  for (size_t i = 0; i < s->n; i++)
    if (s->kind[i] == GN_SHORT && s->ratio[i] <= most_ratio * (y->pattern == GIRTHLINE_CYCLIC ? s->swing[i] : 1))
      y->early[y->n_early++] = (girthline_early){s->start_s[i] + s->len_s[i], s->ratio[i]};
  return 0;
}
