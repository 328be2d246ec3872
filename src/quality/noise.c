// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/biquad.h"
#include "base/maths.h"
#include "base/memory.h"
#include "quality/parts.h"

// The measure's definition: RMS over S1 and S2 against RMS over the quiet parts, 25 to 700 Hz.
static const double LOW_HZ = 25, HIGH_HZ = 700, HIGHEST_SHARE = 0.45; // of the rate

static const double SILENT_DB = -400;     // digital silence
// A place whose level, as the mean of its dB, stands no more than this over the quietest third's is noise as well: breath moves all
// places of a beat alike, a murmur or an S3 stands out in its own (a choice; half as much and a fifth of the places are lost).
static const double LIKE_QUIET_DB = 2.5;

typedef struct range { double start_s, end_s; } range;
typedef struct ear { gn_quality_noise *noise; const gn_signal *window; const gn_quality_spans *spoilt; const float *y; } ear;

static bool spoilt(const ear *e, double start_s, double end_s) {
  return gn_quality_spans_hit(e->spoilt->items, e->spoilt->n, GN_QUALITY_SPOILING, start_s, end_s);
}

static void add_range(const ear *e, double start_s, double end_s, double *power, double *count) {
  const gn_signal *w = e->window;
  const double from = fmax(0, ceil((start_s - w->start_s) * w->fs_hz)), to = fmin((double)w->n, ceil((end_s - w->start_s) * w->fs_hz));
  if (!(to > from)) return;
  double sum = 0;
  for (size_t i = (size_t)from; i < (size_t)to; i++) sum += (double)e->y[i] * (double)e->y[i];
  *power += sum;
  *count += to - from;
}

static void add_cell(const ear *e, range r, size_t half, size_t k) {
  double power = 0, count = 0;
  add_range(e, r.start_s, r.end_s, &power, &count);
  if (!(count > 0)) return;
  e->noise->cell_power[half][k] += power;
  e->noise->cell_n[half][k] += count;
  if (!(power > 0)) return;
  e->noise->cell_db[half][k] += gn_db(power / count);
  e->noise->cell_beats[half][k]++;
}

// Cells [first, end) share the range evenly.
static void add_cells(const ear *e, range r, size_t first, size_t end) {
  const double step_s = (r.end_s - r.start_s) / (double)(end - first);
  const size_t half = e->noise->n_beats % 2;
  for (size_t k = first; k < end && step_s > 0; k++) {
    const double start_s = r.start_s + (double)(k - first) * step_s;
    if (!spoilt(e, start_s, start_s + step_s)) add_cell(e, (range){start_s, start_s + step_s}, half, k);
  }
}

static void add_beat(const ear *e, const girthline_beat *b, double next_s) {
  gn_quality_noise *noise = e->noise;
  const double s1_end_s = b->s1_onset_s + (double)b->s1_offset_s, s2_end_s = b->s2_onset_s + (double)b->s2_offset_s;
  const double guard_s = noise->limits->noise_guard_s;
  if (spoilt(e, b->s1_onset_s, s2_end_s)) return;
  add_range(e, b->s1_onset_s, s1_end_s, &noise->sound_power, &noise->sound_n);
  add_range(e, b->s2_onset_s, s2_end_s, &noise->sound_power, &noise->sound_n);
  add_cells(e, (range){s1_end_s + guard_s, b->s2_onset_s - guard_s}, 0, GN_QUALITY_SYSTOLE_CELLS);
  if (next_s - b->s1_onset_s < noise->limits->noise_gap_s)
    add_cells(e, (range){s2_end_s + guard_s, next_s - guard_s}, GN_QUALITY_SYSTOLE_CELLS, GN_QUALITY_CELLS);
  noise->n_beats++;
}

static bool is_whole(const girthline_beat *b) {
  return isfinite(b->s1_onset_s) && isfinite(b->s2_onset_s) && isfinite(b->s1_offset_s) && isfinite(b->s2_offset_s);
}

void gn_quality_heard_band(double analysis_fs_hz, gn_biquad band[2]) {
  gn_biquad_bandpass(band, LOW_HZ, fmin(HIGH_HZ, HIGHEST_SHARE * analysis_fs_hz), analysis_fs_hz);
}

void gn_quality_noise_add(gn_quality_noise *noise, const gn_quality_cut *cut, const float *heard, const girthline_beat *beats, size_t n_beats) {
  const ear e = {noise, cut->window, cut->spoilt, heard};
  for (size_t i = 0; i < n_beats; i++)
    if (is_whole(&beats[i])) add_beat(&e, &beats[i], i + 1 < n_beats ? beats[i + 1].s1_onset_s : (double)NAN);
}

typedef struct places { double mean[2][GN_QUALITY_CELLS], db[2][GN_QUALITY_CELLS]; size_t n; } places;

static int by_size(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

// Mean over the places that are quiet by half h's dB, measured on the other half.
static double quiet_power(const places *p, int h, double share) {
  double sorted[GN_QUALITY_CELLS], level = 0, sum = 0;
  memcpy(sorted, p->db[h], p->n * sizeof *sorted);
  qsort(sorted, p->n, sizeof *sorted, by_size);
  const size_t wanted = (size_t)ceil(share * (double)p->n);
  for (size_t i = 0; i < wanted; i++) level += sorted[i] / (double)wanted;
  size_t taken = 0;
  for (size_t k = 0; k < p->n; k++) {
    if (p->db[h][k] > level + LIKE_QUIET_DB && p->db[h][k] > sorted[wanted - 1]) continue;
    sum += p->mean[1 - h][k];
    taken++;
  }
  return sum / (double)taken;
}

static places places_of(const gn_quality_noise *noise) {
  places p = {.n = 0};
  for (size_t k = 0; k < GN_QUALITY_CELLS; k++) {
    if (!(noise->cell_n[0][k] + noise->cell_n[1][k] > 0)) continue;
    for (int h = 0; h < 2; h++) {
      const int from = noise->cell_n[h][k] > 0 ? h : 1 - h; // one beat: both halves are the same
      p.mean[h][p.n] = noise->cell_power[from][k] / noise->cell_n[from][k];
      p.db[h][p.n] = noise->cell_beats[from][k] > 0 ? noise->cell_db[from][k] / noise->cell_beats[from][k] : SILENT_DB;
    }
    p.n++;
  }
  return p;
}

double gn_quality_noise_db(const gn_quality_noise *noise) {
  const places p = places_of(noise);
  if (!p.n || !(noise->sound_n > 0)) return NAN;
  const double quiet = 0.5 * (quiet_power(&p, 0, noise->limits->noise_quiet_share) + quiet_power(&p, 1, noise->limits->noise_quiet_share));
  const double heart = fmax(noise->sound_power / noise->sound_n - quiet, noise->limits->noise_least_heart_share * quiet);
  return quiet > 0 ? gn_db(heart / quiet) : (double)NAN;
}
