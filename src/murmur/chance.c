// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"

// With few beats a breath can fall on the same place by chance, and the best of many places looks better than it is. So the
// quiet part of every beat is turned by a random amount, which keeps each beat's own noise and loses only its alignment
// with the beats, and the best place of that is found, many times over: a surrogate test of the maximum.
static const size_t N_SURROGATES = 60;
static const double LOW_QUANTILE = 0.18, REF_QUANTILE = 0.08; // as in the search
static const size_t STEP = 2;

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

// The best place over the quiet level, dB, with every beat turned by its own amount; at: only that place (m: the best).
static double best_db(gn_murmur_test *t, const float *means, size_t m, const size_t *turns, size_t at) {
  const size_t n_beats = t->cube->n_beats;
  double best = 0;
  size_t n = 0;
  for (size_t i = 0; i < m; i += STEP) {
    for (size_t b = 0; b < n_beats; b++) t->values[b] = means[(i + turns[b]) % m * n_beats + b];
    const double q = gn_murmur_quantile(t->values, n_beats, LOW_QUANTILE, t->scratch);
    if (isnan(q)) continue;
    t->quiet[n++] = q;
    if (q > best && (at == m || i + STEP > at) && (at == m || i <= at)) best = q;
  }
  const double ref = n ? gn_quantile(t->quiet, n, REF_QUANTILE) : 0;
  return best > 0 && ref > 0 ? gn_db(best / ref) : 0;
}

int gn_murmur_chance(gn_murmur_test *t, const gn_murmur_evidence *e, double *share) {
  const gn_murmur_cube *cube = t->cube;
  size_t *cells = gn_new(cube->n_cells, sizeof *cells), *turns = gn_new(cube->n_beats, sizeof *turns);
  float *means = gn_new(cube->n_cells * cube->n_beats, sizeof *means);
  const int refused = !cells || !turns || !means;
  *share = 0;
  if (!refused) {
    const size_t m = quiet_cells(cube, cells);
    size_t at = 0;
    while (at < m && cells[at] < e->a) at++;
    if (m > e->n && at < m) {
      ring_means(cube, e, cells, m, means);
      const double seen = best_db(t, means, m, turns, at);
      gn_random random = gn_random_of(41);
      for (size_t k = 0; k < N_SURROGATES; k++) {
        for (size_t b = 0; b < cube->n_beats; b++) turns[b] = (size_t)gn_random_below(&random, m);
        if (best_db(t, means, m, turns, m) >= seen) *share += 1.0 / (double)N_SURROGATES;
      }
    }
  }
  gn_free(cells);
  gn_free(turns);
  gn_free(means);
  return refused ? -1 : 0;
}
