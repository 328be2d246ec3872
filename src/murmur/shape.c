// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "base/wide.h"

static const double PROFILE_QUANTILE = 0.40;     // over beats: under the middle, because noise comes and goes
static const double PROFILE_REF_QUANTILE = 0.20; // over cells: the quiet level of the same measure
static const double CLEAR_OF_SOUNDS = 10; // outside the quiet part a cell counts where it stands this far (power) over the heart sounds
static const double CLEAR_LENGTHS = 0.7; // nor before this share of the sound's usual length: its onset holds high tones of its own
static const double TAIL_FALL = 4;       // power, against the least between there and the quiet part
static const size_t CLEAR_CELLS = 3;     // nor this near to the next sound
static const size_t CORE_LEAST = 4;       // cells
static const double HIDDEN_MOST_DB = 9;   // more than this is not to be had from a fitted shape
enum { GRID = 32 };                       // places within the phase at which a shape may begin and end
static const int NARROWEST = 4;           // grid steps
enum { SMEARS = 2 };                      // the envelopes' own smoothing and this file's
enum { HALF = 2 };                        // cells to either side that are averaged: 25 ms in all
static const double RUNS_ON = 0.997;      // share of the best fit
static const double EDGE_AMPLITUDE = 0.3; // of the peak: where a murmur begins and ends
static const double CORE_AMPLITUDE = 0.5; // of the peak: the part its pitch is read from
// Where names change, in shares of what the phase's first sound leaves of it; choices made with the trade's words in mind: early ends
// by the middle, late begins in the second half, holo fills the phase. A decrescendo's soft end hides in noise.
static const double HOLO_WIDTH = 0.70, SYSTOLE_DECRESCENDO_END = 0.76, DIASTOLE_DECRESCENDO_END = 0.62, CRESCENDO_START = 0.23;
static const double EARLY_MIDDLE = 0.37, LATE_MIDDLE = 0.62;
static const double SOUND_SHARE = 0.6, COVERED_MOST = 0.4; // of the sound's length, covers a murmur's beginning; of the phase, at most
static const double BOW_SHARE = 0.2; // a bowed side is as soft (30 % of the peak) this share of the width before a straight one is

// Amplitude of the four shapes at u in 0..1 of their extent, straight or bowed: a murmur falls faster at first and slower then, its
// crest is round.
static double shape_at(int shape, bool bowed, double u) {
  switch (shape) {
    case GIRTHLINE_CRESCENDO: return bowed ? u * sqrt(u) : u;
    case GIRTHLINE_DECRESCENDO: return bowed ? (1 - u) * sqrt(1 - u) : 1 - u;
    case GIRTHLINE_CRESCENDO_DECRESCENDO: return bowed ? 4 * u * (1 - u) : 1 - fabs(2 * u - 1);
    default: return 1;
  }
}

// Excess of one band over its quiet level, and what the heart sounds may have of it.
static void add_row(gn_murmur_test *t, size_t row, gn_murmur_profile *p, double *heart) {
  const gn_murmur_cube *cube = t->cube;
  const float *low = cube->contour + GN_MURMUR_LOW * cube->n_cells;
  double *all = t->quiet;
  size_t n = 0;
  for (size_t c = 0; c < cube->n_cells; c++) {
    const double v = gn_murmur_quantile(gn_murmur_cell(cube, row, c), cube->n_beats, PROFILE_QUANTILE, t->scratch);
    t->values[c] = (float)v;
    if (!isnan(v)) all[n++] = v;
  }
  const double quiet = gn_quantile(all, n, PROFILE_REF_QUANTILE);
  for (size_t i = 0; i < p->n; i++) {
    const double v = (double)t->values[p->first + i], over = (double)low[p->first + i] - cube->floor_power[GN_MURMUR_LOW];
    if (!isnan(v)) p->power[i] += v - quiet;
    for (int k = 0; k < 2 && over > 0; k++) {
      const double ratio = cube->sound_power[row][k] / (cube->sound_power[GN_MURMUR_LOW][k] > 0 ? cube->sound_power[GN_MURMUR_LOW][k] : HUGE_VAL);
      if (k == 0 || ratio * over > heart[i]) heart[i] = ratio * over;
    }
  }
}

static double mean_around(const double *x, size_t n, size_t i) {
  double sum = 0, weight = 0;
  for (size_t at = i > HALF ? i - HALF : 0; at <= i + HALF && at < n; at++) {
    sum += x[at];
    weight += 1;
  }
  return sum / weight;
}

GN_WIDE static void smooth(double *restrict x, size_t n, double *restrict copy) {
  memcpy(copy, x, n * sizeof *x);
  for (size_t i = HALF; i + HALF < n; i++) {
    double sum = 0;
    for (size_t k = 0; k <= 2 * HALF; k++) sum += copy[i - HALF + k];
    x[i] = sum / (2 * HALF + 1);
  }
  for (size_t i = 0; i < n; i++)
    if (i < HALF || i + HALF >= n) x[i] = mean_around(copy, n, i);
}

