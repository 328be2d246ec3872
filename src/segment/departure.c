// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/departure.h"

#include <math.h>
#include <stdbool.h>

#include "base/biquad.h"
#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "segment/emerge.h"

#define LOW_HZ 60.0        // what swells slowly ahead of a sound is below, and its sudden beginning above: a choice between 25 and 60
#define HIGH_HZ 400.0      // little of a heart sound is above
#define SETTLE_S 0.060     // the filter has forgotten where it began: 60 Hz rings to 1e-6 in 50 ms, 30 Hz to 1e-3
#define BEFORE_S 0.080     // as far ahead as an average sound's background is read
#define AFTER_S 0.060      // over the rise of a slow first sound
#define EDGE_S 0.005       // least length of either part
#define APART_S 0.012      // ahead of the onset nothing counts as background: it may already be the sound
#define LOUD_S 0.040       // of the sound that is held against what precedes it
#define FURTHEST_S 0.025   // a beginning further from the average's is another sound's
#define LITTLE_DB 16.0     // a sound this far over what precedes it says nothing of its own beginning,
#define PLENTY_DB 22.0     // and one this far all there is to say. Chosen on 13300 sounds of 540 simulated recordings by two simulators:
                           // up to 18 dB the average is nearer the truth in both, from 22 dB on the sound itself
#define INDEPENDENT_SHARE 0.36 // of the samples at 2 kHz in that band; the rest repeats them
#define ALONE 1.0          // sounds' worth of doubt that the average's onset is late or early as a whole

// Where a murmur runs into a sound, or hides its beginning, the average's onset may be the murmur's. A heart sound has most of its power under
// 100 Hz (Liu et al. 2016: 25-75 Hz in man), a murmur mostly above. Chosen on 1900 averages of 1005 simulated recordings: of those that lay
// within 15 ms of the truth 98 in 100 have 2 to 20 ms there, and all 14 that these rules move come nearer.
#define DEEP_LOW_HZ 30.0
#define DEEP_HIGH_HZ 100.0
#define DEEP_BEFORE_S 0.070
#define DEEP_AFTER_S 0.110
#define DEEP_EDGE_S 0.012
#define DEEP_LATE_S 0.007  // a sound's low part begins so much later, and the filter delays it
#define DEEP_AHEAD_S 0.020 // what it is held against; further back lies the sound before, in a fast heart
#define DEEP_LEAST_DB 9.0  // over that, in the middle
#define ASTRAY_S 0.020     // further from that the average's onset is not the sound's
#define DEEP_FEWEST_N 5    // sounds: of fewer the middle place may be chance
#define DEEP_MOST_N 48     // sounds asked, spread evenly over the window: their middle is known to a few ms, and 20 move anything
#define DEEP_SPREAD_S 0.030 // of the single sounds' places, robust: more tells nothing
#define TURNS 3            // from afar the first look finds only part of the way

// A sound rises, a murmur that runs into it is there already: what is as strong above 120 Hz just ahead of the low part as in the sound is
// no beginning of that sound, and less has to speak for it. Chosen on 2372 averages of 1205 simulated recordings, 320 of them of fast hearts
// with late murmurs: of 46 that this moves 41 come nearer, by 16 ms on average, and five lie 5 to 9 ms further off.
#define HISS_LOW_HZ 120.0
#define HISS_HIGH_HZ 500.0
#define HISS_AHEAD_S 0.010
#define HISS_APART_S 0.004
#define HISS_DB (-4.0)     // against the sound
#define HISS_LEAST_DB 6.0  // the low part over what precedes it
#define HISS_ASTRAY_S 0.009

enum { MOST_N = 1024 }; // samples around a sound: 0.2 s at up to 5 kHz

static double mean(const double *sum, size_t from, size_t to) { return (sum[to] - sum[from]) / (double)(to - from); }

// What of a sound's surroundings is looked at: the band (its upper edge twice where it is `steep`), and from where to where, seconds.
typedef struct look { double low_hz, high_hz, before_s, after_s, edge_s; bool steep; } look;
static const look OWN = {LOW_HZ, HIGH_HZ, BEFORE_S, AFTER_S, EDGE_S, false}, DEEP = {DEEP_LOW_HZ, DEEP_HIGH_HZ, DEEP_BEFORE_S, DEEP_AFTER_S, DEEP_EDGE_S, true},
                  HISS = {HISS_LOW_HZ, HISS_HIGH_HZ, DEEP_BEFORE_S, DEEP_AFTER_S, DEEP_EDGE_S, false};

