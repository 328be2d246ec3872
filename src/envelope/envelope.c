// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "envelope/envelope.h"

#include <math.h>
#include <string.h>

#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "base/weighted.h"
#include "base/wide.h"
#include "envelope/recovery.h"
#include "envelope/sliding.h"

#define FRAME_HZ 100.0 // methods compared: 50 a second costs rate and rhythm, more adds nothing
#define WAVE_HZ 500.0  // twice what the bands hold, and more; 1000 finds as many sounds of 2220 simulated recordings, and as many rates
#define DB_PER_NAT 4.3429448190325182765
#define FINE_HZ 400.0  // 2.5 ms: onsets are wanted to a few ms and are interpolated between these

gn_envelope_settings gn_envelope_settings_default(const girthline_profile *profile) {
  return (gn_envelope_settings){.frame_smooth_s = 0.040, .fine_smooth_s = 0.016, .floor_window_s = 8, .floor_quantile = 0.20,
                                .peak_quantile = 0.96, .range_db = 16, .local_window_s = 6 * profile->s1_length_s,
                                .local_quantile = 0.20, .headroom_db = 3};
}

// Hann weights on a grid 64 times finer than a sample, so that frame centres may fall between samples. The weights of all samples
// around a centre lie side by side: a row for each place of the centre within a sample on that grid, and one for each between two. A row's sum is 1.
#define OVERSAMPLING 64
enum { LANES = GN_WEIGHTED_LANES, ROWS = 2 * OVERSAMPLING };

typedef struct smoother {
  float *weights; // ROWS rows of width_n
  double half_n;  // half the window, samples
  size_t reach_n, width_n; // samples up to the centre; in a row (a multiple of LANES, zeros behind the window)
} smoother;

static float hann(const smoother *s, size_t i) {
  const double x = (double)i / OVERSAMPLING / s->half_n;
  return x >= 1 ? 0.0f : (float)(0.5 + 0.5 * gn_cos(GN_PI * x));
}

// Row 2 p: the centre lies p/64 behind the last sample before it; row 2 p + 1: up to 1/64 more. Distances are rounded down to the grid.
static int smoother_init(smoother *s, double len_s, double fs_hz) {
  s->half_n = len_s * fs_hz / 2;
  s->reach_n = (size_t)s->half_n + 1;
  s->width_n = (2 * s->reach_n + LANES - 1) / LANES * LANES;
  const size_t n_hann = (s->width_n + 1) * OVERSAMPLING;
  float *curve = gn_new(n_hann, sizeof *curve);
  s->weights = gn_new(ROWS * s->width_n, sizeof *s->weights);
  const int refused = curve && s->weights ? 0 : -1;
  for (size_t i = 0; !refused && i < n_hann; i++) curve[i] = hann(s, i);
  for (size_t row = 0; !refused && row < ROWS; row++) {
    const size_t before = row / 2, after = OVERSAMPLING - before - row % 2;
    float *const weights = s->weights + row * s->width_n;
    double sum = 0;
    for (size_t k = 0; k < 2 * s->reach_n; k++) {
      weights[k] = k < s->reach_n ? curve[before + (s->reach_n - 1 - k) * OVERSAMPLING] : curve[after + (k - s->reach_n) * OVERSAMPLING];
      sum += (double)weights[k];
    }
    for (size_t k = 0; k < 2 * s->reach_n; k++) weights[k] = (float)((double)weights[k] / sum);
  }
  gn_free(curve);
  return refused;
}

// Times offset_s + k / rate_hz after the first sample, k < n.
typedef struct grid { double offset_s, rate_hz; size_t n; } grid;

GN_WIDE_PART double place_of(const gn_envelope_in *in, const grid *g, int k) { return (g->offset_s + (double)k / g->rate_hz) * in->fs_hz; }

