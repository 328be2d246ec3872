// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"

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
static const size_t STEP = 2, BEATS_LEAST = 5;

// Quiet cells in order: systole's, then diastole's. Returns how many.
static size_t quiet_cells(const gn_murmur_cube *cube, size_t *cells) {
  size_t n = 0;
  for (size_t c = cube->s1_end; c < cube->s2_start; c++) cells[n++] = c;
  for (size_t c = cube->s2_end; c < cube->s1_start; c++) cells[n++] = c;
  return n;
}

// Mean over n cells from each quiet cell on, around the ring, per beat.
static void ring_means(const gn_murmur_cube *cube, const gn_murmur_evidence *e, const size_t *cells, size_t m, float *means) {
  for (size_t i = 0; i < m; i++)
    for (size_t b = 0; b < cube->n_beats; b++) {
      double sum = 0;
      size_t kept = 0;
      for (size_t k = 0; k < e->n; k++) {
        const float p = gn_murmur_cell(cube, e->row, cells[(i + k) % m])[b];
        if (isnan(p)) continue;
        sum += (double)p;
        kept++;
      }
      means[i * cube->n_beats + b] = kept && 2 * kept >= e->n ? (float)(sum / (double)kept) : NAN;
    }
}

void gn_murmur_weigh(const float *own, size_t n, double *weights, double *scratch) {
  size_t kept = 0;
  for (size_t b = 0; b < n; b++)
    if ((double)own[b] > 0) scratch[kept++] = (double)own[b];
  const double quiet = kept ? gn_quantile(scratch, kept, QUIET_BEAT) : 0;
  for (size_t b = 0; b < n; b++) weights[b] = (double)own[b] > 0 ? 1 / (1 + (double)own[b] / quiet) : 0;
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
  if (kept < BEATS_LEAST || 2 * kept < n || !(sum > 0)) return false;
  out[0] = sum_x / sum;
  for (size_t b = 0; b < n; b++) {
    if (isnan(x[b])) continue;
    const double off = weights[b] * ((double)x[b] - out[0]);
    spread += off * off;
  }
  const double least = SD_LEAST * SD_LEAST * squares, alike = sum * sum / squares; // so many equal beats tell as much
  if (!(alike > ALIKE_LEAST)) return false;
  out[1] = sqrt(spread > least ? spread : least) / sum * sqrt(alike / (alike - 1));
  return true;
}

// Logarithms of the means over each beat's own level; NaN stays.
static void level_beats(gn_murmur_test *t, float *means, size_t m) {
  const size_t n_beats = t->cube->n_beats;
  for (size_t b = 0; b < n_beats; b++) {
    for (size_t i = 0; i < m; i++) t->values[i] = means[i * n_beats + b];
    const double own = gn_murmur_quantile(t->values, m, BEAT_QUANTILE, t->scratch);
    t->part[b] = (float)own;
    for (size_t i = 0; i < m; i++) {
      float *x = &means[i * n_beats + b];
      *x = own > 0 && (double)*x > 0 ? (float)gn_log((double)*x / own) : NAN;
    }
  }
  gn_murmur_weigh(t->part, n_beats, t->weights, t->quiet);
}

// Mean and standard error over beats at one place, every beat turned by its own amount. false: too few beats reach it.
static bool mean_at(gn_murmur_test *t, const float *means, size_t m, const size_t *turns, size_t i, double out[2]) {
  const size_t n = t->cube->n_beats;
  for (size_t b = 0; b < n; b++) {
    const size_t at = i + turns[b];
    t->part[b] = means[(at < m ? at : at - m) * n + b];
  }
  return gn_murmur_weighted(t->part, t->weights, n, out);
}

