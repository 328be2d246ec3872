// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/trust.h"

#include <limits.h>
#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "segment/certainty.h"

// The limits are settings (limits_segment.h). Pairs picked out of noise are told from a heart by their systole above all, which is steady
// however irregular the beats are.
#define INTERVALS_LEAST 5    // before their share means anything
#define PLAIN_BEATS 6        // whole beats without which nothing is plain: a choice
#define MIDWAY_ROOM 0.36     // of the interval: a systole this long leaves no room for another before the next beat
#define MIDWAY_REACH 0.06    // of the interval to either side of its middle: where a beat may lie that was left out
#define MIDWAY_SLACK_N 2     // frames by which its systole may differ
#define MIDWAY_LEAST 5       // usual intervals, before their mean means anything
// Where every second beat is early, every second one may be left out as well, and what was left out lies nowhere near the middle, but at a steady time
// after each beat. Choices: of 785 accounts of simulated hearts none has more than -0.5 of what a beat gains, of 100 in noise one -0.47; three that had left out beats so have
// -0.19 to -0.04.
#define ELSEWHERE_SHARE -0.3 // of what a beat's own sounds gain
#define ELSEWHERE_STEP_N 6   // frames in which they begin
#define ELSEWHERE_ROOM_N 15  // frames between them and the beats on either side
#define ELSEWHERE_SHORTER_N 8 // frames by which their systole may be shorter, an early beat's for one,
#define ELSEWHERE_LONGER_N 4 // or longer
// Two sounds at even steps have a usual systole only where the heart is fast; of a slow one they are two beats, or no heart's. A choice: in 1000 simulated
// recordings the account believed has 0.21 at most, in 35 clips of human hearts (Yaseen 2018) 0.13.
#define LONG_OFFSET 0.4      // log of the systole over the species' expectation at that rate
// And a systole may not be shorter than this: five of the standard deviations that a species' systole spreads by. A dog's, read as a horse's, is -0.49 by
// what is expected of either. Of 5000 accounts of simulated hearts that were believed one has -0.30; of the 205 of bursts, steps and hum below
// 40 have less than -0.6.
#define SHORT_OFFSET -0.6    // log, likewise
#define SINGLE_SHARE 0.55    // of the interval: a systole this long leaves the sounds nearly evenly spaced, and each may have been taken for a beat
#define SINGLE_LEAST 3       // beats of either kind, before they have a mean
#define SINGLE_DB 2.5         // by which both sounds of every second beat then differ from the others: in 952 simulated hearts 2.3 at most, in three
                              // of whose sounds each was taken for a beat 2.7, 3.3 and 4.5; in 7500 others 1.7 at most
// Intervals that are long and short in turn are a systole and what lies behind it where the pairs themselves are no heart's: each sound was taken
// for a beat, its end, the second half of a split one or a third sound for its S2, which comes sooner than one would. Where every second beat is early
// they are so too, and each has its systole. Choices: in 6600 simulated recordings two accounts of single sounds have 0.9 and more, and one of eight beats in
// noise; all others 0.73 at most.
#define TURN_SHARE 0.8       // of the intervals
#define TURN_UNLIKE 1.4      // times both neighbours, at least
#define OF_KIND_MOST 512     // beats of each kind that are looked at
// Knocks in even steps may be decoded as pairs that are less even, for a systole is expected elsewhere: exact times tell. Of 390 such accounts in 240
// simulated recordings of knocks, a quarter of them ticking by up to 0.02, none reaches 0.02; of the three hearts with sounds so alike, in 1800
// simulated ones, 0.029 is the least.
#define UNEVEN 0.025         // of the interval
// Where knocks sound like the heart, beats are made of both. Of 135 loud, evenly spaced accounts with sounds so alike in 2100 simulated hearts none has
// 0.08 of its sounds most like one of the other name; with knocks right ones have 0.17 at most, and 11 of 12 made of heart sounds and knocks 0.23
// to 0.45. Where no two beats of a heart are quite the same, 0.31 was seen at a likeness of 0.89; made of both they have 0.935 and more.
#define MIXED_DB 3.0         // two sounds closer than this on average may each be of several kinds
#define MIXED_SHARE 0.2      // of the sounds, which are most like one of the other name
#define MIXED_LIKENESS 0.92  // of a sound to the one most like it, mean
// Whatever is decoded in bursts of noise is decoded where they are loud, so that they stand out as a heart's sounds do; but none has the waveform of the one
// before. Choices: of 5700 simulated hearts whose sounds stood out so far none has more than 0.42; where no two beats are quite alike, in another simulator,
// 30 have 0.31 on average and a standard deviation of 0.065, and the limit lies 3.5 of them higher. Of 205 accounts of bursts, steps and hum that were believed
// 70 have more than 0.48.
#define CLEARER_FROM_DB 24.0 // by which the sounds stand over the quieter of systole and diastole, both bands together
#define OTHER_FROM_DB 20.0
#define OTHERWISE_MOST 0.54
// One burst's two ends are alike, and it is loud between them. Of 12000 accounts believed of simulated hearts one has 0.8 and 3.6 dB, under a murmur, and
// the next nearest 1.1 dB; of 23 accounts of bursts that were believed 20 have 5 dB between them.
#define ENDS_ALIKE_DB 1.0
#define ENDS_BETWEEN_DB 5.0  // systole's level over diastole's, both bands together
#define MOVES 8              // steps to a frame in which the templates are held against each other
#define MOVED_MOST 3         // frames to either side: an S2 is decoded where a heart's would lie, so the template of a knock may begin too soon or too late

