// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/biquad.h"
#include "base/maths.h"
#include "base/memory.h"
#include "quality/parts.h"

// The measure's definition: RMS over S1 and S2 against RMS over the quiet parts, 25 to 700 Hz.
static const double LOW_HZ = 25, HIGH_HZ = 700, HIGHEST_SHARE = 0.45; // of the rate


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

// Cells [first, end) share the range evenly.
static void add_cells(const ear *e, range r, size_t first, size_t end) {
  const double step_s = (r.end_s - r.start_s) / (double)(end - first);
  const size_t half = e->noise->n_beats % 2;
  for (size_t k = first; k < end && step_s > 0; k++) {
    const double start_s = r.start_s + (double)(k - first) * step_s;
    if (!spoilt(e, start_s, start_s + step_s))
      add_range(e, start_s, start_s + step_s, &e->noise->cell_power[half][k], &e->noise->cell_n[half][k]);
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

// Zeros on the unit circle, poles just inside: the bilinear notch of the RBJ cookbook with Q = hz / width_hz.
static gn_biquad notch(double hz, double width_hz, double fs_hz) {
  const double w = 2 * GN_PI * hz / fs_hz, alpha = gn_sin(w) * width_hz / (2 * hz), norm = 1 / (1 + alpha), c = -2 * gn_cos(w) * norm;
  return (gn_biquad){norm, c, norm, c, (1 - alpha) * norm};
}

static int filter(const gn_quality_cut *cut, double width_hz, float *y) {
  const gn_signal *w = cut->window;
  for (size_t i = 0; i < w->n; i++) y[i] = isfinite(w->samples[i]) ? w->samples[i] : 0;
  gn_biquad band[2];
  gn_biquad_bandpass(band, LOW_HZ, fmin(HIGH_HZ, HIGHEST_SHARE * w->fs_hz), w->fs_hz);
  if (gn_biquad_zero_phase(band, 2, y, y, w->n)) return -1;
  for (size_t i = 0; i < cut->n_lines; i++) {
    const gn_biquad one = notch(cut->lines_hz[i], width_hz, w->fs_hz);
    if (gn_biquad_zero_phase(&one, 1, y, y, w->n)) return -1;
  }
  return 0;
}

int gn_quality_noise_add(gn_quality_noise *noise, const gn_quality_cut *cut, const girthline_beat *beats, size_t n_beats) {
  if (!n_beats) return 0;
  float *y = gn_new(cut->window->n, sizeof *y);
  const int refused = y ? filter(cut, noise->limits->noise_notch_hz, y) : -1;
  const ear e = {noise, cut->window, cut->spoilt, y};
  for (size_t i = 0; i < n_beats && !refused; i++)
    if (is_whole(&beats[i])) add_beat(&e, &beats[i], i + 1 < n_beats ? beats[i + 1].s1_onset_s : (double)NAN);
  gn_free(y);
  return refused;
}

// Mean over the places that are the quietest by `rank`, measured by `mean`; NaN places are in neither.
static double quietest(const double *rank, const double *mean, size_t n, double share) {
  const size_t wanted = (size_t)ceil(share * (double)n);
  bool taken[GN_QUALITY_CELLS] = {false};
  double sum = 0;
  for (size_t i = 0; i < wanted; i++) {
    size_t best = n;
    for (size_t k = 0; k < n; k++)
      if (!taken[k] && (best == n || rank[k] < rank[best])) best = k;
    taken[best] = true;
    sum += mean[best];
  }
  return sum / (double)wanted;
}

double gn_quality_noise_db(const gn_quality_noise *noise) {
  double mean[2][GN_QUALITY_CELLS];
  size_t n = 0;
  for (size_t k = 0; k < GN_QUALITY_CELLS; k++) {
    if (!(noise->cell_n[0][k] + noise->cell_n[1][k] > 0)) continue;
    for (int h = 0; h < 2; h++) {
      const int from = noise->cell_n[h][k] > 0 ? h : 1 - h; // one beat: both halves are the same
      mean[h][n] = noise->cell_power[from][k] / noise->cell_n[from][k];
    }
    n++;
  }
  if (!n || !(noise->sound_n > 0)) return NAN;
  const double share = noise->limits->noise_quiet_share;
  const double quiet = 0.5 * (quietest(mean[0], mean[1], n, share) + quietest(mean[1], mean[0], n, share));
  const double heart = fmax(noise->sound_power / noise->sound_n - quiet, noise->limits->noise_least_heart_share * quiet);
  return quiet > 0 ? gn_db(heart / quiet) : (double)NAN;
}