// What is around a sound: the sample of the window where that begins, and running sums from there on of the filtered sound's squares, n + 1 of
// them; n is 0 where the window does not reach around it.
typedef struct around { double first; size_t n; double sum[MOST_N + 1]; } around;

enum { FOUR = 4 }; // sounds side by side

static void look_around(const gn_signal *window, const look *l, const double onset_s[FOUR], around out[FOUR]) {
  const double fs_hz = window->fs_hz;
  const size_t n = (size_t)((l->before_s + l->after_s) * fs_hz), settle = (size_t)(SETTLE_S * fs_hz);
  float room[FOUR][MOST_N], *x[FOUR];
  const float *in[FOUR] = {NULL}, *some = NULL;
  for (size_t q = 0; q < FOUR; q++) {
    const double first = out[q].first = floor((onset_s[q] - window->start_s - l->before_s) * fs_hz);
    out[q].n = n + settle <= MOST_N && first >= (double)settle && first + (double)n <= (double)window->n ? n : 0;
    if (out[q].n) some = in[q] = window->samples + (size_t)first - settle;
  }
  if (!some) return;
  for (size_t q = 0; q < FOUR; q++) x[q] = room[q], in[q] = in[q] ? in[q] : some;
  gn_biquad sections[3];
  gn_biquad_bandpass(sections, l->low_hz, gn_min(l->high_hz, 0.4 * fs_hz), fs_hz);
  sections[2] = sections[1];
  gn_biquad_run_four(sections, l->steep ? 3 : 2, in, x, settle + n);
  for (size_t q = 0; q < FOUR; q++) {
    double *const sum = out[q].sum;
    sum[0] = 0;
    for (size_t k = 0; k < out[q].n; k++) sum[k + 1] = sum[k] + (double)x[q][settle + k] * (double)x[q][settle + k];
  }
}

// Mean of the places a split into a quiet part and a louder one may have, each by its likelihood, samples; NaN without any.
static double split(const double *sum, size_t n, size_t edge) {
  double cost[MOST_N], loud[MOST_N], best = INFINITY, weight = 0, at = 0;
  const size_t n_places = n + 1 > 2 * edge ? n + 1 - 2 * edge : 0;
  for (size_t i = 0; i < n_places; i++) {
    cost[i] = mean(sum, 0, edge + i) + 1e-30;
    loud[i] = mean(sum, edge + i, n) + 1e-30;
    if (!(loud[i] > cost[i])) cost[i] = INFINITY;
  }
  gn_log_many(cost, n_places);
  gn_log_many(loud, n_places);
  for (size_t i = 0; i < n_places; i++) {
    cost[i] = (double)(edge + i) * cost[i] + (double)(n - edge - i) * loud[i];
    best = gn_min(best, cost[i]);
  }
  if (isinf(best)) return (double)NAN;
  for (size_t i = 0; i < n_places; i++) cost[i] = -0.5 * INDEPENDENT_SHARE * (cost[i] - best);
  gn_exp_many(cost, n_places);
  for (size_t i = 0; i < n_places; i++) {
    weight += cost[i];
    at += cost[i] * (double)(edge + i);
  }
  return at / weight;
}

static gn_departure departure_of(const gn_signal *window, const around *a, double onset_s) {
  const double fs_hz = window->fs_hz;
  const size_t onset = (size_t)(BEFORE_S * fs_hz);
  gn_departure d = {onset_s, 0};
  if (!a->n) return d;
  const double quiet = mean(a->sum, 0, onset - (size_t)(APART_S * fs_hz)), loud = mean(a->sum, onset, onset + (size_t)(LOUD_S * fs_hz));
  const double over_db = gn_db((loud + 1e-30) / (quiet + 1e-30));
  if (!(over_db > LITTLE_DB)) return d;
  const double at_s = window->start_s + (a->first + split(a->sum, a->n, (size_t)(EDGE_S * fs_hz))) / fs_hz;
  if (!(fabs(at_s - onset_s) <= FURTHEST_S)) return d;
  return (gn_departure){at_s, gn_min((over_db - LITTLE_DB) / (PLENTY_DB - LITTLE_DB), 1)};
}

gn_departure gn_departure_find(const gn_signal *window, double onset_s) {
  around a[FOUR];
  look_around(window, &OWN, (const double[FOUR]){onset_s, (double)NAN, (double)NAN, (double)NAN}, a);
  return departure_of(window, &a[0], onset_s);
}

