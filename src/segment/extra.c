// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/extra.h"

#include <math.h>
#include <stdlib.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"
#include "segment/moving.h"
#include "segment/peaks.h"

enum { N_KINDS = GIRTHLINE_CLICK + 1 };
static const double HORSE_S_S[2] = {0.120, 0.085};   // S1's and S2's length for which the times of the splits hold
static const double SHORTEST = 0.5;                  // of them that would hold for a sound of no length: a choice, horse to cat
static const double S1_AS_S2 = 0.7;                  // S1 is longer than S2 by this share in every species of the table
static const double BESIDE_MURMUR = 0.05;            // of diastole, around a murmur in its middle, that is its own swelling and fading (choice)
static const double CLICK_FREE_S = 0.045, CLICK_FREE_SHARE = 0.2; // kept free of clicks before S2: so long, or that share of a shorter systole (choices)
static const double LONE_APART_S = 0.15;             // closer sounds alone in a pause are one
static const double MOVING_ROOM_S[2] = {0.06, 0.15}; // around an onset what hides the heart spoils the sound's form

// In a short diastole one sound lies where S3 is looked for and where S4 is. In 31 simulated hearts where it did, and one of the two was there, the
// steadier delay gave it the right name in 26; in two of the others the delays were as steady either way.
static const double SAME_SOUND_S = 0.03, SAME_SHARE = 0.5; // apart; of the rarer one's beats (choices)
static const double STEADIER = 1.25, EITHER_NAME = 0.5;    // spread over spread; of the confidence where they are nearer

// What makes a kind. Where it is looked for stands in place_of().
typedef struct kind_rule {
  double rise_db;   // a beat's candidate must stand this far over the dips on both sides
  double usual_db;  // and half of them this far
  double within_s;  // beats agree when their delays lie this near
  double share;     // of the beats must agree
  double least_db;  // and so loud against S1 the kind is at the least
} kind_rule;

typedef struct hit { float delay_s, rise_db, level_db; } hit; // delay NaN: looked for and not there; rise NaN: not looked for
typedef struct record { double s1_s, s2_s; hit hits[N_KINDS]; } record;
typedef struct lone { double at_s; float level_db; } lone;

struct gn_extra {
  girthline_extra_limits limits;
  const girthline_profile *profile;
  record *records;
  size_t n_records, records_room;
  lone *lones;
  size_t n_lones, lones_room;
  double *lone_s;
  gn_moving *moving[2]; // S1, S2
  gn_moving_part part[2]; // what moves in them, once known
  bool moves[2];
};

static kind_rule rule_of(const gn_extra *x, int kind) {
  const girthline_extra_limits *m = &x->limits;
  switch (kind) {
  case GIRTHLINE_EXTRA_S3: return (kind_rule){m->s3_rise_db, m->s3_usual_db, m->s3_within_s, m->s3_share, m->filling_least_db};
  case GIRTHLINE_EXTRA_S4: return (kind_rule){m->s4_rise_db, m->s4_usual_db, m->s4_within_s, m->s4_share, m->filling_least_db};
  case GIRTHLINE_SPLIT_S1: return (kind_rule){m->split_s1_rise_db, m->split_s1_usual_db, m->split_s1_within_s, m->split_s1_share, -HUGE_VAL};
  case GIRTHLINE_SPLIT_S2: return (kind_rule){m->split_s2_rise_db, m->split_s2_usual_db, m->split_s2_within_s, m->split_s2_share, -HUGE_VAL};
  default: return (kind_rule){m->click_rise_db, m->click_usual_db, fmax(m->click_within_s, m->click_within_share * x->profile->systole_at_1s_s), m->click_share, -HUGE_VAL};
  }
}

gn_extra *gn_extra_new(const girthline_extra_limits *limits, const girthline_profile *profile) {
  gn_extra *x = gn_new(1, sizeof *x);
  if (!x) return NULL;
  x->limits = *limits;
  x->profile = profile;
  x->moving[0] = gn_moving_new(profile->s1_length_s * S1_AS_S2);
  x->moving[1] = gn_moving_new(profile->s2_length_s);
  if (x->moving[0] && x->moving[1]) return x;
  gn_extra_free(x);
  return NULL;
}

