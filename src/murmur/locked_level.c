// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

static const double QUIET = 0.3;          // over cells: the power's usual ratio to the noise there
static const double LEAST_WEIGHT = 1e-3;  // of the quietest cells'

// Power in the levels' band per cell and beat.
static double power_at(const gn_murmur_cube *cube, bool low_too, size_t cell, size_t b) {
  const double all = (double)gn_murmur_cell(cube, GN_MURMUR_BROAD, cell)[b], low = (double)gn_murmur_cell(cube, GN_MURMUR_LOW, cell)[b];
  return low_too ? all : all - low;
}

// Sums of one beat over some quiet cells: weighted power, weighted noise, weights. The noise is that of the bands together.
typedef struct sums { double power, noise, weights; } sums;

static sums sum_beat(const gn_murmur_locked *l, bool low_too, const size_t cells[2], size_t b) {
  sums s = {0};
  const size_t n = l->m * l->n_beats;
  for (size_t i = cells[0]; i < cells[1]; i++) {
    double noise = 0, quiet = 0;
    for (size_t k = 0; k < GN_MURMUR_LOCKED_ROWS + (low_too ? 1u : 0u); k++) {
      noise += (double)l->noise[k * n + b * l->m + i];
      quiet += l->quiet[k];
    }
    const double p = power_at(l->cube, low_too, l->cells[i], b), w = 1 / ((1 + noise / quiet) * (1 + noise / quiet));
    if (isnan(p) || isnan(noise) || !(w > LEAST_WEIGHT)) continue;
    s.power += w * p;
    s.noise += w * noise;
    s.weights += w;
  }
  return s;
}

static double usual_ratio(const gn_murmur_locked *l, bool low_too, double *ratios) {
  size_t kept = 0;
  for (size_t i = 0; i < l->m; i++) {
    const size_t one[2] = {i, i + 1};
    double power = 0, noise = 0;
    for (size_t b = 0; b < l->n_beats; b++) {
      const sums s = sum_beat(l, low_too, one, b);
      power += s.power;
      noise += s.noise;
    }
    if (noise > 0) ratios[kept++] = power / noise;
  }
  return kept ? gn_quantile(ratios, kept, QUIET) : (double)NAN;
}

typedef struct step_level {
  const gn_murmur_locked *l;
  const sums *beats;
  double ratio, hidden_db;
} step_level;

static double level_of(const void *what, const size_t *pick) {
  const step_level *k = what;
  double power = 0, weights = 0;
  for (size_t i = 0; i < k->l->n_beats; i++) {
    const sums *s = &k->beats[pick ? pick[i] : i];
    power += s->power - k->ratio * s->noise;
    weights += s->weights;
  }
  return power > 0 && weights > 0 ? gn_db(power / weights / k->l->cube->s1_power) + k->hidden_db : (double)NAN;
}

int gn_murmur_locked_level(const gn_murmur_locked *l, const size_t heard[2], bool low_too, double hidden_db, girthline_murmur_phase *out) {
  if (!l->usable) return 0;
  size_t cells[2] = {0, 0};
  while (cells[0] < l->m && l->cells[cells[0]] < heard[0]) cells[0]++;
  cells[1] = cells[0];
  while (cells[1] < l->m && l->cells[cells[1]] < heard[1]) cells[1]++;
  sums *beats = gn_new(l->n_beats, sizeof *beats);
  double *ratios = gn_new(l->m, sizeof *ratios);
  const int refused = beats && ratios ? 0 : -1;
  if (!refused && cells[1] > cells[0]) {
    const step_level level = {l, beats, usual_ratio(l, low_too, ratios), hidden_db};
    for (size_t b = 0; b < l->n_beats; b++) beats[b] = sum_beat(l, low_too, cells, b);
    const double level_db = level_of(&level, NULL);
    if (!isnan(level_db)) {
      out->level_db = level_db;
      gn_murmur_level_interval(l->n_beats, 31, level_of, &level, out->level_db_interval);
    }
  }
  gn_free(beats);
  gn_free(ratios);
  return refused;
}