// Weighted mean of the squares where the window, from sample `first` on, shrinks, for not all of it is inside.
static float power_at_edge(const smoother *s, const float *weights, const float *x, long first, size_t n) {
  float sum = 0, weight = 0;
  for (size_t k = 0; k < 2 * s->reach_n; k++) {
    const long at = first + (long)k;
    if (at < 0 || at >= (long)n) continue;
    sum += weights[k] * (x[at] * x[at]);
    weight += weights[k];
  }
  return weight > 0 ? sum / weight : 0.0f;
}

// Weighted mean of the squared signal around every time of the grid, several at once: those not inside look at the signal's start meanwhile.
GN_WIDE static void smooth(const smoother *s, const gn_envelope_in *in, const float *x, const grid *g, float *out) {
  enum { SUMS = GN_WEIGHTED_SUMS };
  const long last = (long)in->n - (long)s->width_n; // where a window that is inside begins at the latest
  for (size_t k = 0; k < g->n; k += SUMS) {
    const size_t some = g->n - k < SUMS ? g->n - k : SUMS;
    const float *weights[SUMS], *from[SUMS];
    float sum[SUMS];
    long first[SUMS];
    bool inside[SUMS];
    for (size_t q = 0; q < SUMS; q++) {
      const double centre = place_of(in, g, (int)(k + q)), before = floor(centre), places = (centre - before) * OVERSAMPLING;
      const long place = (long)places, row = 2 * place + (places > (double)place);
      first[q] = (long)before - (long)(s->reach_n - 1);
      inside[q] = first[q] >= 0 && first[q] <= last;
      weights[q] = s->weights + row * (long)s->width_n;
      from[q] = inside[q] ? x + first[q] : x;
    }
    if (last >= 0) gn_weighted_squares(weights, from, s->width_n, sum);
    for (size_t q = 0; q < some; q++) out[k + q] = inside[q] ? sum[q] : power_at_edge(s, weights[q], x, first[q], in->n);
  }
}

// The bands' sum at every time of the grid, linear between samples.
GN_WIDE static void add_bands(const gn_envelope_in *in, const grid *g, float *out) {
  const long last = (long)in->n - 2;
  for (size_t k = 0; k < g->n; k++) {
    const double at = place_of(in, g, (int)k);
    const long i = (long)at < last ? (long)at : last;
    const float part = (float)(at - (double)i), a = in->band[0][i] + in->band[1][i], b = in->band[0][i + 1] + in->band[1][i + 1];
    out[k] = a + part * (b - a);
  }
}

static void mark_spoilt(const gn_envelope_in *in, gn_features *f) {
  for (size_t i = 0; i < in->n_spoilt; i++) {
    const double a = (in->spoilt[i].start_s - f->start_s) * f->rate_hz, b = (in->spoilt[i].end_s - f->start_s) * f->rate_hz;
    if (b < 0 || a > (double)f->n) continue;
    const size_t k0 = a <= 0 ? 0 : (size_t)ceil(a), k1 = b >= (double)f->n ? f->n : (size_t)floor(b) + 1;
    for (size_t k = k0; k < k1; k++) f->spoilt[k] = 1;
  }
}

// Background and heart-sound level around each second, from the frames that carry evidence.
typedef struct levels { size_t n, n_local; float *floor_db, *peak_db, *local_db, *work; gn_sliding around; } levels;

#define LOCAL_STEP 5 // frames between places where the local background is taken (50 ms)
enum { FRAMES_A_SECOND = (int)FRAME_HZ }; // a multiple of it

// Lower level of the stretch around every LOCAL_STEP-th frame; NaN where there is no evidence.
static void local_background(const gn_features *f, const float *db, levels *l, const gn_envelope_settings *s) {
  const size_t half = (size_t)(s->local_window_s * f->rate_hz / 2);
  gn_sliding *around = &l->around;
  gn_sliding_begin(around);
  for (size_t j = 0; j < l->n_local; j++) {
    const size_t centre = j * LOCAL_STEP;
    gn_sliding_move(around, db, f->spoilt, centre > half ? centre - half : 0, centre + half < f->n ? centre + half : f->n);
    l->local_db[j] = around->n >= half / 2 ? gn_quantile_sorted_f(around->sorted, around->n, s->local_quantile) : NAN;
  }
}