static double peak_db(const float t[][GN_N_BANDS], size_t n, const float *ground) {
  double peak = 0;
  for (size_t k = 0; k < n; k++) peak = gn_max(peak, (double)(t[k][0] + t[k][1] - ground[0] - ground[1]));
  return peak;
}

// RMS difference of the templates with the second moved by some part of a frame: equal sounds that fall between the frames in two
// ways differ by several dB on their steep rise.
static double moved_difference_db(const gn_model *m, double moved_n) {
  const size_t n = m->n_s1 < m->n_s2 ? m->n_s1 : m->n_s2;
  double sum = 0;
  size_t n_there = 0;
  for (size_t k = 0; k < n; k++) {
    const double at = (double)k + moved_n;
    if (at < 0 || at > (double)(n - 1)) continue;
    const size_t i = at < (double)(n - 1) ? (size_t)at : n - 2;
    n_there++;
    for (size_t b = 0; b < GN_N_BANDS; b++) {
      const double second = (double)m->s2[i][b] + (at - (double)i) * (double)(m->s2[i + 1][b] - m->s2[i][b]), d = (double)m->s1[k][b] - second;
      sum += d * d;
    }
  }
  return n_there ? sqrt(sum / (double)(GN_N_BANDS * n_there)) : HUGE_VAL;
}

static double difference_db(const gn_model *m) {
  if (m->n_s1 < 2 || m->n_s2 < 2) return 0;
  double least = HUGE_VAL;
  for (int k = -MOVED_MOST * MOVES; k <= MOVED_MOST * MOVES; k++) least = gn_min(least, moved_difference_db(m, (double)k / MOVES));
  return least;
}

static bool is_usual(double q) { return q > 0.5 && q < 1.8; } // times the usual interval
static bool is_near_usual(double q) { return q > 0.8 && q < 1.25; }

static double log_systole(const gn_beat_frames *b) { return gn_log((double)(b[0].s2 - b[0].s1)); }
static double interval(const gn_beat_frames *b) { return (double)(b[1].s1 - b[0].s1); }

// Where between a beat and the next two sounds may lie, frames: the first from here to there, the second so far behind it, and no later than the end.
typedef struct place { long from, to, shortest_n, longest_n, end; } place;

// Around the middle of the interval, as far apart as this beat's.
static place midway(const gn_beat_frames *b) {
  const long interval_n = b[1].s1 - b[0].s1, middle = b->s1 + interval_n / 2, reach = (long)(MIDWAY_REACH * (double)interval_n), systole = b->s2 - b->s1;
  return (place){middle - reach, middle + reach, systole - MIDWAY_SLACK_N, systole + MIDWAY_SLACK_N, LONG_MAX};
}

// So long after the beat, about a systole apart, and over before the next one's.
static place later(const gn_beat_frames *b, long after_n, long systole_n) {
  const long at = b->s1 + after_n;
  return (place){at, at + ELSEWHERE_STEP_N - 1, systole_n - ELSEWHERE_SHORTER_N, systole_n + ELSEWHERE_LONGER_N, b[1].s1 - ELSEWHERE_ROOM_N};
}