void gn_extra_free(gn_extra *x) {
  if (!x) return;
  gn_free(x->records);
  gn_free(x->lones);
  gn_free(x->lone_s);
  gn_moving_free(x->moving[0]);
  gn_moving_free(x->moving[1]);
  gn_free(x);
}

static bool spoilt_in(const girthline_span *spoilt, size_t n, double from_s, double to_s) {
  for (size_t i = 0; i < n; i++)
    if (spoilt[i].start_s < to_s && spoilt[i].end_s > from_s) return true;
  return false;
}

// One place to look: the sound's peak in [from_s, to_s], its dips in [left_s, right_s].
typedef struct place { double from_s, to_s, left_s, right_s; bool low; } place;

// before_s: S2 of the beat before; next_s: S1 of the next.
static place place_of(const gn_extra *x, int kind, const girthline_beat *b, double before_s, double next_s) {
  const girthline_profile *p = x->profile;
  const girthline_extra_limits *m = &x->limits;
  const double s1 = b->s1_onset_s, s2 = b->s2_onset_s;
  switch (kind) {
    case GIRTHLINE_EXTRA_S3: {
      const double to = fmin(s2 + p->s3_after_s2_s[1] + 0.03, next_s - 0.06);
      return (place){s2 + p->s3_after_s2_s[0] + 0.01, to, s2 + 0.6 * p->s2_length_s, fmin(to + m->dip_room_s, next_s - 0.02), true};
    }
    case GIRTHLINE_EXTRA_S4: {
      const double left = fmax(s1 - p->s4_before_s1_s[1] - m->dip_room_s, before_s + p->s2_length_s);
      return (place){fmax(s1 - p->s4_before_s1_s[1], left + 0.02), s1 - p->s4_before_s1_s[0] + 0.02, left, s1, true};
    }
    case GIRTHLINE_SPLIT_S1: return (place){s1 + 0.005, s1 + m->split_to_s + 0.03, s1 - 0.02, s1 + m->split_to_s + 0.05, false};
    case GIRTHLINE_SPLIT_S2: return (place){s2 + 0.005, s2 + m->split_to_s + 0.03, s2 - 0.02, s2 + m->split_to_s + 0.05, false};
    default: return (place){s1 + p->s1_length_s, s2 - fmin(CLICK_FREE_S, CLICK_FREE_SHARE * (s2 - s1)), s1 + 0.8 * p->s1_length_s, s2 - 0.015, false};
  }
}

static void look(const gn_extra *x, const gn_peaks *e, int kind, const place *w, const girthline_beat *b, hit *out) {
  const girthline_extra_limits *m = &x->limits;
  const double origin_s = kind == GIRTHLINE_EXTRA_S3 ? b->s2_onset_s : b->s1_onset_s;
  const kind_rule rule = rule_of(x, kind);
  gn_peak peak;
  *out = (hit){NAN, 0, NAN};
  if (kind == GIRTHLINE_SPLIT_S1 || kind == GIRTHLINE_SPLIT_S2) {
    gn_peak second;
    if (!gn_peaks_pair(e, w->left_s, w->right_s, &peak, &second)) return;
    const double apart_s = second.peak_s - peak.peak_s;
    if (apart_s < m->split_from_s || apart_s > m->split_to_s || second.rise_db < rule.rise_db) return;
    *out = (hit){(float)apart_s, (float)second.rise_db, (float)(second.level_db - gn_peaks_most_db(e, b->s1_onset_s, b->s1_onset_s + 0.1, false))};
    return;
  }
  if (!gn_peaks_best(e, w->from_s, w->to_s, w->left_s, w->right_s, w->low, &peak) || peak.rise_db < rule.rise_db) return;
  if (kind == GIRTHLINE_CLICK && peak.width_s > m->click_longest_s) return;
  const double delay_s = peak.onset_s - origin_s;
  const double level_db = peak.level_db - gn_peaks_most_db(e, b->s1_onset_s, b->s1_onset_s + 0.12, w->low);
  *out = (hit){(float)(kind == GIRTHLINE_EXTRA_S4 ? -delay_s : delay_s), (float)peak.rise_db, (float)level_db};
}

