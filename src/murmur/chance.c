// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"
#include "base/wide.h"

// With few beats a breath can fall on the same place by chance, and the best of many places looks better than it is. So the
// quiet part of every beat is turned by a random amount, which keeps each beat's own noise and loses only its alignment
// with the beats, and the best place of that is found, many times over: a surrogate test of the maximum. How far a place stands
// out is measured in each beat against that beat's own level, so that a breath over some of the beats adds nothing.
static const size_t N_SURROGATES = 80;
static const double BEAT_QUANTILE = 0.3; // over a beat's places: its own level
static const double REF_QUANTILE = 0.2;  // over places: what is usual
static const double QUIET_BEAT = 0.25;   // over beats: a quiet beat's level; a beat that much louder than it tells the less
static const double SD_LEAST = 0.3;       // of the logarithms over beats: what 60 ms of noise a band wide varies by itself
static const double LOW_QUANTILE = 0.18, LOW_REF_QUANTILE = 0.08; // as in the search
static const double ALIKE_LEAST = 2;
static const size_t BEATS_LEAST = 5;
enum { STEP = 2, PLACES = 8 };

// The quiet cells as a ring: systole's, then diastole's. A row holds a beat's means over the window's length from each cell on, twice around,
// every STEP-th side by side: so a turned beat's places follow each other.
typedef struct ring {
  size_t m, n_beats;
  float *rows;     // [beat][STEP][m], and PLACES to read on into
  size_t *turns;   // [beat]
  float *powers;   // [m + window's length][beat]: of the cells, the first ones again behind the last
  size_t at;       // where the window begins; m: not here
} ring;

static float *mean_from(const ring *r, size_t b, size_t i) { return r->rows + (b * STEP + i % STEP) * r->m + i / STEP; }

static void take_means(ring *r, size_t n, float *values) {
  for (size_t i = 0; i < r->m; i++) {
    gn_murmur_mean(r->powers + i * r->n_beats, n, r->n_beats, values);
    for (size_t b = 0; b < r->n_beats; b++) *mean_from(r, b, i) = *mean_from(r, b, i + r->m) = values[b];
  }
}

static int ring_init(ring *r, const gn_murmur_cube *cube, const gn_murmur_evidence *e) {
  const size_t n_cells = cube->n_cells, row_n = cube->n_beats * sizeof *r->powers;
  *r = (ring){.n_beats = cube->n_beats};
  r->turns = gn_new(cube->n_beats, sizeof *r->turns);
  r->powers = gn_room((n_cells + e->n) * cube->n_beats, sizeof *r->powers);
  r->rows = gn_room(STEP * n_cells * cube->n_beats + PLACES, sizeof *r->rows);
  if (!r->turns || !r->powers || !r->rows) return -1;
  const size_t part[2][2] = {{cube->s1_end, cube->s2_start}, {cube->s2_end, cube->s1_start}};
  for (int phase = 0; phase < 2; phase++)
    for (size_t c = part[phase][0]; c < part[phase][1]; c++) {
      if (c < e->a) r->at = r->m + 1;
      memcpy(r->powers + r->m++ * r->n_beats, gn_murmur_cell(cube, e->row, c), row_n);
    }
  for (size_t i = 0; i < e->n && r->m > e->n; i++) memcpy(r->powers + (r->m + i) * r->n_beats, r->powers + i * r->n_beats, row_n);
  return 0;
}

static void ring_clear(ring *r) {
  gn_free(r->turns);
  gn_free(r->powers);
  gn_free(r->rows);
}

void gn_murmur_weigh(const float *own, size_t n, double *weights, double *scratch) {
  size_t kept = 0;
  for (size_t b = 0; b < n; b++)
    if ((double)own[b] > 0) scratch[kept++] = (double)own[b];
  const double quiet = kept ? gn_quantile(scratch, kept, QUIET_BEAT) : 0;
  for (size_t b = 0; b < n; b++) weights[b] = (double)own[b] > 0 ? 1 / (1 + (double)own[b] / quiet) : 0;
}