static void levels_of_block(const gn_features *f, const float *db, size_t centre, size_t half, levels *l, size_t j, const gn_envelope_settings *s) {
  const size_t k0 = centre > half ? centre - half : 0, k1 = centre + half < f->n ? centre + half : f->n;
  size_t m = 0;
  for (size_t k = k0; k < k1; k++)
    if (!f->spoilt[k]) l->work[m++] = db[k];
  if (m < 20) { // nothing to go by: filled from the neighbours later
    l->floor_db[j] = l->peak_db[j] = NAN;
    return;
  }
  l->peak_db[j] = gn_quantile_f(l->work, m, s->peak_quantile);
  l->floor_db[j] = gn_max_f(gn_quantile_f(l->work, m, s->floor_quantile), l->peak_db[j] - (float)s->range_db);
}

static void fill_gaps(float *x, size_t n) {
  for (size_t j = 1; j < n; j++)
    if (isnan(x[j])) x[j] = x[j - 1];
  for (size_t j = n; j-- > 1;)
    if (isnan(x[j - 1])) x[j - 1] = x[j];
}

// Where gaps were filled, and none is left unless all of it is one.
static void median_of_five(float *x, size_t n, float *work) {
  if (isnan(x[0])) return;
  memcpy(work, x, n * sizeof *x);
  for (size_t j = 0; j < n; j++) {
    float near[5];
    size_t m = 0;
    for (size_t i = j < 2 ? 0 : j - 2; i < n && i <= j + 2; i++) near[m++] = work[i];
    x[j] = gn_quantile_f(near, m, 0.5);
  }
}

// Out of values `step` frames apart those of n frames from the one at place j of them on: a straight line between two, level behind the last.
GN_WIDE static void draw_line(const float *x, size_t n_x, size_t j, size_t step, float *restrict out, size_t n) {
  const float from = x[j < n_x ? j : n_x - 1], rise = j + 1 < n_x ? x[j + 1] - from : 0;
  for (int i = 0; i < (int)n; i++) out[i] = from + (float)i / (float)step * rise;
}

// A soft knee at the floor: level of the power added to the background's, of the n frames of a second.
static void knee(float *db, size_t second, size_t n, const levels *l, const gn_envelope_settings *s, size_t step) {
  float floor_db[FRAMES_A_SECOND], most_db[FRAMES_A_SECOND], local_db[FRAMES_A_SECOND];
  double over[FRAMES_A_SECOND];
  draw_line(l->floor_db, l->n, second, step, floor_db, n);
  draw_line(l->peak_db, l->n, second, step, most_db, n);
  for (size_t i = 0; i < n; i += LOCAL_STEP) draw_line(l->local_db, l->n_local, (second * step + i) / LOCAL_STEP, LOCAL_STEP, local_db + i, LOCAL_STEP);
  for (size_t i = 0; i < n; i++) {
    floor_db[i] = gn_max_f(floor_db[i], local_db[i]);
    most_db[i] -= floor_db[i];
    over[i] = (double)(db[i] - floor_db[i]) / DB_PER_NAT;
  }
  gn_exp_many(over, n);
  for (size_t i = 0; i < n; i++) over[i] += 1;
  gn_log_many(over, n);
  for (size_t i = 0; i < n; i++) {
    const double most = gn_max((double)most_db[i] + s->headroom_db, s->headroom_db);
    db[i] = isnan(floor_db[i]) ? 0.0f : (float)gn_min(DB_PER_NAT * over[i], most);
  }
}

static void over_background(gn_features *f, float *db, levels *l, const gn_envelope_settings *s) {
  const size_t step = (size_t)f->rate_hz, half = (size_t)(s->floor_window_s * f->rate_hz / 2);
  for (size_t j = 0; j < l->n; j++) levels_of_block(f, db, j * step, half, l, j, s);
  fill_gaps(l->floor_db, l->n);
  fill_gaps(l->peak_db, l->n);
  median_of_five(l->floor_db, l->n, l->work);
  median_of_five(l->peak_db, l->n, l->work);
  local_background(f, db, l, s);
  fill_gaps(l->local_db, l->n_local);
  for (size_t k = 0; k < f->n; k += step) knee(db + k, k / step, f->n - k < step ? f->n - k : step, l, s, step);
}

