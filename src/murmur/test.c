// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>
#include <string.h>

#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/relay.h"
#include "base/statistics.h"

// The numbers of this file are choices, made on simulated recordings with beat times good to 10 ms and checked on human
// ones; what each is for stands beside it.
static const double LOW_QUANTILE = 0.18;  // over beats: noise that comes and goes is left out, a murmur stays
static const double REF_QUANTILE = 0.08;  // over windows: the quiet level
static const double REF_LONGER = 2;       // a long window's low quantile over the shortest's, in noise, is less than this
static const double QUIET_SHARE = 0.25;   // the quietest windows, which stand for "outside"
static const double OUTSIDE_QUANTILE = 0.5; // of the quiet windows, in each beat
// From enough repetition on it alone will do; below it the sure excess (its 5 % bound over the beats) must make up for it. These
// and the other limits of the decision are settings (limits_murmur.h).
// Where breaths come and go the shares tell little; then each beat is held against its own quiet: so many standard errors. What
// only that carries, and all that repetition does not make sure of, must beat the best of beats out of step by so many deviations.
static const double PAIRED_LEAST = 3;
static const double SEVERAL_DEVIATIONS = 2.5, TOGETHER_DEVIATIONS = 5.5, ONE_OF_SEVERAL = 0.8; // the best of several bands, their sum, each
static const double PAIRED_MOST = 2.5; // logarithm: one beat counts so much
static const double USUAL_QUANTILE = 0.3; // over windows
static const double SURE_SCORE = 1000;
// Over what the tails of the heart sounds leave in the band, the second before the sound that begins the phase is seen to end.
static const double OVER_WITHIN_DB = 8;
static const double FLOOR_MARGIN = 1.3;   // the low band's own fluctuation over its floor
// A heart sound lasts this many usual lengths, has then fallen by the drop, and goes on falling.
static const double TAIL_LENGTHS = 1.3, TAIL_DROP_DB = 20, TAIL_DB_S = 150, OVER_TAIL_DB = 6;
// A low murmur: excess, level, and how long it must hold out; an S3 lasts to 140 ms.
static const double LASTING_X_DB = 13, LASTING_LEVEL_DB = -30, LASTING_CELL_DB = 8, LASTING_HOLES = 0.15, LASTING_FALL_DB_S = 75;
static const double LASTING_DIASTOLE_S = 0.180, LASTING_LOWEST_S = 0.250 /* in the S3's own band, after S2's usual end */, LASTING_SHARE = 0.45, LASTING_SYSTOLE_SHARE = 0.18;
static const double INTO_S1_S = 0.050, INTO_S1_DB = -15; // a murmur that runs into S1: so long, so near to S1's own peak
static const double EXTRA_MOST_S = 0.120; // an S3 or S4 is shorter than this in its own band
static const double EDGE_RATIO = 20;      // second half over first half: the next sound has begun
static const size_t STEP = 2;             // cells between windows
static const size_t N_BOOTSTRAP = 60;
enum { HIDDEN_ROW = 1 }; // from 90 Hz on: what lies lower is as much the sounds' as the murmur's
enum { LEAST_CELLS = 4, LASTING_CELLS = 8 };

// What windows are judged in.
static int take_room(gn_murmur_test *t) {
  const size_t n = t->cube->n_beats > t->cube->n_cells ? t->cube->n_beats : t->cube->n_cells;
  t->values = gn_new(n, sizeof *t->values);
  t->scratch = gn_new(n, sizeof *t->scratch);
  t->part = gn_new(n, sizeof *t->part);
  t->quiet = gn_new(2 * n, sizeof *t->quiet);
  t->sorted = gn_new(n, sizeof *t->sorted);
  t->errors = gn_new(n, sizeof *t->errors);
  t->weights = gn_new(n, sizeof *t->weights);
  return t->values && t->scratch && t->part && t->quiet && t->sorted && t->errors && t->weights ? 0 : -1;
}