// How far the sound from a sample on stands over the stretch that ends some time ahead of it, dB.
static double over_db_of(const around *a, size_t at, double fs_hz, double apart_s, double ahead_s) {
  const size_t loud = (size_t)(LOUD_S * fs_hz), apart = (size_t)(apart_s * fs_hz), len = (size_t)(ahead_s * fs_hz);
  const size_t end = at > apart ? at - apart : 1, to = at + loud < a->n ? at + loud : a->n;
  return gn_db((mean(a->sum, at, to) + 1e-30) / (mean(a->sum, end > len ? end - len : 0, end) + 1e-30));
}

// Where the sound's low part begins, seconds after its onset, and how far it stands over what precedes it, dB. Also its sample from where the look
// begins; NaN where it is not to be had.
static double deep_start(const gn_signal *window, const around *a, double onset_s, double *late_s, double *over_db) {
  const double fs_hz = window->fs_hz;
  if (!a->n) return (double)NAN;
  const double at = split(a->sum, a->n, (size_t)(DEEP_EDGE_S * fs_hz));
  if (isnan(at)) return at;
  *over_db = over_db_of(a, (size_t)at, fs_hz, EDGE_S, DEEP_AHEAD_S);
  *late_s = window->start_s + (a->first + at) / fs_hz - onset_s;
  return at;
}

static double *onset_of(girthline_beat *b, bool second) { return second ? &b->s2_onset_s : &b->s1_onset_s; }

// Around the sounds of a kind of the i-th beat and of three more, stride apart, moved by so much.
static void look_around_some(const gn_signal *window, const look *l, girthline_beat *beats, size_t n, size_t i, size_t stride, bool second, double by_s,
                             around out[FOUR]) {
  double onset_s[FOUR];
  for (size_t q = 0; q < FOUR; q++, i += stride) onset_s[q] = i < n ? *onset_of(&beats[i], second) + by_s : (double)NAN;
  look_around(window, l, onset_s, out);
}

// How strong the high band is ahead of the sounds' low parts against the sounds, dB, in the middle. place: where these begin in a look from the onsets
// moved by so much, of each beat asked; it is overwritten.
static double usual_hiss_db(const gn_signal *window, girthline_beat *beats, size_t n, size_t stride, bool second, double by_s, double *place) {
  around a[FOUR];
  size_t m = 0;
  for (size_t i = 0; i < n; i += stride) {
    if (i / stride % FOUR == 0) look_around_some(window, &HISS, beats, n, i, stride, second, by_s, a);
    const double at = place[i / stride];
    if (!isnan(at)) place[m++] = -over_db_of(&a[i / stride % FOUR], (size_t)at, window->fs_hz, HISS_APART_S, HISS_AHEAD_S);
  }
  return gn_median(place, m);
}

static void move_onset(double *onset_s, float *peak_s, float *offset_s, double by_s) {
  const double by = gn_min(by_s, (double)*peak_s); // a sound is not loudest before it begins
  *onset_s += by;
  *peak_s -= (float)by;
  *offset_s -= (float)by;
}

static void move(girthline_beat *b, bool second, double by_s) {
  move_onset(onset_of(b, second), second ? &b->s2_peak_s : &b->s1_peak_s, second ? &b->s2_offset_s : &b->s1_offset_s, by_s);
}

// The same past where the murmur was loudest, which was taken for the sound: then all of it moves.
static void move_on(girthline_beat *b, bool second, double by_s) {
  if (by_s > (double)(second ? b->s2_peak_s : b->s1_peak_s)) *onset_of(b, second) += by_s;
  else move(b, second, by_s);
}

// In the middle over the sounds of a kind: how far from their onsets, moved by so much, their low parts begin, seconds, and how far they stand over
// what precedes them, dB.
typedef struct middle { double astray_s, over_db; } middle;

// room: three doubles a beat; the last hold each sound's place. false: too few sounds, or they tell of no one place.
static bool look_deep(const gn_signal *window, girthline_beat *beats, size_t n, size_t stride, bool second, double by_s, double *room, middle *out) {
  double *late_s = room, *over_db = room + n, *place = room + 2 * n;
  around a[FOUR];
  size_t m = 0;
  for (size_t i = 0; i < n; i += stride) {
    if (i / stride % FOUR == 0) look_around_some(window, &DEEP, beats, n, i, stride, second, by_s, a);
    place[i / stride] = deep_start(window, &a[i / stride % FOUR], *onset_of(&beats[i], second) + by_s, &late_s[m], &over_db[m]);
    m += isnan(place[i / stride]) ? 0 : 1;
  }
  if (m < DEEP_FEWEST_N) return false;
  const double usual_s = gn_median(late_s, m);
  *out = (middle){usual_s - DEEP_LATE_S, gn_median(over_db, m)};
  return gn_robust_sd(late_s, m, usual_s) <= DEEP_SPREAD_S;
}

