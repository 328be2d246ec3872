// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"

static const double PROFILE_QUANTILE = 0.40;   // over beats: under the middle, because noise comes and goes
static const double PROFILE_REF_QUANTILE = 0.20; // over cells: the quiet level of the same measure
static const double EDGE_POWER = 0.09;         // 30 % of the peak's amplitude: where a murmur begins and ends
static const double SMOOTH_S = 0.025;
static const double GAP_S = 0.030;             // a dip this short does not end a murmur
static const double LOUD_DB = 6;               // the contract's words: softer, as loud, louder
static const size_t N_BOOTSTRAP = 200;
static const double HOLO_SHARE = 0.72, EARLY_END = 0.62, LATE_START = 0.38; // of the quiet part; choices
static const double ENDS_BEFORE_SHARE = 0.10;  // of systole left free before S2

typedef struct profile {
  size_t from, to;      // the phase's quiet part, cells
  double *power;        // [to - from] excess
  size_t span[2];       // cells of the murmur
  double centroid;      // share of the quiet part
} profile;

static void add_row(gn_murmur_test *t, size_t row, profile *p, double weight) {
  const gn_murmur_cube *cube = t->cube;
  float *q = t->values;
  double *all = t->quiet;
  size_t n = 0;
  for (size_t c = 0; c < cube->n_cells; c++) {
    const double v = gn_murmur_quantile(gn_murmur_cell(cube, row, c), cube->n_beats, PROFILE_QUANTILE, t->scratch);
    q[c] = (float)v;
    if (!isnan(v)) all[n++] = v;
  }
  const double quiet = gn_quantile(all, n, PROFILE_REF_QUANTILE);
  for (size_t c = p->from; c < p->to; c++)
    if (!isnan(q[c])) p->power[c - p->from] += weight * ((double)q[c] - quiet);
}

static void smooth(double *x, size_t n, double *copy) {
  const long half = (long)(SMOOTH_S / GN_MURMUR_CELL_S / 2);
  for (size_t i = 0; i < n; i++) copy[i] = x[i];
  for (long i = 0; i < (long)n; i++) {
    double sum = 0, weight = 0;
    for (long k = -half; k <= half; k++)
      if (i + k >= 0 && i + k < (long)n) {
        sum += copy[i + k];
        weight += 1;
      }
    x[i] = sum / weight > 0 ? sum / weight : 0;
  }
}

static void find_span(profile *p) {
  const size_t n = p->to - p->from;
  size_t peak = 0;
  for (size_t i = 0; i < n; i++)
    if (p->power[i] > p->power[peak]) peak = i;
  const double least = EDGE_POWER * p->power[peak];
  const size_t gap_n = (size_t)(GAP_S / GN_MURMUR_CELL_S);
  size_t a = peak, b = peak;
  for (size_t i = peak; i-- > 0 && a - i <= gap_n + 1;)
    if (p->power[i] > least) a = i;
  for (size_t i = peak + 1; i < n && i - b <= gap_n + 1; i++)
    if (p->power[i] > least) b = i;
  p->span[0] = p->from + a;
  p->span[1] = p->from + b + 1;
  double sum = 0, moment = 0;
  for (size_t i = a; i <= b; i++) {
    sum += p->power[i];
    moment += p->power[i] * ((double)i + 0.5);
  }
  p->centroid = sum > 0 ? moment / sum / (double)n : 0.5;
}

static int profile_of(gn_murmur_test *t, const gn_murmur_evidence *e, profile *p) {
  const gn_murmur_cube *cube = t->cube;
  p->from = e->phase ? cube->s2_end : cube->s1_end;
  p->to = e->phase ? cube->s1_start : cube->s2_start;
  p->power = gn_new(2 * (p->to - p->from), sizeof *p->power);
  if (!p->power) return -1;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++)
    if (row == e->row || (e->rows >> row & 1 && row > 0)) add_row(t, row, p, 1);
  smooth(p->power, p->to - p->from, p->power + (p->to - p->from));
  find_span(p);
  return 0;
}