int gn_murmur_test_init(gn_murmur_test *t, const gn_murmur_cube *cube) {
  *t = (gn_murmur_test){.cube = cube};
  const double interval_s = cube->interval_s;
  const double lengths_s[GN_MURMUR_LENGTHS] = {interval_s < 0.45 ? 0.030 : 0.060, 0.14 * interval_s,
                                               0.2 * interval_s > 0.180 ? 0.2 * interval_s : 0.180};
  for (size_t l = 0; l < GN_MURMUR_LENGTHS; l++) {
    t->length_n[l] = (size_t)(lengths_s[l] / GN_MURMUR_CELL_S + 0.5);
    if (t->length_n[l] < LEAST_CELLS) t->length_n[l] = LEAST_CELLS;
    if (t->length_n[l] > cube->n_cells / 3) t->length_n[l] = cube->n_cells / 3;
  }
  t->ref_power = gn_new(GN_MURMUR_BANDS * GN_MURMUR_LENGTHS, sizeof *t->ref_power);
  t->outside = gn_new(GN_MURMUR_BANDS * GN_MURMUR_LENGTHS * cube->n_beats, sizeof *t->outside);
  t->many = gn_new((cube->n_cells / STEP + 1) * cube->n_beats, sizeof *t->many);
  t->usual = gn_new(GN_MURMUR_BANDS * GN_MURMUR_LENGTHS, sizeof *t->usual);
  if (!take_room(t) && t->ref_power && t->outside && t->many && t->usual) return 0;
  gn_murmur_test_clear(t);
  return -1;
}

void gn_murmur_test_clear(gn_murmur_test *t) {
  gn_free(t->ref_power);
  gn_free(t->outside);
  gn_free(t->many);
  gn_free(t->usual);
  gn_murmur_test_beside_clear(t);
}

int gn_murmur_test_beside(const gn_murmur_test *t, gn_murmur_test *own) {
  *own = *t;
  own->many = NULL;
  if (!take_room(own)) return 0;
  gn_murmur_test_beside_clear(own);
  return -1;
}

void gn_murmur_test_beside_clear(gn_murmur_test *own) {
  gn_free(own->values);
  gn_free(own->scratch);
  gn_free(own->part);
  gn_free(own->quiet);
  gn_free(own->sorted);
  gn_free(own->errors);
  gn_free(own->weights);
  *own = (gn_murmur_test){0};
}

// Mean of the logarithm of the power over the beat's own quiet, and its standard error. false: too few beats.
static bool paired_mean(gn_murmur_test *t, const float *values, const float *outside, double out[2]) {
  const size_t n = t->cube->n_beats;
  for (size_t b = 0; b < n; b++) t->weights[b] = (double)values[b] > 0 && (double)outside[b] > 0 ? (double)values[b] / (double)outside[b] : (double)NAN;
  gn_log_many(t->weights, n);
  for (size_t b = 0; b < n; b++) {
    const double x = t->weights[b];
    t->part[b] = (float)(x > PAIRED_MOST ? PAIRED_MOST : x < -PAIRED_MOST ? -PAIRED_MOST : x);
  }
  gn_murmur_weigh(outside, n, t->weights, t->errors);
  return gn_murmur_weighted(t->part, t->weights, n, out);
}

static double usual_paired(gn_murmur_test *t, size_t n_windows, const float *outside) {
  size_t kept = 0;
  for (size_t w = 0; w < n_windows; w++) {
    double x[2];
    if (paired_mean(t, t->many + w * t->cube->n_beats, outside, x)) t->quiet[kept++] = x[0];
  }
  return kept ? gn_quantile(t->quiet, kept, USUAL_QUANTILE) : (double)INFINITY;
}

