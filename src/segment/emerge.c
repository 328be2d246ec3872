// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/emerge.h"

#include <math.h>
#include <stdbool.h>

#include "base/biquad.h"
#include "base/dot.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

// Numbers without a reason beside them are choices, made on 3120 simulated recordings. In 1140 of these the onsets of 22 kinds of sounds come nearer
// to the truth by 35 ms on average, and those of two lie 14 and 24 ms further off; in 1440 others ten come nearer by 30 ms, three lie 2 to 16 ms
// further off.
typedef struct band { double low_hz, high_hz; } band;
static const band SOUND = {25, 60};      // hardly any murmur; between 30 and 120 Hz, loud ones agreed among themselves by chance
static const band MURMUR = {120, 500};   // hardly any of a sound
static const double RATE_HZ = 500;       // of the samples that are kept, at least: eight to a cycle of the sounds' highest; of the murmur only the power is asked
static const double SETTLE_S = 0.060;    // the filters have forgotten where they began: 25 Hz rings to 1e-3
static const double BEFORE_S = 0.070;    // of a stretch, before the onset
static const double AFTER_S = 0.150;     // at most, and so much of the way to the next sound
static const double AFTER_SHARE = 0.7;
static const double REACH_S = 0.020;     // a sound is moved so far to agree with the others
static const double SMOOTH_S = 0.012;    // powers are means over this
static const double PEAK_FROM_S = 0.020; // ahead of the onset
static const double BEGUN_SHARE = 0.1;   // of the largest power that repeats: where it begins
static const double AHEAD_S = 0.040, APART_S = 0.005; // stretches: from so far to so far ahead of that, and as long from there on
static const double LATE_LEAST_S = 0.015; // onsets are found to some 5 ms: of 600 simulated recordings 34 change without it, more for the worse than for the better
static const double REPEATS_LEAST = 0.6; // share of the sound's power that repeats,
static const double AHEAD_MOST = 0.1;    // and of what lies ahead of it: more, and that is a part of the sound
static const double LOUDER_DB = 3;       // the murmur ahead of the sound than in it: of a part of the sound that moves by itself it is the other way round
enum { ROUNDS = 4, FEWEST_N = 5, FOUR = 4 }; // alignments against the average; sounds; side by side

// Sounds of a kind, filtered, each with room to be moved in.
typedef struct sounds {
  double fs_hz;          // of the samples kept: every so many of the window's
  size_t every;
  size_t n, len, places; // how many; samples of a stretch; where it may begin
  float *x;              // [sound][len + places - 1]
  float *shape;          // len: their sum, each by its weight
  double *along;         // [2][places]
  double *repeats, *all; // len + 1: running sums over the stretch, of the power that repeats and of all of it
  size_t at[GN_EMERGE_MOST_N];
  double weight[GN_EMERGE_MOST_N]; // to unit energy
} sounds;

// Samples of a stretch.
typedef struct part { size_t from, n; } part;

static size_t samples_of(double s, double fs_hz) { return (size_t)(s * fs_hz); }
static size_t room_n(const sounds *s) { return s->len + s->places - 1; }
static float *sound_of(const sounds *s, size_t i) { return s->x + i * room_n(s); }
static float *stretch_of(const sounds *s, size_t i) { return sound_of(s, i) + s->at[i]; }
static const double LEAST_ENERGY = 1e-30; // digital silence
static double energy_of(const float *x, part p) { return gn_dot(x + p.from, x + p.from, p.n) + LEAST_ENERGY; }
static double mean(const double *sum, size_t from, size_t to) { return (sum[to] - sum[from]) / (double)(to - from); }