static girthline_timing timing_of(const profile *p) {
  const double n = (double)(p->to - p->from);
  const double start = (double)(p->span[0] - p->from) / n, end = (double)(p->span[1] - p->from) / n;
  if (end - start > HOLO_SHARE) return GIRTHLINE_HOLO;
  if (end < EARLY_END && start < 1 - end) return GIRTHLINE_EARLY;
  if (start > LATE_START && 1 - end < start) return GIRTHLINE_LATE;
  return p->centroid < 0.38 ? GIRTHLINE_EARLY : p->centroid > 0.65 ? GIRTHLINE_LATE : GIRTHLINE_MID;
}

// Amplitude of the four shapes at u in 0..1 of the span; the edges stand at 30 %.
static double template_at(int shape, double u) {
  switch (shape) {
    case GIRTHLINE_CRESCENDO: return 0.3 + 0.7 * u;
    case GIRTHLINE_DECRESCENDO: return 1 - 0.7 * u;
    case GIRTHLINE_CRESCENDO_DECRESCENDO: return 0.3 + 0.7 * (1 - fabs(2 * u - 1));
    default: return 1;
  }
}

static girthline_shape shape_of(const profile *p) {
  double best = INFINITY;
  int which = GIRTHLINE_PLATEAU;
  const size_t n = p->span[1] - p->span[0];
  const double *power = p->power + (p->span[0] - p->from);
  for (int shape = GIRTHLINE_PLATEAU; shape <= GIRTHLINE_CRESCENDO_DECRESCENDO; shape++) {
    double xy = 0, xx = 0, yy = 0;
    for (size_t i = 0; i < n; i++) {
      const double x = template_at(shape, ((double)i + 0.5) / (double)n), y = sqrt(power[i]);
      xy += x * y, xx += x * x, yy += y * y;
    }
    const double rest = yy - xy * xy / xx;
    if (rest < best) best = rest, which = shape;
  }
  return (girthline_shape)which;
}

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

int gn_murmur_describe(gn_murmur_test *t, const gn_murmur_evidence *e, const gn_murmur_beat *beats, double fs_hz, girthline_murmur_phase *out) {
  const gn_murmur_cube *cube = t->cube;
  profile p = {0};
  if (profile_of(t, e, &p)) return -1;
  *out = (girthline_murmur_phase){.phase = e->phase ? GIRTHLINE_DIASTOLE : GIRTHLINE_SYSTOLE, .musical = GIRTHLINE_UNKNOWN,
                                  .ends_before_s2 = GIRTHLINE_UNKNOWN, .peak_hz = NAN, .band_hz = {NAN, NAN}};
  out->timing = timing_of(&p);
  out->shape = shape_of(&p);
  out->beats_fraction = e->share;
  out->confidence = confidence_of(e, cube->n_beats);
  const double from = e->phase ? (double)cube->n_systole : 0;
  const double length = e->phase ? (double)(cube->n_cells - cube->n_systole) : (double)cube->n_systole;
  out->start_fraction = ((double)p.span[0] - from) / length;
  out->end_fraction = ((double)p.span[1] - from) / length;
  if (!e->phase) out->ends_before_s2 = out->end_fraction < 1 - ENDS_BEFORE_SHARE && p.span[1] < p.to ? GIRTHLINE_YES : GIRTHLINE_NO;
  int refused = levels(t, p.span, beats[0].s1_length_s, out);
  out->loudness = out->level_db < -LOUD_DB ? GIRTHLINE_SOFTER : out->level_db > LOUD_DB ? GIRTHLINE_LOUDER : GIRTHLINE_AS_LOUD;
  if (!refused) refused = gn_murmur_pitch(cube, beats, fs_hz, p.span, out);
  gn_free(p.power);
  return refused;
}
