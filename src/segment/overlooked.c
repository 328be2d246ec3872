// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/overlooked.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "segment/durations.h"
#include "segment/naming.h"

// A rumble in diastole as loud as the sounds is decoded as S1, the S1 behind it as S2, and the S2 ahead of it, softer in such hearts, as
// nothing (or the rumble is decoded as S2, and the S2 ahead of it as nothing). What gives it away is the sound left over: it stands out of the
// lower band as heart sounds do, where S2 is expected once the others have their names. A third sound comes sooner than that, a fourth later.
#define STANDS_DB 7.0        // over what lies on either side, in levels as the decoder sees them: of 1165 simulated recordings whose sounds
                             // were named rightly 2 had such a sound where S2 would be expected, of 58 with a rumble for a sound 52
#define TIME_MOST 2.0        // standard deviations from the expected systole
#define LEFT_OVER 3.5        // log odds that such a sound brings: 2 in 60 (see above)
#define MURMUR_RANGE 4.0     // a sound and a murmur may lie as far apart as they like within two octaves: a choice
#define BRIGHTER_PER_DB 0.35 // log odds a dB by which the murmur is higher pitched than both sounds, as the decoder sees them
#define BRIGHTER_MOST 3.0
// A third sound, or a murmur behind S2, louder than S2 may be decoded as S2, and the S2 ahead of it as nothing. In 9600 simulated recordings, 600 of
// them with clicks and other sounds, ten accounts had a sound left over that stood out so far at such a time and was so loud; all ten had taken
// a third sound or the beginning of a murmur in diastole for S2. Of those whose S2 was S2 the next stood out by 1.6 dB or came 3 deviations too soon.
#define SOONER_STANDS_DB 3.0
#define SOONER_LOUDER_DB -1.0 // than what was taken for S2, at most in either, mean of the bands
#define SOONER_SPREAD 0.12    // of log systole as decoded, at most: 0.09 in those ten, 0.20 where the S2 of a muffled heart was found nowhere in particular
#define SOONER_LEAST_N 4      // beats, before their mean course says so: a choice
#define SOONER_ROUNDS 2       // re-estimations with the other S2
#define SOONER_SHARE 0.5      // of the way from the old S2 to the new one that has to be left once its sounds are learnt: a choice
#define ENDS_N 2             // frames ahead of the next sound's lead that are its own rise

/// The mean course of the levels from one kind of sound to the next.
typedef struct gap {
  size_t n, from, to; ///< frames; those that neither sound reaches into: from .. to - 1
  double *level_db[GN_N_BANDS];
} gap;

static long begin_of(const gn_candidate *c, size_t i, bool diastole) { return diastole ? c->beats[i].s2 : c->beats[i].s1; }
static long end_of(const gn_candidate *c, size_t i, bool diastole) { return diastole ? c->beats[i + 1].s1 : c->beats[i].s2; }

// The usual length of the gap, frames. -1 when memory is refused.
static int usual_length(const gn_candidate *c, bool diastole, size_t *n) {
  double *len = gn_new(c->n_beats, sizeof *len);
  if (!len) return -1;
  for (size_t i = 0; i + 1 < c->n_beats; i++) len[i] = (double)(end_of(c, i, diastole) - begin_of(c, i, diastole));
  const double middle = gn_median(len, c->n_beats - 1);
  gn_free(len);
  *n = middle > 0 ? (size_t)middle : 0;
  return 0;
}

static void add_up(const gn_features *f, const gn_candidate *c, bool diastole, gap *g, double *count) {
  for (size_t i = 0; i + 1 < c->n_beats; i++) {
    const long a = begin_of(c, i, diastole), end = end_of(c, i, diastole);
    for (long k = a > 0 ? a : 0; k < end && k < (long)f->n && k - a < (long)g->n; k++) {
      if (f->spoilt[k]) continue;
      for (size_t b = 0; b < GN_N_BANDS; b++) g->level_db[b][k - a] += (double)f->level_db[b][k];
      count[k - a]++;
    }
  }
  for (size_t k = 0; k < g->n; k++)
    for (size_t b = 0; b < GN_N_BANDS; b++) g->level_db[b][k] /= gn_max(1, count[k]);
}