// The most that two sounds there gain; NaN where nothing there is evidence.
static double best_at(const gn_hearing *h, const place *p) {
  const float *s1 = h->scores.s1 + h->scores.pad, *s2 = h->scores.s2 + h->scores.pad;
  double best = (double)NAN;
  for (long at = p->from; at <= p->to; at++)
    for (long to = at + p->shortest_n; to <= at + p->longest_n; to++)
      if (at >= 0 && to < (long)h->f->n && to <= p->end && !h->f->spoilt[at] && !h->f->spoilt[to]) best = gn_max(best, (double)(s1[at] + s2[to]));
  return best;
}

// Mean over the usual intervals of the most midway, or so long after the beats (not 0); NaN of few.
static double mean_best(const gn_hearing *h, const gn_candidate *c, double interval_n, long after_n, long systole_n) {
  double sum = 0;
  size_t n = 0;
  for (size_t i = 0; i + 1 < c->n_beats; i++) {
    const gn_beat_frames *b = &c->beats[i];
    if (!is_near_usual(interval(b) / interval_n)) continue;
    const place p = after_n ? later(b, after_n, systole_n) : midway(b);
    const double best = best_at(h, &p);
    if (!isnan(best)) sum += best, n++;
  }
  return n >= MIDWAY_LEAST ? sum / (double)n : (double)NAN;
}

// What the two sounds of its beats gain, mean.
static double own_gain(const gn_hearing *h, const gn_candidate *c) {
  double sum = 0;
  size_t n = 0;
  for (size_t i = 0; i < c->n_beats; i++) {
    const gn_gains g = gn_certainty_gains(h, &c->beats[i]);
    if (!isnan(g.both)) sum += g.both, n++;
  }
  return n ? sum / (double)n : 0;
}

// The most at any steady time after the beats, of what a beat's own gain; NaN of few, or where there is no room.
static double elsewhere(const gn_hearing *h, const gn_candidate *c, double interval_n) {
  const long systole_n = (long)gn_candidate_systole_n(c), last = (long)interval_n - systole_n - ELSEWHERE_ROOM_N;
  const double own = own_gain(h, c);
  double most = (double)NAN;
  for (long after_n = systole_n + ELSEWHERE_ROOM_N; after_n < last && own > 0; after_n += ELSEWHERE_STEP_N) most = fmax(most, mean_best(h, c, interval_n, after_n, systole_n) / own);
  return most;
}

// Of the intervals, those longer than both their neighbours, or shorter.
static double in_turn_share(const gn_candidate *c) {
  size_t n = 0;
  for (size_t i = 0; i + 3 < c->n_beats; i++) {
    const gn_beat_frames *b = &c->beats[i];
    const double one = (double)(b[1].s1 - b[0].s1), other = (double)(b[2].s1 - b[1].s1), again = (double)(b[3].s1 - b[2].s1);
    n += gn_min(one, again) > TURN_UNLIKE * other || other > TURN_UNLIKE * gn_max(one, again);
  }
  return c->n_beats > INTERVALS_LEAST ? (double)n / (double)(c->n_beats - 3) : 0;
}

static bool in_turn(const gn_trust *t) { return t->in_turn_share >= TURN_SHARE; }

// Is the next beat nearer than those around it lie? (Not told by counting in twos: one beat more, or one that was missed, turns the order round.)
static bool next_is_near(const gn_candidate *c, size_t i) {
  const size_t last = c->n_beats - 2, before = i > 0 ? i - 1 : i + 1, behind = i < last ? i + 1 : i - 1;
  return 2 * interval(&c->beats[i]) < interval(&c->beats[before]) + interval(&c->beats[behind]);
}

// Of the beats with a next one that is near, or that is not.
static size_t take_kind(const gn_candidate *c, bool near, double (*of)(const gn_beat_frames *), double *out) {
  size_t m = 0;
  for (size_t i = 0; i + 1 < c->n_beats && m < OF_KIND_MOST; i++)
    if (next_is_near(c, i) == near) out[m++] = of(&c->beats[i]);
  return m;
}

// Where beats are near and far in turn there are two usual intervals, and a systole behind each. The nearer one is returned, frames.
static double measure_kinds(const gn_candidate *c, gn_trust *t) {
  double apart[2 * OF_KIND_MOST], values[OF_KIND_MOST];
  double near_n = HUGE_VAL;
  size_t n = 0, usual = 0;
  for (int kind = 0; kind < 2; kind++) {
    const size_t m = take_kind(c, kind, log_systole, values);
    const double middle = gn_median(values, m);
    for (size_t i = 0; i < m; i++) apart[n++] = values[i] - middle;
    take_kind(c, kind, interval, values);
    const double usual_n = gn_median(values, m);
    near_n = gn_min(near_n, usual_n);
    for (size_t i = 0; i < m; i++) usual += is_usual(values[i] / usual_n);
  }
  t->systole_sd = gn_robust_sd(apart, n, 0) + GN_SYSTOLE_SD_MORE;
  t->usual_share = (double)usual / (double)n;
  return near_n;
}