// Amplitude of a shape between two places, its power smeared over cells as the envelopes' is, into out.
static void draw(const gn_murmur_profile *p, int shape, bool bowed, const double ends[2], double *out, double *room) {
  for (size_t i = 0; i < p->n; i++) {
    const double u = (((double)i + 0.5) / (double)p->n - ends[0]) / (ends[1] - ends[0]), y = u < 0 || u > 1 ? 0 : shape_at(shape, bowed, u);
    out[i] = y * y;
  }
  for (int pass = 0; pass < SMEARS; pass++) smooth(out, p->n, room);
  for (size_t i = 0; i < p->n; i++) out[i] = sqrt(out[i]);
}

// Least squares; the part of the amplitude's energy the shape explains where it is seen.
static double explained(const gn_murmur_profile *p, const double *amplitude, const double *shape) {
  double xy = 0, xx = 0;
  for (size_t i = 0; i < p->n; i++) {
    if (!p->seen[i]) continue;
    xy += shape[i] * amplitude[i];
    xx += shape[i] * shape[i];
  }
  return xx > 0 && xy > 0 ? xy * xy / xx : 0;
}

// Of shapes that tell alike, one that runs on into the next sound is taken: a crescendo's end is hidden by it.
static bool is_better(const gn_murmur_profile *p, int shape, bool bowed, double got, double best) {
  if (shape == GIRTHLINE_CRESCENDO && p->shape == GIRTHLINE_CRESCENDO && bowed == p->bowed) return got > RUNS_ON * best;
  return got > best;
}

static void fit(gn_murmur_profile *p, double *room) {
  double *amplitude = room, *drawn = room + p->n, *copy = room + 2 * p->n;
  for (size_t i = 0; i < p->n; i++) amplitude[i] = p->power[i] > 0 ? sqrt(p->power[i]) : -sqrt(-p->power[i]);
  double best = -1;
  for (int which = 0; which < 7; which++)
    for (int a = 0; a + NARROWEST <= GRID; a++)
      for (int b = a + NARROWEST; b <= GRID; b++) {
        const int shape = GIRTHLINE_PLATEAU + (which + 1) / 2;
        const double ends[2] = {(double)a / GRID, (double)b / GRID};
        draw(p, shape, which > 0 && which % 2 == 0, ends, drawn, copy);
        const double got = explained(p, amplitude, drawn);
        if (!is_better(p, shape, which > 0 && which % 2 == 0, got, best)) continue;
        if (got > best) best = got;
        p->shape = (girthline_shape)shape;
        p->bowed = which > 0 && which % 2 == 0;
        p->start = ends[0];
        p->end = ends[1];
      }
}

// The cells where the shape stands above a share of its peak.
static void cells_above(const gn_murmur_profile *p, double share, size_t cells[2]) {
  cells[0] = p->first + p->n;
  cells[1] = p->first;
  for (size_t i = 0; i < p->n; i++) {
    const double u = (((double)i + 0.5) / (double)p->n - p->start) / (p->end - p->start);
    if (u < 0 || u > 1 || shape_at((int)p->shape, p->bowed, u) < share) continue;
    if (p->first + i < cells[0]) cells[0] = p->first + i;
    cells[1] = p->first + i + 1;
  }
}

static double shape_power(const gn_murmur_profile *p, const size_t cells[2]) {
  double sum = 0;
  for (size_t c = cells[0]; c < cells[1]; c++) {
    const double u = (((double)(c - p->first) + 0.5) / (double)p->n - p->start) / (p->end - p->start), y = u < 0 || u > 1 ? 0 : shape_at((int)p->shape, p->bowed, u);
    sum += y * y;
  }
  return cells[1] > cells[0] ? sum / (double)(cells[1] - cells[0]) : 0;
}

// Of the cells above a share of the peak, those in the quiet part, where the murmur is alone; the window that found it where
// there are none.
static void alone(const gn_murmur_profile *p, const gn_murmur_evidence *e, const size_t quiet[2], double share, size_t cells[2]) {
  cells_above(p, share, cells);
  if (cells[0] < quiet[0]) cells[0] = quiet[0];
  if (cells[1] > quiet[1]) cells[1] = quiet[1];
  if (cells[1] >= cells[0] + CORE_LEAST) return;
  cells[0] = e->a;
  cells[1] = e->a + e->n;
}

static bool one_sided(const gn_murmur_profile *p) {
  return p->bowed && (p->shape == GIRTHLINE_CRESCENDO || p->shape == GIRTHLINE_DECRESCENDO);
}

// The fitted shape tells how the power over the whole span compares with that over the part that is heard alone.
static void parts(gn_murmur_profile *p, const gn_murmur_evidence *e, const size_t quiet[2]) {
  size_t whole[2];
  alone(p, e, quiet, CORE_AMPLITUDE, p->core);
  alone(p, e, quiet, 0, p->heard);
  cells_above(p, 0, whole);
  if (p->timing == GIRTHLINE_HOLO && p->shape == GIRTHLINE_DECRESCENDO) whole[1] = p->first + p->n; // its soft end lies in the noise
  const double here = shape_power(p, p->heard);
  p->hidden_db = here > 0 ? gn_db(shape_power(p, whole) / here) : 0;
  if (one_sided(p)) p->hidden_db -= gn_db(1 - BOW_SHARE); // over the span of the straight shape that sounds as wide
  p->hidden_db = fmax(-HIDDEN_MOST_DB, fmin(p->hidden_db, HIDDEN_MOST_DB));
}

