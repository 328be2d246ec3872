// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/result.h"
#include "base/statistics.h"

static const double ENDS_BEFORE_SHARE = 0.08; // of systole left free before S2
// The background of a level: this share of the cells free of sounds and murmur; with fewer than these, of all cells.
static const double BACKGROUND_SHARE = 0.5, BACKGROUND_FEW = 0.08;
static const size_t BACKGROUND_LEAST = 12;
static const double CLEAN_SHARE = 0.5; // of this many beats or more, the share whose background is quiet enough for a level
static const size_t CLEAN_OF = 8;
static const double UNSURE_DB = 4;            // where the beats' interval is wider, the level is had from what keeps step
static const double SEARCH_MARGIN = 1.25;     // the strongest frequency may lie this factor outside the bands that show it

// dB of the murmur over S1 from power per beat over the murmur, its background, S1, and S1's background; pick: beats (NULL: all).
typedef struct heard_level {
  const gn_murmur_cube *cube;
  float *parts[4], *scratch; // see four_powers; a float per beat
  double hidden_db;
} heard_level;

static double level_of(const void *what, const size_t *pick) {
  const heard_level *h = what;
  double q[4];
  for (int k = 0; k < 4; k++) {
    size_t n = 0;
    for (size_t i = 0; i < h->cube->n_beats; i++) {
      const float v = h->parts[k][pick ? pick[i] : i];
      if (!isnan(v)) h->scratch[n++] = v;
    }
    q[k] = (double)gn_quantile_f(h->scratch, n, 0.5f);
  }
  return q[0] > q[1] && q[2] > q[3] ? gn_db((q[0] - q[1]) / (q[2] - q[3])) + h->hidden_db : (double)NAN;
}

// Power per beat over some cells, in 25 to 700 Hz; where the murmur has none of the heart sounds' own band, without what lies
// there: an S3 or S4 within its span is not the murmur.
static void power_over(const gn_murmur_cube *cube, bool low_too, const bool *cells, float *values) {
  for (size_t b = 0; b < cube->n_beats; b++) {
    double sum = 0;
    size_t kept = 0, wanted = 0;
    for (size_t c = 0; c < cube->n_cells; c++) {
      if (!cells[c]) continue;
      const float all = gn_murmur_cell(cube, GN_MURMUR_BROAD, c)[b], low = gn_murmur_cell(cube, GN_MURMUR_LOW, c)[b];
      wanted++;
      if (isnan(all)) continue;
      sum += (double)all - (low_too ? 0 : (double)low);
      kept++;
    }
    values[b] = kept && 2 * kept >= wanted ? (float)(sum / (double)kept) : NAN;
  }
}

// The quieter half of the cells that neither a heart sound nor the murmur covers; where hardly any are left, the quietest of all.
static void background_cells(gn_murmur_test *t, const gn_murmur_profile *p, bool *cells) {
  const gn_murmur_cube *cube = t->cube;
  const float *contour = cube->contour + GN_MURMUR_BROAD * cube->n_cells;
  const double n_phase = (double)p->n;
  const size_t from = p->first + (size_t)(p->start * n_phase), to = p->first + (size_t)(p->end * n_phase + 0.5);
  size_t n = 0;
  for (size_t c = 0; c < cube->n_cells; c++) {
    const bool quiet = (c >= cube->s1_end && c < cube->s2_start) || (c >= cube->s2_end && c < cube->s1_start);
    cells[c] = quiet && (c < from || c >= to) && !isnan(contour[c]);
    if (cells[c]) t->quiet[n++] = (double)contour[c];
  }
  const bool few = n < BACKGROUND_LEAST;
  for (size_t c = 0; few && c < cube->n_cells; c++) {
    cells[c] = !isnan(contour[c]);
    if (cells[c]) t->quiet[n++] = (double)contour[c];
  }
  const double most = gn_quantile(t->quiet, n, few ? BACKGROUND_FEW : BACKGROUND_SHARE);
  for (size_t c = 0; c < cube->n_cells; c++) cells[c] = cells[c] && (double)contour[c] <= most;
}

// Of enough beats, those with the louder background are left out, where all of them together show no level.
static void leave_out_loud(const gn_murmur_cube *cube, float *const parts[4], float *scratch) {
  if (cube->n_beats < CLEAN_OF) return;
  const double most = gn_murmur_quantile(parts[1], cube->n_beats, CLEAN_SHARE, scratch);
  for (size_t b = 0; b < cube->n_beats; b++)
    if ((double)parts[1][b] > most) parts[0][b] = parts[1][b] = NAN;
}

// Power per beat over what is heard of the murmur, over the background, over S1, and over the background in S1's band.
static void four_powers(gn_murmur_test *t, const gn_murmur_evidence *e, const gn_murmur_profile *p, bool *cells, float *const parts[4]) {
  const gn_murmur_cube *cube = t->cube;
  const bool low_too = e->row == 0 || (e->rows & 1);
  for (size_t c = 0; c < cube->n_cells; c++) cells[c] = c >= p->heard[0] && c < p->heard[1];
  power_over(cube, low_too, cells, parts[0]);
  background_cells(t, p, cells);
  power_over(cube, low_too, cells, parts[1]);
  power_over(cube, true, cells, parts[3]);
  size_t s1_n = (size_t)(cube->sound_s[0] / GN_MURMUR_CELL_S + 0.5);
  if (s1_n < 4) s1_n = 4;
  gn_murmur_window(cube, GN_MURMUR_BROAD, 0, s1_n < cube->n_systole ? s1_n : cube->n_systole, parts[2]);
}