static void gap_clear(gap *g) { gn_free(g->level_db[0]); }

// The gap behind S2 or behind S1. -1 when memory is refused.
static int gap_init(gap *g, const gn_features *f, const gn_candidate *c, bool diastole) {
  *g = (gap){0};
  if (usual_length(c, diastole, &g->n)) return -1;
  double *room = gn_new((GN_N_BANDS + 1) * g->n, sizeof *room);
  if (!room) return -1;
  for (size_t b = 0; b < GN_N_BANDS; b++) g->level_db[b] = room + b * g->n;
  g->from = diastole ? c->model.n_s2 : c->model.n_s1;
  g->to = g->n > GN_TEMPLATE_LEAD + ENDS_N ? g->n - GN_TEMPLATE_LEAD - ENDS_N : 0;
  add_up(f, c, diastole, g, room + GN_N_BANDS * g->n);
  return 0;
}

// The place in the gap that stands most over the lowest on either side, in the lower band.
static size_t find_crest(const gap *g, double *stands_db) {
  const double *x = g->level_db[0];
  size_t best = g->from;
  *stands_db = 0;
  double before = HUGE_VAL;
  for (size_t k = g->from; k < g->to; k++) {
    double behind = x[k];
    for (size_t i = k; i < g->n - GN_TEMPLATE_LEAD / 2; i++) behind = gn_min(behind, x[i]);
    before = gn_min(before, x[k]);
    const double over = x[k] - gn_max(before, behind);
    if (over > *stands_db) *stands_db = over, best = k;
  }
  return best;
}

// The frame where it begins: half way up (dB) from what precedes it.
static size_t onset_of(const gap *g, size_t crest, double stands_db) {
  size_t k = crest;
  while (k > g->from && g->level_db[0][k] > g->level_db[0][crest] - stands_db / 2) k--;
  return k;
}

static double loudest_db(const float sound[][GN_N_BANDS], size_t n, size_t band) {
  double peak = 0;
  for (size_t k = 0; k < n; k++) peak = gn_max(peak, (double)sound[k][band]);
  return peak;
}

static double brightness_db(const float sound[][GN_N_BANDS], size_t n) { return loudest_db(sound, n, 1) - loudest_db(sound, n, 0); }

static void weigh(const gn_hearing *h, const gn_candidate *c, const gap *g, bool diastole, bool doubted, gn_overlooked *out) {
  const double interval_s = gn_candidate_interval_n(c) / h->f->rate_hz, expected_s = gn_systole_expected_s(h->profile, interval_s);
  double stands_db;
  const size_t crest = find_crest(g, &stands_db);
  if (stands_db < STANDS_DB) return;
  const double systole_s = (double)onset_of(g, crest, stands_db) / h->f->rate_hz, z = gn_naming_systole_z(systole_s, expected_s);
  if (fabs(z) > TIME_MOST) return;
  const gn_beat_frames *mid = &c->beats[c->n_beats / 2];
  const double decoded_s = (double)(mid->s2 - mid->s1) / h->f->rate_hz, own = doubted ? 0 : gn_naming_time_odds(gn_naming_systole_z(decoded_s, expected_s), MURMUR_RANGE);
  const double first = brightness_db(c->model.s1, c->model.n_s1), second = brightness_db(c->model.s2, c->model.n_s2);
  const double murmur = diastole ? first : second, sounds = gn_max(diastole ? second : first, g->level_db[1][crest] - g->level_db[0][crest]);
  const double log_odds = LEFT_OVER + own - 0.5 * z * z + gn_naming_limited(BRIGHTER_PER_DB * (murmur - sounds), BRIGHTER_MOST);
  if (log_odds > out->log_odds) *out = (gn_overlooked){diastole, systole_s, log_odds};
}

