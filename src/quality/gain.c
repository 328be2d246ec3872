// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// Where a recorder's gain is turned, everything becomes louder or softer by the same: the beats and the quiet between them, in every band. Hardly
// anything that a body or a hand does is like that: breath lifts the quiet and leaves the beats, a thump the other way round. A chest piece that
// is pressed on more firmly may be, and is undone as well.
#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

static const double CELL_S = 0.4;      // its loudest frame and its softest tell of it: a choice
static const size_t BEAT_REACH_N = 3;  // so many cells either way hold a beat of the slowest heart (2.8 s)
// What lasts for less than six cells is no change of gain. One is undone over seven: steeper, a gain that creeps looks like a murmur's shape within the
// beat. A larger step from one cell to the next is undone there, or the beat beside it is lost (a choice: of 120 recordings turned up by 20 dB F1 is 0.985
// instead of 0.974, of 376 with gain control it stays). What all levels have in common changed by four dB in 33 of 139 simulated recordings with gain
// control, and in eight of 2261 without it.
static const size_t STEADY_REACH_N = 5, UNDO_REACH_N = 3;
static const double LEAST_DB = 4, STEP_DB = 9;
static const double USUAL_SHARE = 0.8; // of the cells are no louder: against that each level is held, a choice
static const double MOST_DB = 25;      // further down than this nothing came through, further up it did not in the usual cells: a choice
static const double SILENT_DB = -100;  // stands for no sound at all

// The loudest frame of a cell in the heart bands, the softest in all of them.
enum { N_QUIET = GN_BAND_ABOVE + 1, N_LEVELS = GN_N_HEART_BANDS + N_QUIET };
typedef struct cell { double middle_s, wide, level[N_LEVELS]; } cell; // powers

typedef struct desk {
  const cell *cells; // that something came through in
  size_t n;
  double silent;     // power
  double *gain_db, *level, *kept, *room; // for each cell
} desk;

static cell hear_cell(const gn_quality_frames *f, size_t start, size_t n) {
  float loudest[GN_N_BANDS], softest[GN_N_BANDS];
  for (int b = 0; b < GN_N_BANDS; b++) loudest[b] = softest[b] = f->rows[start][b];
  for (size_t i = start + 1; i < start + n; i++)
    for (int b = 0; b < GN_N_BANDS; b++) {
      const float power = f->rows[i][b];
      loudest[b] = power > loudest[b] ? power : loudest[b];
      softest[b] = power < softest[b] ? power : softest[b];
    }
  cell c = {.middle_s = 0.5 * (gn_quality_frames_time(f, start) + gn_quality_frames_time(f, start + n - 1)), .wide = (double)loudest[GN_BAND_WIDE]};
  for (int b = 0; b < GN_N_HEART_BANDS; b++) c.level[b] = (double)loudest[b];
  for (int b = 0; b < N_QUIET; b++) c.level[GN_N_HEART_BANDS + b] = (double)softest[b];
  return c;
}

static void hear(const gn_quality_frames *f, size_t cell_n, cell *cells, desk *d) {
  const size_t n = f->n / cell_n;
  for (size_t i = 0; i < n; i++) {
    cells[i] = hear_cell(f, i * cell_n, cell_n);
    d->room[i] = cells[i].wide;
  }
  const double usual = gn_quantile(d->room, n, USUAL_SHARE), least = usual * gn_from_db(-MOST_DB);
  d->silent = usual * gn_from_db(SILENT_DB);
  for (size_t i = 0; i < n; i++)
    if (cells[i].wide > least) cells[d->n++] = cells[i];
  d->cells = cells;
}

// Cells [start, end): one and those up to reach_n beside it.
typedef struct reach { size_t start, end; } reach;
static reach around(const desk *d, size_t i, size_t reach_n) { return (reach){i > reach_n ? i - reach_n : 0, i + reach_n < d->n ? i + reach_n + 1 : d->n}; }

// Each becomes quantile q of those around it.
static void rank(const desk *d, double *x, size_t reach_n, double q) {
  memcpy(d->kept, x, d->n * sizeof *x);
  for (size_t i = 0; i < d->n; i++) {
    const reach r = around(d, i, reach_n);
    memcpy(d->room, d->kept + r.start, (r.end - r.start) * sizeof *d->room);
    x[i] = gn_quantile(d->room, r.end - r.start, q);
  }
}