// Filter the sounds around which the window reaches. room: four of them.
static void gather(const gn_signal *window, const double *onset_s, size_t n, const band *b, float *room, sounds *s) {
  const double fs_hz = window->fs_hz;
  const size_t settle = samples_of(SETTLE_S, fs_hz), all = settle + s->every * room_n(s);
  const float *in[FOUR];
  float *out[FOUR];
  gn_biquad sections[2];
  gn_biquad_bandpass(sections, b->low_hz, gn_min(b->high_hz, 0.4 * fs_hz), fs_hz);
  for (size_t q = 0; q < FOUR; q++) out[q] = room + q * all;
  s->n = 0;
  for (size_t i = 0, waiting = 0; i <= n; i++) {
    const double first = i < n ? floor((onset_s[i] - window->start_s - BEFORE_S - REACH_S) * fs_hz) - (double)settle : (double)NAN;
    if (first >= 0 && first + (double)all <= (double)window->n) in[waiting++] = window->samples + (size_t)first;
    if (waiting == 0 || (waiting < FOUR && i < n)) continue;
    for (size_t q = waiting; q < FOUR; q++) in[q] = in[0];
    gn_biquad_run_four(sections, 2, in, out, all);
    for (size_t q = 0; q < waiting; q++, s->n++)
      for (size_t k = 0; k < room_n(s); k++) sound_of(s, s->n)[k] = out[q][settle + s->every * k];
    waiting = 0;
  }
}

static void add(sounds *s, size_t i, double weight) {
  const float *x = stretch_of(s, i);
  for (size_t k = 0; k < s->len; k++) s->shape[k] += (float)weight * x[k];
}

static void take_in(sounds *s, part p, size_t i) {
  s->weight[i] = 1 / sqrt(energy_of(stretch_of(s, i), p));
  add(s, i, s->weight[i]);
}

// Where the sound agrees best with the others.
static size_t best_place(const sounds *s, part p, size_t i) {
  const float *x = sound_of(s, i) + p.from;
  double *with_all = s->along, *with_own = s->along + s->places, best = -HUGE_VAL;
  size_t place = s->at[i];
  gn_dot_along(s->shape + p.from, x, p.n, with_all, s->places);
  gn_dot_along(x + s->at[i], x, p.n, with_own, s->places);
  double energy = energy_of(x, (part){0, p.n});
  for (size_t a = 0; a < s->places; a++) {
    if (a > 0) energy += (double)x[a + p.n - 1] * (double)x[a + p.n - 1] - (double)x[a - 1] * (double)x[a - 1];
    const double agreement = (with_all[a] - s->weight[i] * with_own[a]) / sqrt(gn_max(energy, LEAST_ENERGY));
    if (agreement > best) best = agreement, place = a;
  }
  return place;
}

// Lay the sounds on each other by a part of their stretches.
static void align(sounds *s, part p) {
  for (size_t k = 0; k < s->len; k++) s->shape[k] = 0;
  for (size_t i = 0; i < s->n; i++) take_in(s, p, i);
  for (int round = 0; round < ROUNDS; round++)
    for (size_t i = 0; i < s->n; i++) {
      const size_t place = best_place(s, p, i);
      add(s, i, -s->weight[i]);
      s->at[i] = place;
      take_in(s, p, i);
    }
}

// What repeats is what the sum has beyond its parts' own squares: without bias.
static void add_powers(sounds *s) {
  const double n = (double)s->n;
  s->repeats[0] = s->all[0] = 0;
  for (size_t k = 0; k < s->len; k++) {
    const double shape = (double)s->shape[k];
    double squares = 0;
    for (size_t i = 0; i < s->n; i++) {
      const double x = s->weight[i] * (double)stretch_of(s, i)[k];
      squares += x * x;
    }
    s->repeats[k + 1] = s->repeats[k] + (shape * shape - squares) / (n * (n - 1));
    s->all[k + 1] = s->all[k] + squares / n;
  }
}

// The sample from which on what repeats rises to its largest power, in sounds aligned by a part.
static size_t beginning(sounds *s, part by, size_t from, size_t half) {
  double most = 0;
  size_t at = from;
  align(s, by);
  add_powers(s);
  for (size_t k = from; k + half <= s->len; k++) {
    const double power = mean(s->repeats, k - half, k + half);
    if (power > most) most = power, at = k;
  }
  while (at > half && mean(s->repeats, at - half, at + half) > BEGUN_SHARE * most) at--;
  return at;
}