// The quiet level of a band at a window length, and per beat what is usual in the quietest windows. All windows' values are in many then: how many.
static size_t reference(gn_murmur_test *t, size_t row, size_t length) {
  const gn_murmur_cube *cube = t->cube;
  const size_t n = t->length_n[length], n_beats = cube->n_beats;
  size_t n_windows = 0;
  double *q = t->quiet, *sorted = t->quiet + cube->n_cells;
  for (size_t a = 0; a + n <= cube->n_cells; a += STEP, n_windows++) {
    float *const values = t->many + n_windows * n_beats;
    gn_murmur_window(cube, row, a, n, values);
    q[n_windows] = gn_murmur_quantile(values, n_beats, LOW_QUANTILE, t->scratch);
    if (isnan(q[n_windows])) q[n_windows] = INFINITY;
    sorted[n_windows] = q[n_windows];
  }
  float *outside = t->outside + (row * GN_MURMUR_LENGTHS + length) * n_beats;
  double ref = gn_quantile(sorted, n_windows, REF_QUANTILE);
  // Where murmur and sounds fill the cycle no long window is quiet; a short one tells nearly as much.
  const double shortest = t->ref_power[row * GN_MURMUR_LENGTHS];
  const bool filled = length > 0 && ref > REF_LONGER * shortest;
  if (filled) ref = REF_LONGER * shortest;
  t->ref_power[row * GN_MURMUR_LENGTHS + length] = ref;
  if (filled) {
    for (size_t b = 0; b < n_beats; b++) outside[b] = (outside - length * n_beats)[b];
    return n_windows;
  }
  const double most = gn_quantile(sorted, n_windows, QUIET_SHARE);
  for (size_t b = 0; b < n_beats; b++) {
    size_t n_quiet = 0;
    for (size_t w = 0; w < n_windows; w++)
      if (q[w] <= most) t->values[n_quiet++] = t->many[w * n_beats + b];
    outside[b] = (float)gn_murmur_quantile(t->values, n_quiet, OUTSIDE_QUANTILE, t->scratch);
  }
  return n_windows;
}

static double share_above(const float *values, size_t n, double threshold, size_t *n_there) {
  size_t above = 0;
  *n_there = 0;
  for (size_t i = 0; i < n; i++) {
    if (isnan(values[i])) continue;
    *n_there += 1;
    above += (double)values[i] > threshold;
  }
  return *n_there ? (double)above / (double)*n_there : 0;
}

// Two-sample z statistic of shares.
static void repetition(gn_murmur_test *t, const float *values, gn_murmur_evidence *e) {
  const size_t which = e->row * GN_MURMUR_LENGTHS + e->length;
  const float *outside = t->outside + which * t->cube->n_beats;
  double mean[2];
  e->paired = paired_mean(t, values, outside, mean) ? (mean[0] - t->usual[which]) / mean[1] : 0;
  const double threshold = sqrt(e->q_power * e->ref_power);
  size_t n_in, n_out;
  e->share = share_above(values, t->cube->n_beats, threshold, &n_in);
  e->share_out = share_above(outside, t->cube->n_beats, threshold, &n_out);
  if (!n_in || !n_out) return;
  const double a = (double)n_in, b = (double)n_out, p = (e->share * a + e->share_out * b) / (a + b);
  const double variance = p * (1 - p) * (1 / a + 1 / b);
  e->z = variance > 0 ? (e->share - e->share_out) / sqrt(variance) : 0;
}

// Mean of the low band's course over its floor.
static double low_over(const gn_murmur_cube *cube, size_t a, size_t n) {
  const float *low = cube->contour + GN_MURMUR_LOW * cube->n_cells;
  double sum = 0;
  for (size_t c = a; c < a + n; c++) {
    const double over = (double)low[c] - FLOOR_MARGIN * cube->floor_power[GN_MURMUR_LOW];
    if (over > 0) sum += over;
  }
  return sum / (double)n;
}

// What the heart sounds themselves leave in the band: the low band's course in the proportion the sounds have.
static double heart_power(const gn_murmur_cube *cube, const gn_murmur_evidence *e) {
  return gn_murmur_tail_ratio(cube, e->row, e->phase) * low_over(cube, e->a, e->n);
}

static double bootstrap_low_db(gn_murmur_test *t, const float *values, const gn_murmur_evidence *e) {
  const size_t n = t->cube->n_beats;
  gn_random random = gn_random_of(17);
  for (size_t k = 0; k < N_BOOTSTRAP; k++) {
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
      const float v = values[gn_random_below(&random, n)];
      if (!isnan(v)) t->scratch[kept++] = v;
    }
    t->quiet[k] = kept ? gn_db((double)gn_quantile_f(t->scratch, kept, (float)LOW_QUANTILE) / e->ref_power) : 0;
  }
  return gn_quantile(t->quiet, N_BOOTSTRAP, 0.05);
}