// What of level k lasts, dB against the usual; that of the beats holds for a stretch in which one beats.
static void follow(const desk *d, int k, double *x) {
  for (size_t i = 0; i < d->n; i++) x[i] = gn_db(gn_max(d->cells[i].level[k], d->silent));
  if (k < GN_N_HEART_BANDS) {
    rank(d, x, BEAT_REACH_N, 1);
    rank(d, x, BEAT_REACH_N, 0);
  }
  rank(d, x, STEADY_REACH_N, 0.5);
  memcpy(d->room, x, d->n * sizeof *x);
  const double usual = gn_quantile(d->room, d->n, USUAL_SHARE);
  for (size_t i = 0; i < d->n; i++) x[i] -= usual;
}

// Into gain_db: what all levels have in common, nothing where one rises and another falls. Whether it changes: with each level it changes less.
static bool find(const desk *d) {
  double *const x = d->level;
  double most = 0;
  for (int k = N_LEVELS - 1; k >= 0; k--) {
    double least = 0;
    most = 0;
    follow(d, k, x);
    for (size_t i = 0; i < d->n; i++) {
      const double common = k == N_LEVELS - 1 ? x[i] : d->gain_db[i];
      d->gain_db[i] = x[i] > 0 ? gn_min(x[i], gn_max(common, 0)) : gn_max(x[i], gn_min(common, 0));
      most = gn_max(most, d->gain_db[i]);
      least = gn_min(least, d->gain_db[i]);
    }
    if (most - least < LEAST_DB) return false;
  }
  return most <= MOST_DB;
}

// Means over the cells around each, as far as no step lies between.
static void smooth(const desk *d, double *out) {
  for (size_t i = 0; i < d->n; i++) {
    reach r = around(d, i, UNDO_REACH_N);
    for (size_t k = i; k-- > r.start;)
      if (fabs(d->gain_db[k + 1] - d->gain_db[k]) >= STEP_DB) r.start = k + 1;
    for (size_t k = i + 1; k < r.end; k++)
      if (fabs(d->gain_db[k] - d->gain_db[k - 1]) >= STEP_DB) r.end = k;
    out[i] = gn_mean(d->gain_db + r.start, r.end - r.start);
  }
}

// From cell to cell on a straight line of dB, level before the first and after the last: each sample's factor is the last one's times the same.
static void undo(const desk *d, const double *gain_db, const gn_signal *window, float *samples) {
  size_t i = 0;
  for (size_t at = 0; at <= d->n; at++) {
    const cell *before = &d->cells[at ? at - 1 : 0], *behind = &d->cells[at < d->n ? at : at - 1];
    const double from_db = gain_db[before - d->cells], len_n = (behind->middle_s - before->middle_s) * window->fs_hz;
    const double step_db = behind > before ? (gain_db[behind - d->cells] - from_db) / len_n : 0;
    const double start = (before->middle_s - window->start_s) * window->fs_hz, end = at < d->n ? ceil((behind->middle_s - window->start_s) * window->fs_hz) : (double)window->n;
    double factor = sqrt(gn_from_db(-(from_db + step_db * ((double)i - start))));
    const double step = sqrt(gn_from_db(-step_db));
    for (; (double)i < end; i++, factor *= step) samples[i] = (float)((double)samples[i] * factor);
  }
}

int gn_quality_even_gain(const gn_quality_frames *f, const gn_signal *window, float *samples) {
  const size_t cell_n = (size_t)(CELL_S / gn_quality_frames_step(f) + 0.5), n = f->n / cell_n;
  if (n < 2 * STEADY_REACH_N + 2) return 0;
  cell *cells = gn_new(n, sizeof *cells);
  double *room = gn_new(4 * n, sizeof *room);
  bool changes = false;
  if (cells && room) {
    desk d = {.gain_db = room, .level = room + n, .kept = room + 2 * n, .room = room + 3 * n};
    hear(f, cell_n, cells, &d);
    changes = d.n && find(&d);
    if (changes) {
      smooth(&d, d.level);
      undo(&d, d.level, window, samples);
    }
  }
  const bool refused = !cells || !room;
  gn_free(cells);
  gn_free(room);
  return refused ? -1 : changes;
}
