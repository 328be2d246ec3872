// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/extra.h"

#include <math.h>
#include <stdlib.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "segment/peaks.h"

enum { N_KINDS = GIRTHLINE_CLICK + 1 };

// What makes a kind. Where it is looked for stands in places(); the rest are choices made on simulated recordings.
static const struct {
  double rise_db;   // a beat's candidate must stand this far over the dips on both sides
  double usual_db;  // and half of them this far
  double within_s;  // beats agree when their delays lie this near
  double share;     // of the beats must agree
} KIND[N_KINDS] = {
    {3, 6, 0.025, 0.60}, {3, 6, 0.025, 0.60}, {3, 8, 0.008, 0.75}, {3, 8, 0.008, 0.75}, {8, 12, 0.012, 0.70}};
static const double CHANCE_Z = 4;             // over the share that candidates strewn at random would give
static const size_t N_LEAST = 4;              // beats
static const double DIP_ROOM_S = 0.080;       // how far from its range a sound's dips are looked for
static const double CONFIDENCE_LEAST = 0.2;   // beats the decoder itself doubts this much are left out
static const double SPLIT_S[2] = {0.018, 0.070}; // between components: closer ones fuse, wider ones are two sounds
static const double CLICK_LONGEST_S = 0.030;  // at half its amplitude
static const double LONE_GAP_S = 0.40;        // no beat follows within this
static const double LONE_AFTER_S2_S = 0.35;   // nor is it an S3
static const double LONE_RISE_DB = 9;         // a lone sound must stand out more
static const double LONE_LEVEL_DB = 8;        // and be about as loud as the S4 that beats follow

typedef struct hit { float delay_s, rise_db, level_db; } hit; // delay NaN: looked for and not there; rise NaN: not looked for
typedef struct record { double s1_s, s2_s; hit hits[N_KINDS]; } record;
typedef struct lone { double at_s; float level_db; } lone;

struct gn_extra {
  const girthline_profile *profile;
  record *records;
  size_t n_records, records_room;
  lone *lones;
  size_t n_lones, lones_room;
  double *lone_s;
};

gn_extra *gn_extra_new(const girthline_profile *profile, double analysis_fs_hz) {
  (void)analysis_fs_hz;
  gn_extra *x = gn_new(1, sizeof *x);
  if (x) x->profile = profile;
  return x;
}

