// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>
#include <string.h>

#include "base/biquad.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/weighted.h"

// Five bands about an octave wide from the top of the heart sounds' own range to where murmurs end (murmurs reach 600 Hz:
// Liu et al. 2016); the low one holds what S1 and S2 share.
const double gn_murmur_band_hz[GN_MURMUR_ROWS][2] = {{45, 90}, {90, 150}, {150, 240}, {240, 400}, {400, 700}, {25, 100}, {25, 700}};

static const double SMOOTH_S = 0.020; // length of the Hann window the power is averaged with; a choice

void gn_murmur_beat_clear(gn_murmur_beat *beat) {
  gn_free(beat->power);
  gn_free(beat->wave);
  beat->power = beat->wave = NULL;
}

enum { SUMS = GN_WEIGHTED_SUMS };

// Where the samples around the middle of a cell begin.
static long first_of(size_t cell, double fs_hz, long half_n) { return (long)(((double)cell + 0.5) * GN_MURMUR_CELL_S * fs_hz + 0.5) - half_n; }

// A Hann window's weights, 1 together; zeros behind them, up to a multiple of what is added up at a time.
typedef struct kernel { float *weights; long half_n; size_t n; } kernel;

static int kernel_init(kernel *k, double fs_hz) {
  k->half_n = (long)(SMOOTH_S / 2 * fs_hz);
  k->n = (size_t)(2 * k->half_n + GN_WEIGHTED_LANES) / GN_WEIGHTED_LANES * GN_WEIGHTED_LANES;
  k->weights = gn_new(k->n, sizeof *k->weights);
  double whole = 0;
  for (long i = -k->half_n; k->weights && i <= k->half_n; i++) {
    float *w = &k->weights[i + k->half_n];
    *w = (float)(0.5 + 0.5 * gn_cos(2 * GN_PI * (double)i / (SMOOTH_S * fs_hz)));
    whole += (double)*w;
  }
  for (size_t i = 0; k->weights && i < k->n; i++) k->weights[i] = (float)((double)k->weights[i] / whole);
  return k->weights ? 0 : -1;
}

// Weighted mean of the squares from a sample on, as far as they are inside.
static float mean_from(const kernel *k, const float *x, size_t n, long first) {
  double sum = 0, weight = 0;
  for (size_t i = 0; i < k->n; i++) {
    const long at = first + (long)i;
    if (at < 0 || at >= (long)n) continue;
    sum += (double)k->weights[i] * ((double)x[at] * (double)x[at]);
    weight += (double)k->weights[i];
  }
  return weight > 0 ? (float)(sum / weight) : NAN;
}

static void smooth(const kernel *k, const float *x, size_t n, double fs_hz, float *out, size_t n_cells) {
  const float *const weights[SUMS] = {k->weights, k->weights, k->weights, k->weights};
  for (size_t c = 0; c < n_cells;) {
    const float *at[SUMS];
    if (first_of(c, fs_hz, k->half_n) < 0 || c + SUMS > n_cells || first_of(c + SUMS - 1, fs_hz, k->half_n) + (long)k->n > (long)n) {
      out[c] = mean_from(k, x, n, first_of(c, fs_hz, k->half_n));
      c++;
      continue;
    }
    for (size_t q = 0; q < SUMS; q++) at[q] = x + first_of(c + q, fs_hz, k->half_n);
    gn_weighted_squares(weights, at, k->n, out + c);
    c += SUMS;
  }
}

float *gn_murmur_envelopes(const gn_signal *window, size_t *n_cells) {
  enum { AT_ONCE = 4 };
  kernel hann;
  *n_cells = (size_t)((double)window->n / window->fs_hz / GN_MURMUR_CELL_S);
  float *out = gn_room(*n_cells * GN_MURMUR_ROWS, sizeof *out), *room = gn_room(AT_ONCE * window->n, sizeof *room);
  int refused = kernel_init(&hann, window->fs_hz) || !out || !room;
  for (size_t row = 0; !refused && row < GN_MURMUR_ROWS; row += AT_ONCE) {
    gn_biquad bands[AT_ONCE][2];
    float *band[AT_ONCE];
    size_t n = 0;
    for (; n < AT_ONCE && row + n < GN_MURMUR_ROWS; n++) {
      gn_biquad_bandpass(bands[n], gn_murmur_band_hz[row + n][0], gn_murmur_band_hz[row + n][1], window->fs_hz);
      band[n] = room + n * window->n;
    }
    refused = gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, n, window->samples, band, window->n);
    for (size_t k = 0; k < n && !refused; k++) smooth(&hann, band[k], window->n, window->fs_hz, out + (row + k) * *n_cells, *n_cells);
  }
  gn_free(hann.weights);
  gn_free(room);
  if (!refused) return out;
  gn_free(out);
  return NULL;
}

static void copy_cell(const gn_signal *window, const float *envelopes, size_t n_envelope_cells, double at_s, float *out) {
  // Linear between the two grid points around the cell's middle: a beat does not start on the grid.
  const double x = (at_s - window->start_s) / GN_MURMUR_CELL_S - 0.5;
  for (size_t row = 0; row < GN_MURMUR_ROWS; row++) {
    const float *e = envelopes + row * n_envelope_cells;
    if (!(x >= 0) || x + 1 >= (double)n_envelope_cells) {
      out[row] = NAN;
      continue;
    }
    const size_t i = (size_t)x;
    const double part = x - (double)i;
    out[row] = (float)((1 - part) * (double)e[i] + part * (double)e[i + 1]);
  }
}

void gn_murmur_cut(const gn_signal *window, const float *envelopes, size_t n_envelope_cells, gn_murmur_beat *beat, double from_s) {
  const double end_s = beat->s2_s + beat->diastole_s; // NaN without a next S1; then head_n == n_cells
  for (size_t c = 0; c < beat->n_cells; c++) {
    const double at_s = c < beat->head_n ? from_s + ((double)c + 0.5) * GN_MURMUR_CELL_S
                                         : end_s - ((double)(beat->n_cells - c) - 0.5) * GN_MURMUR_CELL_S;
    copy_cell(window, envelopes, n_envelope_cells, at_s, beat->power + c * GN_MURMUR_ROWS);
  }
}