// How many standard errors the place stands over what is usual; the best place when at is m.
static double stands_out(gn_murmur_test *t, const float *means, size_t m, const size_t *turns, size_t at) {
  size_t n = 0;
  for (size_t i = at == m ? 0 : at % STEP; i < m; i += STEP) {
    double x[2];
    if (!mean_at(t, means, m, turns, i, x)) continue;
    t->quiet[n] = x[0];
    t->errors[n++] = i == at || at == m ? x[1] : HUGE_VAL;
  }
  if (n == 0) return 0;
  memcpy(t->sorted, t->quiet, n * sizeof *t->sorted);
  const double usual = gn_quantile(t->sorted, n, REF_QUANTILE);
  double best = 0;
  for (size_t i = 0; i < n; i++)
    if ((t->quiet[i] - usual) / t->errors[i] > best) best = (t->quiet[i] - usual) / t->errors[i];
  return best;
}

// The best place's low quantile over the quiet one, dB, with every beat turned by its own amount; at: only that place.
static double low_db(gn_murmur_test *t, const float *means, size_t m, const size_t *turns, size_t at) {
  const size_t n_beats = t->cube->n_beats;
  double best = 0;
  size_t n = 0;
  for (size_t i = at == m ? 0 : at % STEP; i < m; i += STEP) {
    for (size_t b = 0; b < n_beats; b++) t->values[b] = means[(i + turns[b]) % m * n_beats + b];
    const double q = gn_murmur_quantile(t->values, n_beats, LOW_QUANTILE, t->scratch);
    if (isnan(q)) continue;
    t->quiet[n++] = q;
    if (q > best && (at == m || i == at)) best = q;
  }
  const double ref = n ? gn_quantile(t->quiet, n, LOW_REF_QUANTILE) : 0;
  return best > 0 && ref > 0 ? gn_db(best / ref) : 0;
}

typedef double (*measure)(gn_murmur_test *, const float *, size_t, const size_t *, size_t);

// Standard deviations by which the place beats the best of the surrogates in the mean, and the share of them that do as well.
static double against_surrogates(gn_murmur_test *t, measure of, const float *means, size_t m, size_t *turns, size_t at, double *as_good) {
  memset(turns, 0, t->cube->n_beats * sizeof *turns);
  const double seen = of(t, means, m, turns, at);
  gn_random random = gn_random_of(41);
  double sum = 0, squares = 0;
  *as_good = 0;
  for (size_t k = 0; k < N_SURROGATES; k++) {
    for (size_t b = 0; b < t->cube->n_beats; b++) turns[b] = (size_t)gn_random_below(&random, m);
    const double best = of(t, means, m, turns, m);
    *as_good += best >= seen ? 1.0 / (double)N_SURROGATES : 0;
    sum += best;
    squares += best * best;
  }
  const double mean = sum / (double)N_SURROGATES, variance = squares / (double)N_SURROGATES - mean * mean;
  return variance > 0 ? (seen - mean) / sqrt(variance) : 0;
}

int gn_murmur_chance(gn_murmur_test *t, gn_murmur_evidence *e) {
  const gn_murmur_cube *cube = t->cube;
  size_t *cells = gn_new(cube->n_cells, sizeof *cells), *turns = gn_new(cube->n_beats, sizeof *turns);
  float *means = gn_new(cube->n_cells * cube->n_beats, sizeof *means);
  const int refused = !cells || !turns || !means;
  e->beats_chance = 0;
  e->chance = 1;
  if (!refused) {
    const size_t m = quiet_cells(cube, cells);
    size_t at = 0;
    while (at < m && cells[at] < e->a) at++;
    if (m > e->n && at < m) {
      ring_means(cube, e, cells, m, means);
      double unused;
      if (e->low_db > 0) against_surrogates(t, low_db, means, m, turns, at, &e->chance);
      level_beats(t, means, m);
      e->beats_chance = against_surrogates(t, stands_out, means, m, turns, at, &unused);
    }
  }
  gn_free(cells);
  gn_free(turns);
  gn_free(means);
  return refused ? -1 : 0;
}