static bool repeats(gn_murmur_test *t, const float *values, gn_murmur_evidence *e) {
  size_t n_there;
  share_above(values, t->cube->n_beats, 0, &n_there);
  if (2 * n_there < t->cube->n_beats) return false; // a place that few beats reach shows nothing
  if (n_there <= (size_t)t->limits->few_beats_n) {
    e->low_db = e->x_db;
    const double least_db = e->level_db < t->limits->few_soft_db ? fmax(t->limits->few_excess_db, t->limits->few_soft_excess_db) : t->limits->few_excess_db;
    for (size_t b = 0; b < t->cube->n_beats; b++)
      if (!isnan(values[b]) && (double)values[b] < gn_from_db(least_db) * e->ref_power) return false;
    return n_there >= 2; // what was heard once repeats nothing
  }
  const double least_db = t->limits->db_per_z * (t->limits->z_enough - e->z);
  const bool paired = e->paired > PAIRED_LEAST; // the surrogates have their say yet
  if (least_db <= 0) {
    e->low_db = e->x_db;
    return e->x_db > t->limits->excess_db;
  }
  if (!(e->z > t->limits->z_least && e->x_db > least_db)) return paired;
  e->low_db = bootstrap_low_db(t, values, e);
  if (e->low_db > least_db) return true;
  e->low_db = 0;
  return paired;
}

// The cell by which the sound that begins a phase is usually over.
static size_t usual_end(const gn_murmur_cube *cube, int phase) {
  return (phase ? cube->n_systole : 0) + (size_t)(TAIL_LENGTHS * cube->sound_s[phase] / GN_MURMUR_CELL_S) + 1;
}

// What the sound before the window may still leave of itself there, in the window's band: it lasts, then dies away.
static double tail_power(const gn_murmur_cube *cube, const gn_murmur_evidence *e, size_t cell) {
  const double since_s = ((double)cell + 0.5 - (e->phase ? (double)cube->n_systole : 0)) * GN_MURMUR_CELL_S;
  const double after_s = since_s - TAIL_LENGTHS * cube->sound_s[e->phase];
  if (after_s <= 0) return INFINITY;
  return cube->sound_power[e->row][e->phase] * gn_from_db(-TAIL_DROP_DB - TAIL_DB_S * after_s);
}

static double window_power(gn_murmur_test *t, const gn_murmur_evidence *e, size_t a, size_t n) {
  gn_murmur_window(t->cube, e->row, a, n, t->part);
  return gn_murmur_quantile(t->part, t->cube->n_beats, 0.5, t->scratch);
}

// How long the band's median stays above half (dB) of the excess around the window, not counting what lies before a cell.
static double lasts_s(const gn_murmur_cube *cube, const gn_murmur_evidence *e, size_t not_before) {
  const float *contour = cube->contour + e->row * cube->n_cells;
  const double threshold = sqrt(e->q_power * e->ref_power);
  size_t a = e->a + e->n / 2, b = a;
  while (a > not_before && (double)contour[a - 1] > threshold) a--;
  while (b + 1 < cube->n_cells && (double)contour[b + 1] > threshold) b++;
  return (double)(b - a + 1) * GN_MURMUR_CELL_S;
}

// A murmur as low as the heart sounds is invisible to the comparison with them: instead it must outlast their tails and,
// in diastole, any S3. Nearly every cell of the window must stand out, or two short sounds could pass for a long one.
static bool outlasts(gn_murmur_test *t, const gn_murmur_evidence *e) {
  const gn_murmur_cube *cube = t->cube;
  if (e->x_db < LASTING_X_DB || e->level_db < LASTING_LEVEL_DB) return false;
  double least_s = e->phase ? LASTING_DIASTOLE_S : LASTING_SYSTOLE_SHARE * cube->systole_s;
  if (least_s > LASTING_SHARE * cube->diastole_s && e->phase) least_s = LASTING_SHARE * cube->diastole_s;
  if (e->phase && e->row == 0 && lasts_s(cube, e, usual_end(cube, 1)) < LASTING_LOWEST_S) return false;
  if ((double)e->n * GN_MURMUR_CELL_S < least_s) return false;
  const float *contour = cube->contour + e->row * cube->n_cells;
  size_t low = 0;
  for (size_t c = e->a; c < e->a + e->n; c++)
    low += (double)contour[c] < gn_from_db(LASTING_CELL_DB) * e->ref_power || (double)contour[c] < gn_from_db(OVER_TAIL_DB) * tail_power(cube, e, c);
  if ((double)low > LASTING_HOLES * (double)e->n) return false;
  const size_t half = e->n / 2;
  const double fall_db = gn_db(window_power(t, e, e->a, half) / window_power(t, e, e->a + half, e->n - half));
  return fall_db < LASTING_FALL_DB_S * (double)half * GN_MURMUR_CELL_S;
}