// One sound at the edge of two stretches is found in both, and a weaker one beside it may be found first: the louder stays.
static int keep_louder(gn_extra *x, lone found) {
  const bool again = x->n_lones && found.at_s - x->lones[x->n_lones - 1].at_s < LONE_APART_S;
  void *items = x->lones;
  if (again) {
    lone *last = &x->lones[x->n_lones - 1];
    if (found.level_db > last->level_db) *last = found;
    return 0;
  }
  if (gn_grow(&items, &x->lones_room, x->n_lones + 1, sizeof *x->lones)) return -1;
  x->lones = items;
  x->lones[x->n_lones++] = found;
  return 0;
}

// Low sounds in a long interval that no beat follows.
static int look_for_lone(gn_extra *x, const gn_peaks *e, const girthline_beat *b, double next_s) {
  double from_s = b->s2_onset_s + x->limits.lone_after_s2_s;
  const double to_s = next_s - x->limits.lone_gap_s, beat_db = gn_peaks_most_db(e, b->s1_onset_s, b->s1_onset_s + 0.12, true);
  while (from_s < to_s) {
    gn_peak peak;
    const double end_s = fmin(from_s + 0.5, to_s);
    if (gn_peaks_best(e, from_s, end_s, from_s - x->limits.dip_room_s, end_s + x->limits.dip_room_s, true, &peak) && peak.rise_db >= x->limits.lone_rise_db &&
        keep_louder(x, (lone){peak.onset_s, (float)(peak.level_db - beat_db)}))
      return -1;
    from_s += 0.5;
  }
  return 0;
}

static int collect_beat(gn_extra *x, const gn_peaks *e, const girthline_beat *b, const double around_s[2], const girthline_span *spoilt, size_t n_spoilt) {
  const double next_s = around_s[1];
  record r = {.s1_s = b->s1_onset_s, .s2_s = b->s2_onset_s};
  for (int kind = 0; kind < N_KINDS; kind++) {
    const place w = place_of(x, kind, b, around_s[0], isnan(next_s) ? b->s2_onset_s + 1 : next_s);
    r.hits[kind] = (hit){NAN, NAN, NAN};
    if (w.to_s > w.from_s && gn_peaks_hold(e, w.left_s, w.right_s) && !spoilt_in(spoilt, n_spoilt, w.left_s, w.right_s))
      look(x, e, kind, &w, b, &r.hits[kind]);
  }
  void *items = x->records;
  if (gn_grow(&items, &x->records_room, x->n_records + 1, sizeof *x->records)) return -1;
  x->records = items;
  x->records[x->n_records++] = r;
  for (int k = 0; k < 2; k++) {
    const double onset_s = k ? b->s2_onset_s : b->s1_onset_s;
    if (spoilt_in(spoilt, n_spoilt, onset_s - MOVING_ROOM_S[0], onset_s + MOVING_ROOM_S[1])) continue;
    if (gn_moving_add(x->moving[k], e->window, onset_s)) return -1;
  }
  const bool long_gap = next_s - b->s2_onset_s > x->limits.lone_after_s2_s + x->limits.lone_gap_s + 0.1;
  if (!long_gap || spoilt_in(spoilt, n_spoilt, b->s2_onset_s, next_s)) return 0;
  return look_for_lone(x, e, b, next_s);
}

