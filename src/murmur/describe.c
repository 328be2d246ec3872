// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"

static const double LOUD_DB = 6; // the contract's words: softer, as loud, louder
static const size_t N_BOOTSTRAP = 200;
static const double ENDS_BEFORE_SHARE = 0.08; // of systole left free before S2
static const double SEARCH_MARGIN = 1.25;     // the strongest frequency may lie this factor outside the bands that show it

// dB of the murmur over S1 from power per beat over the murmur, the quiet windows and S1; pick: beats (NULL: all).
static double level_of(const gn_murmur_cube *cube, float *const parts[3], const size_t *pick, float *scratch) {
  double q[3];
  for (int k = 0; k < 3; k++) {
    size_t n = 0;
    for (size_t i = 0; i < cube->n_beats; i++) {
      const float v = parts[k][pick ? pick[i] : i];
      if (!isnan(v)) scratch[n++] = v;
    }
    q[k] = (double)gn_quantile_f(scratch, n, 0.5f);
  }
  return q[0] > q[1] && q[2] > q[1] ? gn_db((q[0] - q[1]) / (q[2] - q[1])) : (double)NAN;
}

static void quiet_window(gn_murmur_test *t, size_t n, float *values) {
  const gn_murmur_cube *cube = t->cube;
  const float *low = cube->floor_contour + GN_MURMUR_BROAD * cube->n_cells;
  size_t best = 0;
  double least = INFINITY;
  for (size_t a = 0; a + n <= cube->n_cells; a++) {
    double sum = 0;
    for (size_t c = a; c < a + n; c++) sum += (double)low[c];
    if (sum < least) least = sum, best = a;
  }
  gn_murmur_window(cube, GN_MURMUR_BROAD, best, n, values);
}

static int levels(gn_murmur_test *t, const size_t span[2], double s1_length_s, girthline_murmur_phase *out) {
  const gn_murmur_cube *cube = t->cube;
  const size_t n = cube->n_beats;
  float *room = gn_new(4 * n, sizeof *room);
  size_t *pick = gn_new(n, sizeof *pick);
  double *levels_db = gn_new(N_BOOTSTRAP, sizeof *levels_db);
  const int refused = !room || !pick || !levels_db;
  if (!refused) {
    float *const parts[3] = {room, room + n, room + 2 * n};
    size_t s1_n = (size_t)(s1_length_s / GN_MURMUR_CELL_S + 0.5);
    if (s1_n < 4) s1_n = 4;
    gn_murmur_window(cube, GN_MURMUR_BROAD, span[0], span[1] - span[0], parts[0]);
    quiet_window(t, 12 < cube->n_cells / 6 ? 12 : cube->n_cells / 6, parts[1]);
    gn_murmur_window(cube, GN_MURMUR_BROAD, 0, s1_n < cube->n_systole ? s1_n : cube->n_systole, parts[2]);
    out->level_db = level_of(cube, parts, NULL, room + 3 * n);
    gn_random random = gn_random_of(29);
    size_t kept = 0;
    for (size_t k = 0; k < N_BOOTSTRAP; k++) {
      for (size_t i = 0; i < n; i++) pick[i] = (size_t)gn_random_below(&random, n);
      const double level = level_of(cube, parts, pick, room + 3 * n);
      if (!isnan(level)) levels_db[kept++] = level;
    }
    out->level_db_interval[0] = gn_quantile(levels_db, kept, 0.025);
    out->level_db_interval[1] = gn_quantile(levels_db, kept, 0.975);
  }
  gn_free(room);
  gn_free(pick);
  gn_free(levels_db);
  return refused ? -1 : 0;
}

static double confidence_of(const gn_murmur_evidence *e, size_t n_beats) {
  // Half at the edge of the test, towards one with repetition and with excess; few beats cannot carry more than 0.8.
  const double evidence = e->z > 0 ? e->z / 3.5 : 0, excess = e->x_db / 12;
  const double c = 1 - 0.5 * gn_exp(-0.6 * (evidence + excess));
  const double most = 1 - 0.6 / (double)(n_beats > 0 ? n_beats : 1);
  return c < most ? c : most;
}

static void search_range(const gn_murmur_evidence *e, double search_hz[2]) {
  search_hz[0] = gn_murmur_band_hz[e->row][0];
  search_hz[1] = gn_murmur_band_hz[e->row][1];
  for (size_t row = 1; row < GN_MURMUR_BANDS; row++) {
    if (!(e->rows >> row & 1)) continue;
    if (gn_murmur_band_hz[row][0] < search_hz[0]) search_hz[0] = gn_murmur_band_hz[row][0];
    if (gn_murmur_band_hz[row][1] > search_hz[1]) search_hz[1] = gn_murmur_band_hz[row][1];
  }
  search_hz[0] /= SEARCH_MARGIN;
  search_hz[1] *= SEARCH_MARGIN;
}

int gn_murmur_describe(gn_murmur_test *t, const gn_murmur_evidence *e, const gn_murmur_beat *beats, double fs_hz, girthline_murmur_phase *out) {
  const gn_murmur_cube *cube = t->cube;
  gn_murmur_profile p;
  *out = (girthline_murmur_phase){.phase = e->phase ? GIRTHLINE_DIASTOLE : GIRTHLINE_SYSTOLE, .musical = GIRTHLINE_UNKNOWN,
                                  .ends_before_s2 = GIRTHLINE_UNKNOWN, .peak_hz = NAN, .band_hz = {NAN, NAN}};
  int refused = gn_murmur_profile_init(t, e, &p);
  if (!refused) {
    double search_hz[2];
    search_range(e, search_hz);
    out->timing = p.timing;
    out->shape = p.shape;
    out->beats_fraction = e->share;
    out->confidence = confidence_of(e, cube->n_beats);
    out->start_fraction = (double)(p.span[0] - p.first) / (double)p.n;
    out->end_fraction = (double)(p.span[1] - p.first) / (double)p.n;
    const double visible_to = (double)cube->s2_start / (double)p.n - 0.03;
    if (!e->phase) out->ends_before_s2 = out->end_fraction < 1 - ENDS_BEFORE_SHARE && out->end_fraction < visible_to ? GIRTHLINE_YES : GIRTHLINE_NO;
    refused = levels(t, p.core, cube->sound_s[0], out) || gn_murmur_pitch(cube, beats, fs_hz, p.core, search_hz, out);
    out->level_db += p.hidden_db;
    out->level_db_interval[0] += p.hidden_db;
    out->level_db_interval[1] += p.hidden_db;
    out->loudness = out->level_db < -LOUD_DB ? GIRTHLINE_SOFTER : out->level_db > LOUD_DB ? GIRTHLINE_LOUDER : GIRTHLINE_AS_LOUD;
  }
  gn_murmur_profile_clear(&p);
  return refused;
}