static int allocate(gn_features *f, levels *l, const gn_envelope_settings *s) {
  for (size_t b = 0; b < GN_N_BANDS; b++)
    if (!(f->level_db[b] = gn_room(f->n, sizeof(float)))) return -1;
  f->spoilt = gn_new(f->n, 1);
  f->fine_power = gn_room(f->n_fine, sizeof(float));
  f->wave = gn_room(f->n_wave, sizeof(float));
  l->n = f->n / (size_t)f->rate_hz + 1;
  l->floor_db = gn_new(l->n, sizeof(float));
  l->peak_db = gn_new(l->n, sizeof(float));
  l->n_local = f->n / LOCAL_STEP + 1;
  l->local_db = gn_new(l->n_local, sizeof(float));
  const int refused = gn_sliding_init(&l->around, (size_t)(s->local_window_s * f->rate_hz));
  l->work = gn_room(f->n + l->n, sizeof(float));
  return f->spoilt && f->fine_power && f->wave && l->floor_db && l->peak_db && l->local_db && l->work ? refused : -1;
}

girthline_status gn_envelope_run(const gn_envelope_in *in, const gn_envelope_settings *settings, gn_features *out) {
  smoother frame = {0}, fine = {0};
  levels l = {0};
  girthline_status status = GIRTHLINE_NO_MEMORY;
  const double first = ceil(in->start_s * FRAME_HZ - 1e-6), end_s = in->start_s + (double)in->n / in->fs_hz;
  out->rate_hz = FRAME_HZ;
  out->fine_rate_hz = FINE_HZ;
  out->start_s = first / FRAME_HZ;
  out->n = end_s > out->start_s ? (size_t)((end_s - out->start_s) * FRAME_HZ) : 0;
  out->wave_rate_hz = WAVE_HZ;
  out->n_wave = out->n * (size_t)(WAVE_HZ / FRAME_HZ);
  out->n_fine = out->n * (size_t)(FINE_HZ / FRAME_HZ);
  if (allocate(out, &l, settings) || smoother_init(&frame, settings->frame_smooth_s, in->fs_hz) || smoother_init(&fine, settings->fine_smooth_s, in->fs_hz))
    goto done;
  mark_spoilt(in, out);
  const double offset_s = out->start_s - in->start_s;
  for (size_t b = 0; b < GN_N_BANDS; b++) {
    smooth(&frame, in, in->band[b], &(grid){offset_s, FRAME_HZ, out->n}, out->level_db[b]);
    gn_levels_db(out->level_db[b], 1e-30f, out->level_db[b], out->n);
  }
  if (gn_recovery_undo(out)) goto done;
  for (size_t b = 0; b < GN_N_BANDS; b++) over_background(out, out->level_db[b], &l, settings);
  smooth(&fine, in, in->fine, &(grid){offset_s, FINE_HZ, out->n_fine}, out->fine_power);
  add_bands(in, &(grid){offset_s, WAVE_HZ, out->n_wave}, out->wave);
  status = GIRTHLINE_OK;
done:
  gn_free(frame.weights);
  gn_free(fine.weights);
  gn_free(l.floor_db);
  gn_free(l.peak_db);
  gn_free(l.local_db);
  gn_free(l.work);
  gn_sliding_clear(&l.around);
  if (status != GIRTHLINE_OK) gn_features_clear(out);
  return status;
}

void gn_features_clear(gn_features *features) {
  if (!features) return;
  for (size_t b = 0; b < GN_N_BANDS; b++) gn_free(features->level_db[b]);
  gn_free(features->spoilt);
  gn_free(features->fine_power);
  gn_free(features->wave);
  *features = (gn_features){0};
}