// Where a straight shape as wide as this one sounds would begin and end, in shares of the phase from the end of its first sound on.
static void sounding(const gn_murmur_profile *p, double covered, double ends[2]) {
  const double width = p->end - p->start;
  ends[0] = p->start + (p->bowed && p->shape == GIRTHLINE_CRESCENDO ? BOW_SHARE * width : 0);
  ends[1] = p->end - (p->bowed && p->shape == GIRTHLINE_DECRESCENDO ? BOW_SHARE * width : 0);
  for (int k = 0; k < 2; k++) ends[k] = ends[k] > covered ? (ends[k] - covered) / (1 - covered) : 0;
}

static girthline_timing name_timing(const gn_murmur_profile *p, int phase, double covered) {
  double ends[2];
  sounding(p, covered, ends);
  const double middle = (ends[0] + ends[1]) / 2, width = ends[1] - ends[0];
  switch (p->shape) {
    case GIRTHLINE_DECRESCENDO:
      if (ends[0] < EARLY_MIDDLE) return ends[1] > (phase ? DIASTOLE_DECRESCENDO_END : SYSTOLE_DECRESCENDO_END) ? GIRTHLINE_HOLO : GIRTHLINE_EARLY;
      break;
    case GIRTHLINE_CRESCENDO:
      if (ends[1] > LATE_MIDDLE) return ends[0] < CRESCENDO_START ? GIRTHLINE_HOLO : GIRTHLINE_LATE;
      break;
    case GIRTHLINE_PLATEAU:
      if (width > HOLO_WIDTH) return GIRTHLINE_HOLO;
      break;
    case GIRTHLINE_CRESCENDO_DECRESCENDO: break;
  }
  return middle < EARLY_MIDDLE ? GIRTHLINE_EARLY : middle > LATE_MIDDLE ? GIRTHLINE_LATE : GIRTHLINE_MID;
}

// Before the quiet part, what falls away this fast is the sound's own tail.
static void leave_out_tail(gn_murmur_profile *p, size_t quiet) {
  if (quiet >= p->n) return;
  double least = p->power[quiet];
  for (size_t i = quiet; i-- > 0;) {
    if (p->power[i] > TAIL_FALL * (least > 0 ? least : 0)) p->seen[i] = false;
    else if (p->power[i] < least) least = p->power[i];
  }
}

int gn_murmur_profile_init(gn_murmur_test *t, const gn_murmur_evidence *e, gn_murmur_profile *p) {
  const gn_murmur_cube *cube = t->cube;
  *p = (gn_murmur_profile){.first = e->phase ? cube->n_systole : 0};
  p->n = e->phase ? cube->n_cells - cube->n_systole : cube->n_systole;
  p->power = gn_new(p->n, sizeof *p->power);
  p->seen = gn_new(p->n, sizeof *p->seen);
  double *room = gn_new(3 * p->n, sizeof *room);
  const int refused = !p->power || !p->seen || !room;
  if (!refused) {
    for (size_t row = 0; row < GN_MURMUR_BANDS; row++)
      if (row == e->row || (row > 0 && e->rows >> row & 1)) add_row(t, row, p, room);
    smooth(p->power, p->n, room + p->n);
    const size_t quiet[2] = {e->phase ? cube->s2_end : cube->s1_end, e->phase ? cube->s1_start : cube->s2_start};
    const size_t after = p->first + (size_t)(CLEAR_LENGTHS * cube->sound_s[e->phase] / GN_MURMUR_CELL_S), before = p->first + p->n - CLEAR_CELLS;
    for (size_t i = 0; i < p->n; i++) {
      const size_t c = p->first + i;
      p->seen[i] = (c >= quiet[0] && c < quiet[1]) || (c >= after && c < before && p->power[i] > CLEAR_OF_SOUNDS * room[i]);
    }
    for (size_t i = e->a; i < e->a + e->n; i++) p->seen[i - p->first] = true;
    leave_out_tail(p, quiet[0] - p->first);
    fit(p, room);
    cells_above(p, EDGE_AMPLITUDE, p->span);
    const double covered = SOUND_SHARE * cube->sound_s[e->phase] / GN_MURMUR_CELL_S / (double)p->n;
    p->timing = name_timing(p, e->phase, covered < COVERED_MOST ? covered : COVERED_MOST);
    parts(p, e, quiet);
  }
  gn_free(room);
  return refused ? -1 : 0;
}

void gn_murmur_profile_clear(gn_murmur_profile *p) {
  gn_free(p->power);
  gn_free(p->seen);
  *p = (gn_murmur_profile){0};
}