typedef struct level_sums { double sum, square, n; } level_sums;

// Squared difference of two means, less what their scatter leaves.
static double square_apart(const level_sums *a, const level_sums *b) {
  const double apart = a->sum / a->n - b->sum / b->n;
  return apart * apart - gn_variance_of_mean(a->sum, a->square, a->n) - gn_variance_of_mean(b->sum, b->square, b->n);
}

// RMS over a sound's template of what parts every second beat's from the others', dB; 0 of few.
static double alternation_db(const gn_hearing *h, const gn_candidate *c, bool second) {
  const size_t len = second ? c->model.n_s2 : c->model.n_s1;
  double sum = 0;
  size_t n = 0;
  for (size_t k = 0; k < len * GN_N_BANDS; k++) {
    const float *level = h->f->level_db[k % GN_N_BANDS];
    level_sums of[2] = {0};
    for (size_t i = 0; i < c->n_beats; i++) {
      const long at = gn_beat_frame(&c->beats[i], second) - GN_TEMPLATE_LEAD + (long)(k / GN_N_BANDS);
      if (at < 0 || at >= (long)h->f->n || h->f->spoilt[at]) continue;
      const double x = (double)level[at];
      of[i % 2].sum += x, of[i % 2].square += x * x, of[i % 2].n++;
    }
    if (gn_min(of[0].n, of[1].n) < SINGLE_LEAST) continue;
    sum += square_apart(&of[0], &of[1]);
    n++;
  }
  return n ? sqrt(gn_max(0, sum / (double)n)) : 0;
}

gn_trust gn_trust_measure(const gn_hearing *h, const gn_candidate *c) {
  const gn_model *m = &c->model;
  gn_trust t = {.usual_share = 1, .alike_db = difference_db(m), .systole_sd = c->systole_spread, .systole_offset = c->systole_offset};
  const double interval_n = gn_candidate_interval_n(c);
  size_t usual = 0;
  for (size_t i = 0; i < c->n_beats; i++) {
    const gn_beat_frames *b = &c->beats[i];
    t.n_clear += b->s1 >= 0 && b->s2 < (long)h->f->n && !h->f->spoilt[b->s1] && !h->f->spoilt[b->s2];
    if (i + 1 == c->n_beats) break;
    usual += is_usual(interval(b) / interval_n);
  }
  t.gain_per_beat = c->gain_per_beat;
  t.in_turn_share = in_turn_share(c);
  t.between_db = (double)(m->systole[0] + m->systole[1] - m->diastole[0] - m->diastole[1]);
  const float *ground = t.between_db > 0 ? m->systole : m->diastole;
  t.contrast_db[0] = peak_db(m->s1, m->n_s1, ground);
  t.contrast_db[1] = peak_db(m->s2, m->n_s2, ground);
  if (c->n_beats > INTERVALS_LEAST) t.usual_share = (double)usual / (double)(c->n_beats - 1);
  const double near_n = in_turn(&t) ? measure_kinds(c, &t) : interval_n;
  t.systole_share = near_n > 0 ? gn_candidate_systole_n(c) / near_n : 0;
  t.midway_nats = t.systole_share < MIDWAY_ROOM ? mean_best(h, c, interval_n, 0, 0) : (double)NAN;
  t.elsewhere_share = elsewhere(h, c, interval_n);
  if (t.systole_share >= SINGLE_SHARE) t.alternation_db = gn_min(alternation_db(h, c, false), alternation_db(h, c, true));
  return t;
}

// At a steady time with a steady and usual systole, as a heart has them.
static bool keeps_time(const girthline_segment_limits *m, const gn_trust *t) {
  return t->systole_sd <= m->steady_systole_sd && t->usual_share >= m->steady_usual_share && fabs(t->systole_offset) <= m->steady_offset;
}

// Many such beats, where noise all but covers them.
static bool faint_but_steady(const girthline_segment_limits *m, const gn_trust *t) {
  return t->n_clear >= (size_t)m->faint_beats_n && t->gain_per_beat >= m->faint_gain_nats && keeps_time(m, t);
}