// A low murmur that runs into S1: nothing else is nearly as loud as S1 in the bands above the lowest so long before it.
static bool runs_into_s1(const gn_murmur_cube *cube, const gn_murmur_evidence *e) {
  if (!e->phase || e->row < 1 || e->x_db < LASTING_X_DB || e->a + e->n + STEP < cube->s1_start) return false;
  if ((double)e->n * GN_MURMUR_CELL_S < INTO_S1_S) return false;
  const float *contour = cube->contour + e->row * cube->n_cells;
  size_t low = 0;
  for (size_t c = e->a; c < e->a + e->n; c++) low += (double)contour[c] < gn_from_db(INTO_S1_DB) * cube->sound_power[e->row][0];
  return (double)low <= LASTING_HOLES * (double)e->n;
}

void gn_murmur_judge(gn_murmur_test *t, const float *values, gn_murmur_evidence *e) {
  const gn_murmur_cube *cube = t->cube;
  e->found = e->outlasts = false;
  e->z = e->x_db = e->low_db = e->share = e->paired = e->beats_chance = 0;
  e->q_power = gn_murmur_quantile(values, cube->n_beats, LOW_QUANTILE, t->scratch);
  e->ref_power = t->ref_power[e->row * GN_MURMUR_LENGTHS + e->length];
  if (!(e->q_power > e->ref_power) || !(cube->s1_peak_power > 0)) return;
  if (!(e->ref_power > 0)) e->ref_power = 1e-6 * cube->s1_peak_power; // digital silence
  const double excess = e->q_power - e->ref_power;
  e->x_db = gn_db(e->q_power / e->ref_power);
  e->level_db = gn_db(excess / cube->s1_peak_power);
  const double heart = heart_power(cube, e);
  e->over_sounds_db = heart > 1e-6 * excess ? gn_db(excess / heart) : 60;
  e->score = e->x_db;
  if (e->x_db < t->limits->excess_db || e->level_db < t->limits->level_least_db) return;
  repetition(t, values, e);
  if (!repeats(t, values, e)) return;
  e->score = 100 + e->over_sounds_db; // nearly found: the most convincing one
  const bool within = e->a < (e->phase ? cube->s2_end : cube->s1_end);
  const bool hidden = t->hides_s1 && !e->phase && e->row >= HIDDEN_ROW;
  const bool alike = !hidden && e->over_sounds_db < (within ? OVER_WITHIN_DB : t->limits->over_sounds_db);
  e->outlasts = alike && outlasts(t, e);
  if (alike && !e->outlasts && !runs_into_s1(cube, e)) return;
  e->found = true;
  e->score = e->z >= t->limits->z_sure ? SURE_SCORE + e->x_db : e->paired > 0 ? e->paired : e->x_db;
}

// Energy that lies all in the window's second half, at the end of its phase, is the next sound's beginning, unless it stands over all that
// sound could have there: its own band's course in the proportion it has at its peak.
static bool is_next_sound(gn_murmur_test *t, const gn_murmur_evidence *e) {
  const gn_murmur_cube *cube = t->cube;
  const size_t end = e->phase ? cube->s1_start : cube->s2_start;
  if (e->a + e->n + STEP < end) return false;
  const size_t half = e->n / 2;
  gn_murmur_window(cube, e->row, e->a, half, t->values);
  const double first = gn_murmur_quantile(t->values, cube->n_beats, LOW_QUANTILE, t->scratch) - e->ref_power;
  gn_murmur_window(cube, e->row, e->a + half, e->n - half, t->values);
  const double second = gn_murmur_quantile(t->values, cube->n_beats, LOW_QUANTILE, t->scratch) - e->ref_power;
  const double next = gn_murmur_sound_ratio(cube, e->row, !e->phase) * low_over(cube, e->a + half, e->n - half);
  return second > EDGE_RATIO * (first > 0 ? first : 0) && second < gn_from_db(t->limits->over_sounds_db) * next;
}