// Of so many beats those that are there, and the sums of their weights and of the squares of these: too few?
static bool is_enough(double kept, size_t n, double sum, double squares) {
  return kept >= (double)BEATS_LEAST && 2 * kept >= (double)n && sum > 0 && sum * sum / squares > ALIKE_LEAST;
}

static double standard_error(double sum, double squares, double spread) {
  const double least = SD_LEAST * SD_LEAST * squares, alike = sum * sum / squares; // so many equal beats tell as much
  return sqrt(spread > least ? spread : least) / sum * sqrt(alike / (alike - 1));
}

bool gn_murmur_weighted(const float *x, const double *weights, size_t n, double out[2]) {
  double sum = 0, sum_x = 0, squares = 0, spread = 0;
  size_t kept = 0;
  for (size_t b = 0; b < n; b++) {
    if (isnan(x[b])) continue;
    sum += weights[b];
    sum_x += weights[b] * (double)x[b];
    squares += weights[b] * weights[b];
    kept++;
  }
  if (!is_enough((double)kept, n, sum, squares)) return false;
  out[0] = sum_x / sum;
  for (size_t b = 0; b < n; b++) {
    if (isnan(x[b])) continue;
    const double off = weights[b] * ((double)x[b] - out[0]);
    spread += off * off;
  }
  out[1] = standard_error(sum, squares, spread);
  return true;
}

// Logarithms of the means over each beat's own level; NaN stays.
static void level_beats(gn_murmur_test *t, ring *r) {
  for (size_t b = 0; b < r->n_beats; b++) {
    for (size_t i = 0; i < r->m; i++) t->values[i] = *mean_from(r, b, i);
    const double own = gn_murmur_quantile(t->values, r->m, BEAT_QUANTILE, t->scratch);
    t->part[b] = (float)own;
    for (size_t i = 0; i < r->m; i++) {
      const double x = (double)t->values[i];
      *mean_from(r, b, i) = *mean_from(r, b, i + r->m) = own > 0 && x > 0 ? (float)gn_log(x / own) : NAN;
    }
  }
  gn_murmur_weigh(t->part, r->n_beats, t->weights, t->quiet);
}

// What gn_murmur_weighted adds up, of neighbouring places side by side.
typedef struct places { double sum[PLACES], mean[PLACES], squares[PLACES], kept[PLACES], spread[PLACES]; } places;

GN_WIDE static void add_beats(const ring *r, const double *weights, size_t from, places *out) {
  places p = {0};
  for (size_t b = 0; b < r->n_beats; b++) {
    const float *x = mean_from(r, b, r->turns[b]) + from;
    for (size_t i = 0; i < PLACES; i++) {
      const bool there = !isnan(x[i]);
      const double w = there ? weights[b] : 0;
      p.sum[i] += w;
      p.mean[i] += w * (there ? (double)x[i] : 0);
      p.squares[i] += w * w;
      p.kept[i] += there ? 1 : 0;
    }
  }
  for (size_t i = 0; i < PLACES; i++) p.mean[i] /= p.sum[i];
  for (size_t b = 0; b < r->n_beats; b++) {
    const float *x = mean_from(r, b, r->turns[b]) + from;
    for (size_t i = 0; i < PLACES; i++) {
      const double off = isnan(x[i]) ? 0 : weights[b] * ((double)x[i] - p.mean[i]);
      p.spread[i] += off * off;
    }
  }
  *out = p;
}