static bool even(const girthline_segment_limits *m, const gn_trust *t) { return fabs(t->systole_share - 0.5) < m->even_most; }

bool gn_trust_asks_times(const girthline_segment_limits *m, const gn_trust *t) { return even(m, t) && t->alike_db < m->alike_db; }

static double clearer_db(const gn_trust *t) { return gn_max(t->contrast_db[0], t->contrast_db[1]); }
static double other_db(const gn_trust *t) { return gn_min(t->contrast_db[0], t->contrast_db[1]); }

bool gn_trust_asks_kinds(const girthline_segment_limits *m, const gn_trust *t) {
  return even(m, t) && t->alike_db < MIXED_DB && clearer_db(t) >= m->loud_contrast_db;
}

bool gn_trust_asks_repeats(const gn_trust *t) {
  const double further = fabs(t->between_db);
  return clearer_db(t) + further >= CLEARER_FROM_DB && other_db(t) + further >= OTHER_FROM_DB;
}

bool gn_trust_is_single(const girthline_segment_limits *m, const gn_trust *t) { return in_turn(t) && t->systole_offset < -m->steady_offset; }

const char *gn_trust_refusal(const girthline_segment_limits *m, const gn_trust *t, const girthline_profile *profile, double interval_s) {
  if (t->n_clear < (size_t)m->clear_beats_n) return "fewer than two whole beats could be made out";
  if (t->gain_per_beat < m->gain_nats && !faint_but_steady(m, t)) return "nothing that repeats like heart sounds stands out of the background";
  const double clearer = clearer_db(t), other = other_db(t);
  const bool loud = clearer >= m->loud_contrast_db, steady = t->n_clear >= (size_t)m->steady_beats_n && t->gain_per_beat >= m->steady_gain_nats && keeps_time(m, t);
  const bool covered = steady && !loud && other >= m->steady_other_db; // what covers one sound leaves the other little to stand out by
  if (!covered && (clearer < m->contrast_db || other < m->contrast_other_db)) return GN_TRUST_UNPAIRED;
  if (loud && t->gain_per_beat < m->loud_gain_nats * interval_s)
    return "sounds as loud as these leave too much of what is heard unexplained, as knocks do";
  if (interval_s < 60 / profile->possible_bpm[1]) return GN_TRUST_FASTER;
  if (t->systole_share >= m->systole_share || t->systole_offset >= LONG_OFFSET) return GN_TRUST_TOO_LONG;
  if (t->systole_offset < SHORT_OFFSET) return GN_TRUST_TOO_SHORT;
  if (t->alternation_db >= SINGLE_DB) return GN_TRUST_ALTERNATE;
  const bool few = t->n_clear < (size_t)m->steady_beats_n;
  const bool unsteady = few || t->systole_sd >= m->strange_systole_sd || t->usual_share <= m->strange_usual_share;
  const bool uneven = t->systole_sd >= m->strange_systole_sd && t->usual_share <= m->uneven_usual_share; // an irregular heart's systole is steady
  const bool strange = fabs(t->systole_offset) >= m->strange_offset;
  if (t->systole_sd >= m->systole_sd || uneven || (strange && unsteady) || gn_trust_is_single(m, t))
    return in_turn(t) ? GN_TRUST_IN_TURN : "the time between the paired sounds is not steady as a heart's is";
  if (t->usual_share <= m->usual_share) return "the sounds that were found follow no beat";
  if (t->midway_nats >= m->midway_nats || t->elsewhere_share >= ELSEWHERE_SHARE) return GN_TRUST_MIDWAY;
  if (gn_trust_asks_times(m, t) && !(t->uneven >= UNEVEN)) return "the sounds are evenly spaced and all alike, so knocks or one sound a beat cannot be told from pairs";
  if (t->kinds.otherwise > OTHERWISE_MOST) return GN_TRUST_OTHERWISE;
  if (t->alike_db < ENDS_ALIKE_DB && t->between_db >= ENDS_BETWEEN_DB) return GN_TRUST_ONE_BURST;
  if (t->kinds.mixed_share >= MIXED_SHARE && t->kinds.likeness >= MIXED_LIKENESS) return GN_TRUST_MIXED;
  return NULL;
}

bool gn_trust_plain(const girthline_segment_limits *m, const gn_trust *t) {
  return t->n_clear >= PLAIN_BEATS && other_db(t) >= m->contrast_db && t->gain_per_beat >= m->steady_gain_nats;
}