static void try_window(gn_murmur_test *t, gn_murmur_evidence *e, gn_murmur_evidence *best) {
  gn_murmur_window(t->cube, e->row, e->a, e->n, t->values);
  gn_murmur_judge(t, t->values, e);
  if (e->found && is_next_sound(t, e)) e->found = false;
  if ((e->found && !best->found) || (e->found == best->found && e->score > best->score)) *best = *e;
}

static void try_phase(gn_murmur_test *t, int phase, size_t row, gn_murmur_evidence *best) {
  const gn_murmur_cube *cube = t->cube;
  // A loud low murmur hides where the sound before it ends: windows from the sound's usual end on are tried too.
  const size_t end = phase ? cube->s2_end : cube->s1_end, to = phase ? cube->s1_start : cube->s2_start;
  const size_t usual = usual_end(cube, phase);
  const size_t from = usual < end ? usual : end;
  if (to < from + LEAST_CELLS) return;
  for (size_t length = 0; length < GN_MURMUR_LENGTHS; length++) {
    const size_t n = t->length_n[length] < to - from ? t->length_n[length] : to - from;
    for (size_t a = from; a + n <= to; a += STEP) {
      gn_murmur_evidence e = {.phase = phase, .row = row, .length = length, .a = a, .n = n};
      try_window(t, &e, best);
    }
    if (usual + LASTING_CELLS <= to && usual + n > to) { // a short systole leaves no room for the whole window after S1
      gn_murmur_evidence e = {.phase = phase, .row = row, .length = length, .a = usual, .n = to - usual};
      try_window(t, &e, best);
    }
  }
}

// Low and short alone: a third sound, or what is left of the second. Not what holds out longer than these with a hole here and there.
static bool is_extra_sound(const gn_murmur_test *t, const gn_murmur_evidence by_row[GN_MURMUR_BANDS], int phase) {
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    const gn_murmur_evidence *e = &by_row[row];
    if (!e->found) continue;
    if (e->outlasts || row >= 2 || (phase == 0 && e->locked_lasts_s <= 0)) return false;
    if ((e->locked_lasts_s > 0 ? e->locked_lasts_s : lasts_s(t->cube, e, t->cube->n_systole)) >= EXTRA_MOST_S) return false;
  }
  return true;
}

// What repetition alone does not settle.
static bool is_unsettled(const gn_murmur_test *t, const gn_murmur_evidence *e) {
  return e->found && e->z < t->limits->z_sure && t->cube->n_beats > (size_t)t->limits->few_beats_n;
}

// It must also beat beats out of step: in one band by far, or in several together.
static void drop_chance(const gn_murmur_test *t, gn_murmur_evidence by_row[GN_MURMUR_BANDS]) {
  double most = 0, together = 0;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    const gn_murmur_evidence *e = &by_row[row];
    if (!is_unsettled(t, e) || e->beats_chance <= 0) continue;
    together += e->beats_chance;
    if (e->beats_chance > most) most = e->beats_chance;
  }
  const bool several = most >= SEVERAL_DEVIATIONS && together >= TOGETHER_DEVIATIONS;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    gn_murmur_evidence *e = &by_row[row];
    if (!is_unsettled(t, e) || e->beyond_chance) continue;
    if (e->beats_chance < (several ? ONE_OF_SEVERAL : t->limits->chance_deviations)) e->found = false;
  }
}