int gn_overlooked_find(const gn_hearing *h, const gn_candidate *c, bool doubted, gn_overlooked *out) {
  *out = (gn_overlooked){.log_odds = -HUGE_VAL};
  if (c->n_beats < 2) return 0;
  for (int diastole = 0; diastole < 2; diastole++) {
    gap g;
    if (gap_init(&g, h->f, c, diastole)) return -1;
    if (g.to > g.from) weigh(h, c, &g, diastole, doubted, out);
    gap_clear(&g);
  }
  return 0;
}

// By how much a level passes the loudest of what was taken for S2, dB, mean of the bands.
static double louder_db(const gn_candidate *c, const gap *g, size_t at) {
  double sum = 0;
  for (size_t b = 0; b < GN_N_BANDS; b++) sum += g->level_db[b][at] - loudest_db(c->model.s2, c->model.n_s2, b);
  return sum / GN_N_BANDS;
}

// Frames from S1 to the sound in systole that is S2 rather than the one decoded; 0 where there is none.
static size_t sooner_n(const gn_hearing *h, const gn_candidate *c, const gap *g) {
  const double expected_s = gn_systole_expected_s(h->profile, gn_candidate_interval_n(c) / h->f->rate_hz);
  double stands_db;
  const size_t crest = find_crest(g, &stands_db);
  if (stands_db < SOONER_STANDS_DB || louder_db(c, g, crest) < SOONER_LOUDER_DB) return 0;
  const size_t n = onset_of(g, crest, stands_db);
  return fabs(gn_naming_systole_z((double)n / h->f->rate_hz, expected_s)) <= TIME_MOST ? n : 0;
}

// Learn the account's sounds with that S2; they stay as they were where it does not keep its place.
static int learn_sooner(gn_hearing *h, gn_candidate *c, size_t n) {
  const double before_n = gn_candidate_systole_n(c);
  gn_candidate other;
  if (gn_candidate_copy(h, c, &other)) return -1;
  gn_candidate_forget_times(&other);
  for (size_t i = 0; i < other.n_beats; i++) other.beats[i].s2 = other.beats[i].s1 + (long)n;
  const int bad = gn_candidate_refine(h, &other, SOONER_ROUNDS);
  if (!bad && before_n - gn_candidate_systole_n(&other) >= SOONER_SHARE * (before_n - (double)n)) {
    const gn_candidate t = *c;
    *c = other;
    other = t;
  }
  gn_candidate_clear(&other);
  return bad;
}

int gn_overlooked_sooner(gn_hearing *h, gn_candidate *c) {
  if (c->n_beats < SOONER_LEAST_N || c->systole_spread > SOONER_SPREAD) return 0;
  gap g;
  if (gap_init(&g, h->f, c, false)) return -1;
  const size_t n = g.to > g.from ? sooner_n(h, c, &g) : 0;
  gap_clear(&g);
  return n ? learn_sooner(h, c, n) : 0;
}

bool gn_overlooked_holds(const gn_overlooked *o) { return o->log_odds >= GN_NAMING_ADOPT; }

size_t gn_overlooked_name(const gn_overlooked *o, const girthline_profile *profile, double end_s, girthline_beat *beats, size_t n) {
  const float sure = (float)gn_naming_adopted_confidence(o->log_odds);
  size_t kept = 0;
  for (size_t i = 0; i < n; i++) {
    girthline_beat b = beats[i];
    if (isnan(o->in_diastole ? b.s2_onset_s : b.s1_onset_s)) continue;
    if (o->in_diastole) {
      b.s1_onset_s = b.s2_onset_s;
      b.s1_peak_s = b.s2_peak_s;
      b.s1_offset_s = b.s2_offset_s;
    }
    const bool heard = b.s1_onset_s + o->systole_s < end_s;
    b.s2_onset_s = heard ? b.s1_onset_s + o->systole_s : (double)NAN;
    b.s2_peak_s = heard ? (float)(0.25 * profile->s2_length_s) : NAN;
    b.s2_offset_s = heard ? (float)profile->s2_length_s : NAN;
    b.name_confidence = sure;
    beats[kept++] = b;
  }
  return kept;
}