void gn_murmur_level_interval(size_t n_beats, uint64_t seed, gn_murmur_level *level, const void *what, double interval_db[2]) {
  enum { N_DRAWN = 200 };
  double drawn_db[N_DRAWN];
  size_t pick[GN_MURMUR_MOST_BEATS], kept = 0;
  gn_random random = gn_random_of(seed);
  for (size_t k = 0; k < N_DRAWN; k++) {
    for (size_t i = 0; i < n_beats; i++) pick[i] = (size_t)gn_random_below(&random, n_beats);
    const double level_db = level(what, pick);
    if (!isnan(level_db)) drawn_db[kept++] = level_db;
  }
  interval_db[0] = gn_quantile(drawn_db, kept, 0.025);
  interval_db[1] = gn_quantile(drawn_db, kept, 0.975);
}

static int levels(gn_murmur_test *t, const gn_murmur_locked *locked, const gn_murmur_evidence *e, const gn_murmur_profile *p, girthline_murmur_phase *out) {
  const gn_murmur_cube *cube = t->cube;
  const size_t n = cube->n_beats;
  float *room = gn_new(5 * n, sizeof *room);
  bool *cells = gn_new(cube->n_cells, sizeof *cells);
  int refused = room && cells ? 0 : -1;
  if (!refused) {
    const heard_level heard = {cube, {room, room + n, room + 2 * n, room + 3 * n}, room + 4 * n, p->hidden_db};
    four_powers(t, e, p, cells, heard.parts);
    out->level_db = level_of(&heard, NULL);
    if (isnan(out->level_db)) {
      leave_out_loud(cube, heard.parts, t->scratch);
      out->level_db = level_of(&heard, NULL);
    }
    gn_murmur_level_interval(n, 29, level_of, &heard, out->level_db_interval);
    if (!(out->level_db_interval[1] - out->level_db_interval[0] <= UNSURE_DB))
      refused = gn_murmur_locked_level(e->far ? locked->far : locked, p->heard, e->row == 0 || (e->rows & 1), p->hidden_db, out);
  }
  gn_free(room);
  gn_free(cells);
  return refused;
}

static double confidence_of(const gn_murmur_evidence *e, size_t n_beats) {
  // Half at the edge of the test, towards one with repetition and with excess; few beats cannot carry more than 0.8.
  const double evidence = e->z > 0 ? e->z / 3.5 : 0, excess = e->x_db / 12;
  const double c = 1 - 0.5 * gn_exp(-0.6 * (evidence + excess));
  const double most = 1 - 0.6 / (double)(n_beats > 0 ? n_beats : 1);
  return c < most ? c : most;
}

void gn_murmur_search_range(unsigned rows, double search_hz[2]) {
  search_hz[0] = HUGE_VAL;
  search_hz[1] = 0;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    if (!(rows >> row & 1)) continue;
    if (gn_murmur_band_hz[row][0] < search_hz[0]) search_hz[0] = gn_murmur_band_hz[row][0];
    if (gn_murmur_band_hz[row][1] > search_hz[1]) search_hz[1] = gn_murmur_band_hz[row][1];
  }
  search_hz[0] /= SEARCH_MARGIN;
  search_hz[1] *= SEARCH_MARGIN;
}

int gn_murmur_describe(gn_murmur_test *t, const gn_murmur_locked *locked, const gn_murmur_evidence *e, const gn_murmur_beat *beats, girthline_murmur_phase *out) {
  const gn_murmur_cube *cube = t->cube;
  gn_murmur_profile p;
  *out = (girthline_murmur_phase){.phase = e->phase ? GIRTHLINE_DIASTOLE : GIRTHLINE_SYSTOLE, .musical = GIRTHLINE_UNKNOWN,
                                  .ends_before_s2 = GIRTHLINE_UNKNOWN, .peak_hz = NAN, .band_hz = {NAN, NAN}};
  int refused = gn_murmur_profile_init(t, e, &p);
  if (!refused) {
    double search_hz[2];
    gn_murmur_search_range((e->rows & ~1u) | 1u << e->row, search_hz);
    out->timing = p.timing;
    out->shape = p.shape;
    out->beats_fraction = e->share;
    out->confidence = confidence_of(e, cube->n_beats);
    out->start_fraction = (double)(p.span[0] - p.first) / (double)p.n;
    out->end_fraction = (double)(p.span[1] - p.first) / (double)p.n;
    const double visible_to = (double)cube->s2_start / (double)p.n - 0.03;
    if (!e->phase) out->ends_before_s2 = out->end_fraction < 1 - ENDS_BEFORE_SHARE && out->end_fraction < visible_to ? GIRTHLINE_YES : GIRTHLINE_NO;
    refused = levels(t, locked, e, &p, out) || gn_murmur_pitch(cube, beats, t->fs_hz, p.core, search_hz, out);
    out->loudness = gn_result_loudness(out->level_db);
  }
  gn_murmur_profile_clear(&p);
  return refused;
}