// Where the test in noise can be asked, it must bear out what repetition alone does not settle.
static void drop_unsupported(const gn_murmur_test *t, const gn_murmur_locked *l, gn_murmur_evidence by_row[GN_MURMUR_BANDS]) {
  for (size_t row = 0; row < GN_MURMUR_BANDS && l->usable; row++)
    if (by_row[row].found && by_row[row].z < t->limits->z_sure && !gn_murmur_locked_supports(l, &by_row[row])) by_row[row].found = false;
}

// Bands of both phases, whichever is next.
typedef struct half {
  gn_murmur_test *test;
  _Atomic size_t *next;
  gn_murmur_evidence (*best)[GN_MURMUR_BANDS]; // [phase][band]
  int refused;
} half;

static void try_windows(void *piece) {
  const half *h = piece;
  for (size_t i; (i = (*h->next)++) < 2 * GN_MURMUR_BANDS;) {
    const size_t phase = i / GN_MURMUR_BANDS, row = i % GN_MURMUR_BANDS;
    h->best[phase][row].phase = (int)phase;
    try_phase(h->test, (int)phase, row, &h->best[phase][row]);
  }
}

// What they leave unsettled.
static void ask_chance(void *piece) {
  half *h = piece;
  for (size_t i; !h->refused && (i = (*h->next)++) < 2 * GN_MURMUR_BANDS;) {
    gn_murmur_evidence *e = &h->best[i / GN_MURMUR_BANDS][i % GN_MURMUR_BANDS];
    if (is_unsettled(h->test, e)) h->refused = gn_murmur_chance(h->test, e);
  }
}

static int try_all(gn_murmur_test *t, gn_murmur_evidence best[2][GN_MURMUR_BANDS]) {
  gn_murmur_test beside;
  _Atomic size_t next = 0;
  half of[2] = {{t, &next, best, 0}, {&beside, &next, best, 0}};
  if (gn_murmur_test_beside(t, &beside)) return -1;
  gn_relay_both(try_windows, &of[0], &of[1], t->shares);
  next = 0;
  gn_relay_both(ask_chance, &of[0], &of[1], t->shares);
  gn_murmur_test_beside_clear(&beside);
  return of[0].refused || of[1].refused ? -1 : 0;
}

// What is found in one phase by band, and the strongest of it; tried: its windows' best.
static void search_phase(gn_murmur_test *t, gn_murmur_locked *locked, int phase, const gn_murmur_evidence tried[GN_MURMUR_BANDS], gn_murmur_evidence *best) {
  gn_murmur_evidence by_row[GN_MURMUR_BANDS];
  *best = (gn_murmur_evidence){.phase = phase};
  memcpy(by_row, tried, sizeof by_row);
  drop_chance(t, by_row);
  drop_unsupported(t, locked, by_row);
  gn_murmur_locked_find(locked, t, phase, by_row);
  const bool extra = is_extra_sound(t, by_row, phase);
  gn_murmur_drop_gain(t, locked, by_row);
  unsigned rows = 0;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    if (extra) by_row[row].found = false;
    rows |= by_row[row].found ? 1u << row : 0;
    const gn_murmur_evidence *e = &by_row[row];
    if ((e->found && !best->found) || (e->found == best->found && e->score > best->score)) *best = *e;
  }
  best->rows = rows;
}

void gn_murmur_test_learn(gn_murmur_test *t) {
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++)
    for (size_t length = 0; length < GN_MURMUR_LENGTHS; length++) {
      const size_t which = row * GN_MURMUR_LENGTHS + length, n_windows = reference(t, row, length);
      t->usual[which] = usual_paired(t, n_windows, t->outside + which * t->cube->n_beats);
    }
}

int gn_murmur_search(gn_murmur_test *t, gn_murmur_locked *locked, gn_murmur_evidence best[2]) {
  gn_murmur_evidence tried[2][GN_MURMUR_BANDS] = {{{0}}};
  if (try_all(t, tried)) return -1;
  for (int phase = 0; phase < 2; phase++) search_phase(t, locked, phase, tried[phase], &best[phase]);
  if (best[0].found == best[1].found) return 0;
  const int found = best[1].found;
  if (gn_murmur_locked_peel(locked, found, t->shares)) return -1;
  search_phase(t, locked, !found, tried[!found], &best[!found]);
  return 0;
}