// How many standard errors the place stands over what is usual, of n places from each beat's turn on; the best place when place is n.
static double stands_out(gn_murmur_test *t, const ring *r, size_t n, size_t place) {
  size_t there = 0;
  places p;
  for (size_t i = 0; i < n; i++) {
    const size_t at = i % PLACES;
    if (at == 0) add_beats(r, t->weights, i, &p);
    if (!is_enough(p.kept[at], r->n_beats, p.sum[at], p.squares[at])) continue;
    t->quiet[there] = p.mean[at];
    t->errors[there++] = i == place || place == n ? standard_error(p.sum[at], p.squares[at], p.spread[at]) : HUGE_VAL;
  }
  if (there == 0) return 0;
  memcpy(t->sorted, t->quiet, there * sizeof *t->sorted);
  const double usual = gn_quantile(t->sorted, there, REF_QUANTILE);
  double best = 0;
  for (size_t i = 0; i < there; i++)
    if ((t->quiet[i] - usual) / t->errors[i] > best) best = (t->quiet[i] - usual) / t->errors[i];
  return best;
}

// The place's low quantile over the quiet one, dB, in the same way.
static double low_db(gn_murmur_test *t, const ring *r, size_t n, size_t place) {
  double best = 0;
  size_t there = 0;
  for (size_t i = 0; i < n; i++) {
    for (size_t b = 0; b < r->n_beats; b++) t->values[b] = mean_from(r, b, r->turns[b])[i];
    const double q = gn_murmur_quantile(t->values, r->n_beats, LOW_QUANTILE, t->scratch);
    if (isnan(q)) continue;
    t->quiet[there++] = q;
    if (q > best && (place == n || i == place)) best = q;
  }
  const double ref = there ? gn_quantile(t->quiet, there, LOW_REF_QUANTILE) : 0;
  return best > 0 && ref > 0 ? gn_db(best / ref) : 0;
}

typedef double measure(gn_murmur_test *, const ring *, size_t, size_t);

// The measure where the window lies, no beat turned.
static double seen(measure *of, gn_murmur_test *t, ring *r) {
  const size_t first = r->at % STEP;
  for (size_t b = 0; b < r->n_beats; b++) r->turns[b] = first;
  return of(t, r, (r->m - first + STEP - 1) / STEP, r->at / STEP);
}

// The best of the next surrogate.
static double by_chance(measure *of, gn_murmur_test *t, ring *r, gn_random *random) {
  const size_t n = (r->m + STEP - 1) / STEP;
  for (size_t b = 0; b < r->n_beats; b++) r->turns[b] = (size_t)gn_random_below(random, r->m);
  return of(t, r, n, n);
}

// Does none of the surrogates have as much excess?
static bool is_beyond_chance(gn_murmur_test *t, ring *r) {
  const double here = seen(low_db, t, r);
  gn_random random = gn_random_of(41);
  for (size_t k = 0; k < N_SURROGATES; k++)
    if (by_chance(low_db, t, r, &random) >= here) return false;
  return true;
}

// Standard deviations by which the window beats the best of the surrogates in the mean.
static double deviations(gn_murmur_test *t, ring *r) {
  const double here = seen(stands_out, t, r);
  gn_random random = gn_random_of(41);
  double sum = 0, squares = 0;
  for (size_t k = 0; k < N_SURROGATES; k++) {
    const double best = by_chance(stands_out, t, r, &random);
    sum += best;
    squares += best * best;
  }
  const double mean = sum / (double)N_SURROGATES, variance = squares / (double)N_SURROGATES - mean * mean;
  return variance > 0 ? (here - mean) / sqrt(variance) : 0;
}

int gn_murmur_chance(gn_murmur_test *t, gn_murmur_evidence *e) {
  ring r;
  const int refused = ring_init(&r, t->cube, e);
  e->beats_chance = 0;
  e->beyond_chance = false;
  if (!refused && r.m > e->n && r.at < r.m) {
    take_means(&r, e->n, t->values);
    e->beyond_chance = e->low_db > 0 && is_beyond_chance(t, &r);
    level_beats(t, &r);
    e->beats_chance = deviations(t, &r);
  }
  ring_clear(&r);
  return refused;
}