// How much louder the sounds are in one part than in another, dB, in the middle over them.
static double louder_db(const sounds *s, part here, part there) {
  double ratio[GN_EMERGE_MOST_N];
  for (size_t i = 0; i < s->n; i++)
    ratio[i] = energy_of(stretch_of(s, i), here) / (double)here.n / (energy_of(stretch_of(s, i), there) / (double)there.n);
  return gn_db(gn_median(ratio, s->n));
}

// Does another sound begin there than what lies ahead?
static bool is_apart(const sounds *s, part ahead, part sound) {
  const double before = mean(s->all, ahead.from, ahead.from + ahead.n), own = mean(s->repeats, ahead.from, ahead.from + ahead.n);
  const size_t end = sound.from + sound.n;
  return mean(s->repeats, sound.from, end) >= REPEATS_LEAST * mean(s->all, sound.from, end) && own <= AHEAD_MOST * before;
}

static double late_s_of(const gn_signal *window, const double *onset_s, size_t n, float *room, sounds *s) {
  const double fs_hz = s->fs_hz;
  const size_t onset = samples_of(BEFORE_S, fs_hz), from = onset - samples_of(PEAK_FROM_S, fs_hz), half = samples_of(SMOOTH_S / 2, fs_hz);
  const size_t some = samples_of(AHEAD_S, fs_hz), least = onset + samples_of(LATE_LEAST_S, fs_hz);
  gather(window, onset_s, n, &SOUND, room, s);
  if (s->n < FEWEST_N) return 0;
  for (size_t i = 0; i < s->n; i++) s->at[i] = s->places / 2;
  size_t at = beginning(s, (part){0, s->len}, from, half);
  if (at <= onset) return 0;
  at = beginning(s, (part){at, at + some < s->len ? some : s->len - at}, from, half); // once more, without what lies ahead
  if (at < least) return 0;
  const part ahead = {at - some, some - samples_of(APART_S, fs_hz)}, sound = {at, at + some < s->len ? some : s->len - at};
  if (!is_apart(s, ahead, sound)) return 0;
  gather(window, onset_s, n, &MURMUR, room, s);
  return louder_db(s, ahead, sound) >= LOUDER_DB ? (double)(at - onset) / fs_hz : 0;
}

int gn_emerge_find(const gn_signal *window, const double *onset_s, size_t n, double next_s, double *late_s) {
  const double after_s = gn_min(AFTER_S, AFTER_SHARE * next_s);
  *late_s = 0;
  if (n < FEWEST_N || !(after_s > AHEAD_S)) return 0;
  const size_t every = window->fs_hz > RATE_HZ ? (size_t)(window->fs_hz / RATE_HZ) : 1;
  const double fs_hz = window->fs_hz / (double)every;
  sounds s = {.fs_hz = fs_hz, .every = every, .len = samples_of(BEFORE_S + after_s, fs_hz), .places = 2 * samples_of(REACH_S, fs_hz) + 1};
  s.x = gn_room(n * room_n(&s), sizeof *s.x);
  s.shape = gn_room(s.len, sizeof *s.shape);
  s.along = gn_room(2 * s.places, sizeof *s.along);
  s.repeats = gn_room(s.len + 1, sizeof *s.repeats);
  s.all = gn_room(s.len + 1, sizeof *s.all);
  float *room = gn_room(FOUR * (samples_of(SETTLE_S, window->fs_hz) + every * room_n(&s)), sizeof *room);
  const bool there = s.x && s.shape && s.along && s.repeats && s.all && room;
  if (there) *late_s = late_s_of(window, onset_s, n, room, &s);
  gn_free(s.x);
  gn_free(s.shape);
  gn_free(s.along);
  gn_free(s.repeats);
  gn_free(s.all);
  gn_free(room);
  return there ? 0 : -1;
}