// Bring the onsets of a kind back to its sounds where they lie astray as a whole; false where they stay.
static bool bring_back(const gn_signal *window, girthline_beat *beats, size_t n, bool second, double *room) {
  const size_t stride = (n + DEEP_MOST_N - 1) / DEEP_MOST_N;
  middle here;
  if (!look_deep(window, beats, n, stride, second, 0, room, &here)) return false;
  double looked_s = 0, by_s = here.astray_s;
  // Where the onset lies on a murmur late in a long sound, what precedes the place found is the sound itself, too: it is looked for from there on.
  for (int turn = 1; turn < TURNS && here.astray_s <= -ASTRAY_S && here.over_db < DEEP_LEAST_DB; turn++) {
    looked_s = by_s;
    if (!look_deep(window, beats, n, stride, second, looked_s, room, &here)) return false;
    by_s += here.astray_s;
  }
  const bool far = fabs(by_s) >= ASTRAY_S && here.over_db >= DEEP_LEAST_DB, less = by_s >= HISS_ASTRAY_S && here.over_db >= HISS_LEAST_DB;
  if (!(far || less)) return false;
  if (!far && usual_hiss_db(window, beats, n, stride, second, looked_s, room + 2 * n) < HISS_DB) return false;
  for (size_t i = 0; i < n; i++)
    if (!isnan(*onset_of(&beats[i], second))) move(&beats[i], second, by_s);
  return true;
}

// From the sounds of a kind to the next of the other, in the middle, seconds; NaN without any. room: a double a beat.
static double usual_gap_s(girthline_beat *beats, size_t n, bool second, double *room) {
  size_t m = 0;
  for (size_t i = 0; i + (second ? 1 : 0) < n; i++) {
    const double gap_s = *onset_of(&beats[i + (second ? 1 : 0)], !second) - *onset_of(&beats[i], second);
    if (gap_s > 0) room[m++] = gap_s;
  }
  return gn_median(room, m);
}

// Bring the onsets of a kind on to where its sounds emerge from a murmur that runs into them. *moved: whether any were. -1 when memory is refused.
static int bring_on(const gn_signal *window, girthline_beat *beats, size_t n, bool second, double *room, bool *moved) {
  const size_t stride = (n + GN_EMERGE_MOST_N - 1) / GN_EMERGE_MOST_N;
  double onset_s[GN_EMERGE_MOST_N], late_s;
  size_t m = 0;
  for (size_t i = 0; i < n; i += stride) onset_s[m++] = *onset_of(&beats[i], second);
  if (gn_emerge_find(window, onset_s, m, usual_gap_s(beats, n, second, room), &late_s)) return -1;
  *moved = late_s > 0;
  for (size_t i = 0; i < n && *moved; i++)
    if (!isnan(*onset_of(&beats[i], second))) move_on(&beats[i], second, late_s);
  return 0;
}

static void sharpen(const gn_signal *window, girthline_beat *beats, size_t n, bool second, gn_departure *own) {
  double weight = ALONE, late_s = 0;
  around a[FOUR];
  for (size_t i = 0; i < n; i++) {
    const double onset_s = *onset_of(&beats[i], second);
    if (i % FOUR == 0) look_around_some(window, &OWN, beats, n, i, 1, second, 0, a);
    own[i] = departure_of(window, &a[i % FOUR], onset_s);
    if (!(own[i].weight > 0)) continue;
    weight += own[i].weight;
    late_s += own[i].weight * (own[i].at_s - onset_s);
  }
  for (size_t i = 0; i < n; i++) {
    const double onset_s = *onset_of(&beats[i], second);
    if (!isnan(onset_s)) move(&beats[i], second, (1 - own[i].weight) * late_s / weight + own[i].weight * (own[i].at_s - onset_s));
  }
}

int gn_departure_sharpen(const gn_signal *window, girthline_beat *beats, size_t n) {
  gn_departure *own = gn_new(n, sizeof *own);
  double *room = gn_new(3 * n, sizeof *room);
  int refused = !own || !room;
  for (int second = 0; second < 2 && !refused; second++) {
    bool moved = true;
    for (int turn = 0; turn < TURNS && bring_back(window, beats, n, second, room); turn++) {}
    for (int turn = 0; turn < TURNS && moved && !refused; turn++) refused = bring_on(window, beats, n, second, room, &moved);
    if (!refused) sharpen(window, beats, n, second, own);
  }
  gn_free(own);
  gn_free(room);
  return refused ? -1 : 0;
}