void gn_extra_free(gn_extra *x) {
  if (!x) return;
  gn_free(x->records);
  gn_free(x->lones);
  gn_free(x->lone_s);
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
static place place_of(const girthline_profile *p, int kind, const girthline_beat *b, double before_s, double next_s) {
  const double s1 = b->s1_onset_s, s2 = b->s2_onset_s;
  switch (kind) {
    case GIRTHLINE_EXTRA_S3: {
      const double to = fmin(s2 + p->s3_after_s2_s[1] + 0.03, next_s - 0.06);
      return (place){s2 + p->s3_after_s2_s[0] + 0.01, to, s2 + 0.6 * p->s2_length_s, fmin(to + DIP_ROOM_S, next_s - 0.02), true};
    }
    case GIRTHLINE_EXTRA_S4: {
      const double left = fmax(s1 - p->s4_before_s1_s[1] - DIP_ROOM_S, before_s + p->s2_length_s);
      return (place){fmax(s1 - p->s4_before_s1_s[1], left + 0.02), s1 - p->s4_before_s1_s[0] + 0.02, left, s1, true};
    }
    case GIRTHLINE_SPLIT_S1: return (place){s1 + 0.005, s1 + SPLIT_S[1] + 0.03, s1 - 0.02, s1 + SPLIT_S[1] + 0.05, false};
    case GIRTHLINE_SPLIT_S2: return (place){s2 + 0.005, s2 + SPLIT_S[1] + 0.03, s2 - 0.02, s2 + SPLIT_S[1] + 0.05, false};
    default: return (place){s1 + p->s1_length_s, s2 - 0.045, s1 + 0.8 * p->s1_length_s, s2 - 0.015, false};
  }
}

static void look(const gn_peaks *e, int kind, const place *w, const girthline_beat *b, hit *out) {
  const double origin_s = kind == GIRTHLINE_EXTRA_S3 ? b->s2_onset_s : b->s1_onset_s;
  gn_peak peak;
  *out = (hit){NAN, 0, NAN};
  if (kind == GIRTHLINE_SPLIT_S1 || kind == GIRTHLINE_SPLIT_S2) {
    gn_peak second;
    if (!gn_peaks_pair(e, w->left_s, w->right_s, &peak, &second)) return;
    const double apart_s = second.peak_s - peak.peak_s;
    if (apart_s < SPLIT_S[0] || apart_s > SPLIT_S[1] || second.rise_db < KIND[kind].rise_db) return;
    *out = (hit){(float)apart_s, (float)second.rise_db, (float)(second.level_db - gn_peaks_most_db(e, b->s1_onset_s, b->s1_onset_s + 0.1, false))};
    return;
  }
  if (!gn_peaks_best(e, w->from_s, w->to_s, w->left_s, w->right_s, w->low, &peak) || peak.rise_db < KIND[kind].rise_db) return;
  if (kind == GIRTHLINE_CLICK && peak.width_s > CLICK_LONGEST_S) return;
  const double delay_s = peak.onset_s - origin_s;
  const double level_db = peak.level_db - gn_peaks_most_db(e, b->s1_onset_s, b->s1_onset_s + 0.12, w->low);
  *out = (hit){(float)(kind == GIRTHLINE_EXTRA_S4 ? -delay_s : delay_s), (float)peak.rise_db, (float)level_db};
}

// Low sounds in a long interval that no beat follows.
static int look_for_lone(gn_extra *x, const gn_peaks *e, const girthline_beat *b, double next_s) {
  double from_s = b->s2_onset_s + LONE_AFTER_S2_S;
  const double to_s = next_s - LONE_GAP_S;
  while (from_s < to_s) {
    gn_peak peak;
    const double end_s = fmin(from_s + 0.5, to_s);
    if (gn_peaks_best(e, from_s, end_s, from_s - DIP_ROOM_S, end_s + DIP_ROOM_S, true, &peak) && peak.rise_db >= LONE_RISE_DB) {
      const bool again = x->n_lones && peak.onset_s - x->lones[x->n_lones - 1].at_s < 0.15;
      void *items = x->lones;
      if (!again) {
        if (gn_grow(&items, &x->lones_room, x->n_lones + 1, sizeof *x->lones)) return -1;
        x->lones = items;
        x->lones[x->n_lones++] = (lone){peak.onset_s, (float)(peak.level_db - gn_peaks_most_db(e, b->s1_onset_s, b->s1_onset_s + 0.12, true))};
      }
    }
    from_s += 0.5;
  }
  return 0;
}

static int collect_beat(gn_extra *x, const gn_peaks *e, const girthline_beat *b, const double around_s[2], const girthline_span *spoilt, size_t n_spoilt) {
  const double next_s = around_s[1];
  record r = {.s1_s = b->s1_onset_s, .s2_s = b->s2_onset_s};
  for (int kind = 0; kind < N_KINDS; kind++) {
    const place w = place_of(x->profile, kind, b, around_s[0], isnan(next_s) ? b->s2_onset_s + 1 : next_s);
    r.hits[kind] = (hit){NAN, NAN, NAN};
    if (w.to_s > w.from_s && gn_peaks_hold(e, w.left_s, w.right_s) && !spoilt_in(spoilt, n_spoilt, w.left_s, w.right_s))
      look(e, kind, &w, b, &r.hits[kind]);
  }
  void *items = x->records;
  if (gn_grow(&items, &x->records_room, x->n_records + 1, sizeof *x->records)) return -1;
  x->records = items;
  x->records[x->n_records++] = r;
  const bool long_gap = next_s - b->s2_onset_s > LONE_AFTER_S2_S + LONE_GAP_S + 0.1;
  if (!long_gap || spoilt_in(spoilt, n_spoilt, b->s2_onset_s, next_s)) return 0;
  return look_for_lone(x, e, b, next_s);
}

girthline_status gn_extra_collect(gn_extra *x, const gn_signal *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats,
                                  const girthline_span *spoilt, size_t n_spoilt) {
  if (window->n < 2 || n_beats == 0) return GIRTHLINE_OK;
  gn_peaks e;
  if (gn_peaks_init(&e, window)) return GIRTHLINE_NO_MEMORY;
  int refused = 0;
  for (size_t i = 0; !refused && i < n_beats; i++) {
    const girthline_beat *b = &beats[i];
    if (!(b->s1_onset_s >= from_s && b->s1_onset_s < to_s) || isnan(b->s2_onset_s) || (double)b->confidence < CONFIDENCE_LEAST) continue;
    const double around_s[2] = {i > 0 ? beats[i - 1].s2_onset_s : (double)NAN, i + 1 < n_beats ? beats[i + 1].s1_onset_s : (double)NAN};
    refused = collect_beat(x, &e, b, around_s, spoilt, n_spoilt);
  }
  gn_peaks_clear(&e);
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

static double range_s(const girthline_profile *p, int kind) {
  if (kind == GIRTHLINE_EXTRA_S3) return p->s3_after_s2_s[1] - p->s3_after_s2_s[0];
  if (kind == GIRTHLINE_EXTRA_S4) return p->s4_before_s1_s[1] - p->s4_before_s1_s[0];
  return kind == GIRTHLINE_CLICK ? 0.5 * p->systole_at_1s_s : SPLIT_S[1] - SPLIT_S[0];
}

static double onset_of(const record *r, int kind) {
  const double delay_s = (double)r->hits[kind].delay_s;
  if (kind == GIRTHLINE_EXTRA_S3) return r->s2_s + delay_s;
  if (kind == GIRTHLINE_EXTRA_S4) return r->s1_s - delay_s;
  return (kind == GIRTHLINE_SPLIT_S2 ? r->s2_s : r->s1_s) + delay_s;
}

static int ascending(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

// Does the kind stand the test? Fills out (without its onsets) when it does.
static bool claimed(const gn_extra *x, int kind, double *room, girthline_extra *out) {
  size_t n_looked = 0, n = 0, n_agree = 0, kept = 0;
  for (size_t i = 0; i < x->n_records; i++) {
    const hit *h = &x->records[i].hits[kind];
    if (!isnan(h->rise_db)) n_looked++;
    if (!isnan(h->delay_s)) room[n++] = (double)h->delay_s;
  }
  if (n < N_LEAST) return false;
  qsort(room, n, sizeof *room, ascending);
  const double delay_s = mode_of(room, n, KIND[kind].within_s, &n_agree);
  const double looked = (double)n_looked, share = (double)n_agree / looked;
  double chance = fmin(0.9, 2 * KIND[kind].within_s / range_s(x->profile, kind)) * (double)n / looked;
  if (chance < 0.02) chance = 0.02;
  const double z = (share - chance) / sqrt(chance * (1 - chance) / looked);
  if (share < KIND[kind].share || z < CHANCE_Z * fmin(1, sqrt(looked / 12))) return false;
  double *rises = room, *levels = room + x->n_records;
  for (size_t i = 0; i < x->n_records; i++) {
    const hit *h = &x->records[i].hits[kind];
    if (isnan(h->delay_s) || fabs((double)h->delay_s - delay_s) > KIND[kind].within_s) continue;
    rises[kept] = (double)h->rise_db;
    levels[kept++] = (double)h->level_db;
  }
  const double rise_db = gn_median(rises, kept);
  *out = (girthline_extra){.kind = (girthline_extra_kind)kind, .beats_fraction = share, .delay_s = delay_s, .level_db = gn_median(levels, kept)};
  out->confidence = 1 - 0.5 * gn_exp(-0.15 * (rise_db - KIND[kind].usual_db) - (share - KIND[kind].share) * 3);
  return rise_db >= KIND[kind].usual_db;
}

static int add_onsets(const gn_extra *x, girthline_extra *out) {
  out->onsets_s = gn_new(x->n_records, sizeof *out->onsets_s);
  if (!out->onsets_s) return -1;
  for (size_t i = 0; i < x->n_records; i++) {
    const hit *h = &x->records[i].hits[out->kind];
    if (!isnan(h->delay_s) && fabs((double)h->delay_s - out->delay_s) <= KIND[out->kind].within_s) out->onsets_s[out->n_onsets++] = onset_of(&x->records[i], (int)out->kind);
  }
  return 0;
}

static int keep_lone(gn_extra *x, const girthline_extra *s4, size_t *n_lone) {
  x->lone_s = gn_new(x->n_lones, sizeof *x->lone_s);
  if (!x->lone_s) return -1;
  for (size_t i = 0; i < x->n_lones; i++)
    if (fabs((double)x->lones[i].level_db - s4->level_db) <= LONE_LEVEL_DB) x->lone_s[(*n_lone)++] = x->lones[i].at_s;
  return 0;
}

girthline_status gn_extra_finish(gn_extra *x, girthline_result *result, const double **lone_s, size_t *n_lone) {
  *lone_s = NULL;
  *n_lone = 0;
  if (x->n_records == 0) return GIRTHLINE_OK;
  double *room = gn_new(2 * x->n_records, sizeof *room);
  if (!result->extras) result->extras = gn_new(N_KINDS, sizeof *result->extras);
  int refused = !room || !result->extras;
  for (int kind = 0; !refused && kind < N_KINDS; kind++) {
    girthline_extra found;
    if (!claimed(x, kind, room, &found)) continue;
    refused = add_onsets(x, &found);
    if (!refused) result->extras[result->n_extras++] = found;
    if (!refused && kind == GIRTHLINE_EXTRA_S4) refused = keep_lone(x, &found, n_lone);
  }
  gn_free(room);
  *lone_s = x->lone_s;
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}