girthline_status gn_extra_collect(gn_extra *x, const gn_peaks *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats,
                                  const girthline_span *spoilt, size_t n_spoilt) {
  if (window->window->n < 2) return GIRTHLINE_OK;
  int refused = 0;
  for (size_t i = 0; !refused && i < n_beats; i++) {
    const girthline_beat *b = &beats[i];
    if (!(b->s1_onset_s >= from_s && b->s1_onset_s < to_s) || isnan(b->s2_onset_s) || (double)b->confidence < x->limits.confidence) continue;
    const double around_s[2] = {i > 0 ? beats[i - 1].s2_onset_s : (double)NAN, i + 1 < n_beats ? beats[i + 1].s1_onset_s : (double)NAN};
    refused = collect_beat(x, window, b, around_s, spoilt, n_spoilt);
  }
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

// The delay on which most beats agree; *n_agree of them. delays: sorted.
static double mode_of(const double *delays, size_t n, double within_s, size_t *n_agree) {
  double best = NAN;
  *n_agree = 0;
  for (size_t a = 0, b = 0; a < n; a++) {
    while (b < n && delays[b] <= delays[a] + 2 * within_s) b++;
    if (b - a <= *n_agree) continue;
    *n_agree = b - a;
    best = delays[a] + (delays[b - 1] - delays[a]) / 2;
  }
  return best;
}

static double range_s(const gn_extra *x, int kind) {
  const girthline_profile *p = x->profile;
  if (kind == GIRTHLINE_EXTRA_S3) return p->s3_after_s2_s[1] - p->s3_after_s2_s[0];
  if (kind == GIRTHLINE_EXTRA_S4) return p->s4_before_s1_s[1] - p->s4_before_s1_s[0];
  return kind == GIRTHLINE_CLICK ? 0.5 * p->systole_at_1s_s : x->limits.split_to_s - x->limits.split_from_s;
}

static double onset_of(const record *r, int kind) {
  const double delay_s = (double)r->hits[kind].delay_s;
  if (kind == GIRTHLINE_EXTRA_S3) return r->s2_s + delay_s;
  if (kind == GIRTHLINE_EXTRA_S4) return r->s1_s - delay_s;
  return (kind == GIRTHLINE_SPLIT_S2 ? r->s2_s : r->s1_s) + delay_s;
}

// Does this beat's come about so long after its sound?
static bool agrees(const gn_extra *x, int kind, double delay_s, const record *r) {
  return fabs((double)r->hits[kind].delay_s - delay_s) <= rule_of(x, kind).within_s; // not where there is none: NaN
}

static int ascending(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

// Does the kind stand the test? Fills out (without its onsets) when it does.
static bool claimed(const gn_extra *x, int kind, double *room, girthline_extra *out) {
  const kind_rule rule = rule_of(x, kind);
  size_t n_looked = 0, n = 0, n_agree = 0, kept = 0;
  for (size_t i = 0; i < x->n_records; i++) {
    const hit *h = &x->records[i].hits[kind];
    if (!isnan(h->rise_db)) n_looked++;
    if (!isnan(h->delay_s)) room[n++] = (double)h->delay_s;
  }
  if (n < (size_t)x->limits.beats_n) return false;
  qsort(room, n, sizeof *room, ascending);
  const double delay_s = mode_of(room, n, rule.within_s, &n_agree);
  const double looked = (double)n_looked, share = (double)n_agree / looked;
  double chance = fmin(0.9, 2 * rule.within_s / range_s(x, kind)) * (double)n / looked;
  if (chance < 0.02) chance = 0.02;
  const double z = (share - chance) / sqrt(chance * (1 - chance) / looked);
  if (share < rule.share || z < x->limits.chance_z * fmin(1, sqrt(looked / 12))) return false;
  double *rises = room, *levels = room + x->n_records;
  for (size_t i = 0; i < x->n_records; i++) {
    const hit *h = &x->records[i].hits[kind];
    if (!agrees(x, kind, delay_s, &x->records[i])) continue;
    rises[kept] = (double)h->rise_db;
    levels[kept++] = (double)h->level_db;
  }
  const double rise_db = gn_median(rises, kept);
  *out = (girthline_extra){.kind = (girthline_extra_kind)kind, .beats_fraction = share, .delay_s = delay_s, .level_db = gn_median(levels, kept)};
  out->confidence = 1 - 0.5 * gn_exp(-0.15 * (rise_db - rule.usual_db) - (share - rule.share) * 3);
  return rise_db >= rule.usual_db && out->level_db > rule.least_db;
}

// Does what moves in the sound set in late enough to be a second component? A short sound's components lie closer.
static bool comes_late(const gn_extra *x, int kind, const gn_moving_part *part) {
  const girthline_extra_limits *m = &x->limits;
  const bool second = kind == GIRTHLINE_SPLIT_S2;
  const double length = second ? x->profile->s2_length_s / HORSE_S_S[1] : x->profile->s1_length_s / HORSE_S_S[0];
  const double scale = SHORTEST + (1 - SHORTEST) * length;
  if (part->onset_s < m->split_from_s || part->onset_s > m->split_to_s) return false;
  if (part->share < (second ? m->split_s2_moves_share : m->split_s1_moves_share)) return false;
  if (part->quarter_s - part->tenth_s > length * (second ? m->split_s2_rises_s : m->split_s1_rises_s)) return false;
  return part->tenth_s >= scale * (second ? m->split_s2_tenth_s : m->split_s1_tenth_s) &&
         part->quarter_s >= scale * (second ? m->split_s2_quarter_s : m->split_s1_quarter_s);
}

// A split whose components overlap, told by their moving against each other. Fills out without its onsets.
static bool moves(const gn_extra *x, int kind, girthline_extra *out) {
  if (kind != GIRTHLINE_SPLIT_S1 && kind != GIRTHLINE_SPLIT_S2) return false;
  const int k = kind == GIRTHLINE_SPLIT_S2;
  const gn_moving_part *part = &x->part[k];
  if (!x->moves[k] || !(x->part[0].peak > 0) || !comes_late(x, kind, part)) return false;
  *out = (girthline_extra){.kind = (girthline_extra_kind)kind, .beats_fraction = part->beats_fraction, .delay_s = part->onset_s};
  out->level_db = gn_db(part->level / x->part[0].peak);
  out->confidence = 1 - 0.5 * (1 - part->share);
  return true;
}

static int add_all_onsets(const gn_extra *x, girthline_extra *out) {
  out->onsets_s = gn_new(x->n_records, sizeof *out->onsets_s);
  if (!out->onsets_s) return -1;
  for (size_t i = 0; i < x->n_records; i++) {
    const record *r = &x->records[i];
    if (!isnan(r->hits[out->kind].rise_db)) out->onsets_s[out->n_onsets++] = (out->kind == GIRTHLINE_SPLIT_S2 ? r->s2_s : r->s1_s) + out->delay_s;
  }
  return 0;
}

static int add_onsets(const gn_extra *x, girthline_extra *out) {
  out->onsets_s = gn_new(x->n_records, sizeof *out->onsets_s);
  if (!out->onsets_s) return -1;
  for (size_t i = 0; i < x->n_records; i++) {
    const record *r = &x->records[i];
    if (agrees(x, (int)out->kind, out->delay_s, r)) out->onsets_s[out->n_onsets++] = onset_of(r, (int)out->kind);
  }
  return 0;
}

static int keep_lone(gn_extra *x, const girthline_extra *s4, size_t *n_lone) {
  x->lone_s = gn_new(x->n_lones, sizeof *x->lone_s);
  if (!x->lone_s) return -1;
  for (size_t i = 0; i < x->n_lones; i++)
    if (fabs((double)x->lones[i].level_db - s4->level_db) <= x->limits.lone_level_db) x->lone_s[(*n_lone)++] = x->lones[i].at_s;
  return 0;
}

// One sound has one name: S3 where it keeps its time after S2, S4 where it keeps it before the next S1. room: twice the records.
static void name_once(const gn_extra *x, double *room, girthline_result *result) {
  girthline_extra *third = gn_result_extra(result, GIRTHLINE_EXTRA_S3), *fourth = gn_result_extra(result, GIRTHLINE_EXTRA_S4);
  if (!third || !fourth) return;
  double *after = room, *before = room + x->n_records;
  size_t n = 0;
  for (size_t i = 0; i + 1 < x->n_records; i++) {
    const record *r = &x->records[i], *next = r + 1;
    if (!agrees(x, GIRTHLINE_EXTRA_S3, third->delay_s, r) || !agrees(x, GIRTHLINE_EXTRA_S4, fourth->delay_s, next)) continue;
    if (fabs(onset_of(r, GIRTHLINE_EXTRA_S3) - onset_of(next, GIRTHLINE_EXTRA_S4)) > SAME_SOUND_S) continue;
    after[n] = (double)r->hits[GIRTHLINE_EXTRA_S3].delay_s;
    before[n++] = (double)next->hits[GIRTHLINE_EXTRA_S4].delay_s;
  }
  const size_t fewer = third->n_onsets < fourth->n_onsets ? third->n_onsets : fourth->n_onsets;
  if (n == 0 || (double)n < SAME_SHARE * (double)fewer) return;
  const double third_s = gn_robust_sd(after, n, gn_median(after, n)), fourth_s = gn_robust_sd(before, n, gn_median(before, n));
  girthline_extra *kept = third_s <= fourth_s ? third : fourth, *other = kept == third ? fourth : third;
  if (fmax(third_s, fourth_s) < STEADIER * fmin(third_s, fourth_s)) kept->confidence *= EITHER_NAME;
  gn_free(other->onsets_s);
  for (; other + 1 < result->extras + result->n_extras; other++) *other = other[1];
  result->n_extras--;
}

girthline_status gn_extra_finish(gn_extra *x, girthline_result *result, const double **lone_s, size_t *n_lone) {
  *lone_s = NULL;
  *n_lone = 0;
  if (x->n_records == 0) return GIRTHLINE_OK;
  double *room = gn_new(2 * x->n_records, sizeof *room);
  if (!result->extras) result->extras = gn_new(N_KINDS, sizeof *result->extras);
  int refused = !room || !result->extras;
  for (int k = 0; k < 2 && !refused; k++) refused = gn_moving_find(x->moving[k], &x->part[k], &x->moves[k]);
  for (int kind = 0; !refused && kind < N_KINDS; kind++) {
    girthline_extra found;
    const bool moving = moves(x, kind, &found);
    if (!moving && !claimed(x, kind, room, &found)) continue;
    refused = moving ? add_all_onsets(x, &found) : add_onsets(x, &found);
    if (!refused) result->extras[result->n_extras++] = found;
    if (!refused && kind == GIRTHLINE_EXTRA_S4) name_once(x, room, result);
    const girthline_extra *s4 = refused || kind != GIRTHLINE_EXTRA_S4 ? NULL : gn_result_extra(result, GIRTHLINE_EXTRA_S4);
    if (s4) refused = keep_lone(x, s4, n_lone);
  }
  gn_free(room);
  *lone_s = x->lone_s;
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

// The median diastole, seconds; NaN without one. -1 when memory is refused.
static int usual_diastole(const girthline_result *r, double *diastole_s) {
  *diastole_s = NAN;
  double *room = gn_new(r->n_beats, sizeof *room);
  if (!room) return -1;
  size_t n = 0;
  for (size_t i = 0; i + 1 < r->n_beats; i++) {
    const double len_s = r->beats[i + 1].s1_onset_s - r->beats[i].s2_onset_s;
    if (len_s > 0) room[n++] = len_s;
  }
  if (n) *diastole_s = gn_median(room, n);
  gn_free(room);
  return 0;
}

static bool within_murmur(const girthline_result *r, double at) {
  for (size_t i = 0; i < r->murmur.n_phases; i++) {
    const girthline_murmur_phase *p = &r->murmur.phases[i];
    const bool middle = p->phase == GIRTHLINE_DIASTOLE && p->timing == GIRTHLINE_MID;
    if (middle && at >= p->start_fraction - BESIDE_MURMUR && at <= p->end_fraction + BESIDE_MURMUR) return true;
  }
  return false;
}

girthline_status gn_extra_leave_murmurs(girthline_result *result) {
  double diastole_s;
  size_t kept = 0;
  if (result->n_extras == 0) return GIRTHLINE_OK;
  if (usual_diastole(result, &diastole_s)) return GIRTHLINE_NO_MEMORY;
  for (size_t i = 0; i < result->n_extras; i++) {
    girthline_extra *e = &result->extras[i];
    const bool third = e->kind == GIRTHLINE_EXTRA_S3, filling = third || e->kind == GIRTHLINE_EXTRA_S4;
    const double at = (third ? e->delay_s : diastole_s - e->delay_s) / diastole_s;
    if (filling && within_murmur(result, at)) gn_free(e->onsets_s);
    else result->extras[kept++] = *e;
  }
  result->n_extras = kept;
  return GIRTHLINE_OK;
}
