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

// Weighted mean of the squares from a sample on, which may lie before the window, as far as they are inside.
static float mean_from(const float *x, size_t n, const double *kernel, size_t kernel_n, long first) {
  const size_t skip = first < 0 ? (size_t)-first : 0, from = (size_t)(first + (long)skip);
  const size_t there = from >= n ? 0 : n - from, left = kernel_n - skip, some = there < left ? there : left;
  double weight = 0, sum[SUMS];
  for (size_t k = 0; k < some; k++) weight += kernel[skip + k];
  const float *const at = x + (some ? from : 0);
  gn_weighted_squares(kernel + skip, (const float *const[]){at, at, at, at}, some, sum);
  return weight > 0 ? (float)(sum[0] / weight) : NAN;
}

static void smooth(const float *x, size_t n, double fs_hz, const double *kernel, long half_n, float *out, size_t n_cells) {
  const size_t kernel_n = (size_t)(2 * half_n + 1);
  double whole = 0;
  for (size_t k = 0; k < kernel_n; k++) whole += kernel[k];
  for (size_t c = 0; c < n_cells;) {
    const float *at[SUMS];
    double sum[SUMS];
    if (first_of(c, fs_hz, half_n) < 0 || c + SUMS > n_cells || first_of(c + SUMS - 1, fs_hz, half_n) + (long)kernel_n > (long)n) {
      out[c] = mean_from(x, n, kernel, kernel_n, first_of(c, fs_hz, half_n));
      c++;
      continue;
    }
    for (size_t q = 0; q < SUMS; q++) at[q] = x + first_of(c + q, fs_hz, half_n);
    gn_weighted_squares(kernel, at, kernel_n, sum);
    for (size_t q = 0; q < SUMS; q++, c++) out[c] = (float)(sum[q] / whole);
  }
}

float *gn_murmur_envelopes(const gn_signal *window, size_t *n_cells) {
  enum { AT_ONCE = 4 };
  const long half_n = (long)(SMOOTH_S / 2 * window->fs_hz);
  *n_cells = (size_t)((double)window->n / window->fs_hz / GN_MURMUR_CELL_S);
  float *out = gn_room(*n_cells * GN_MURMUR_ROWS, sizeof *out), *room = gn_room(AT_ONCE * window->n, sizeof *room);
  double *kernel = gn_new((size_t)(2 * half_n + 1), sizeof *kernel);
  int refused = !out || !room || !kernel;
  for (long k = -half_n; !refused && k <= half_n; k++)
    kernel[k + half_n] = 0.5 + 0.5 * gn_cos(2 * GN_PI * (double)k / (SMOOTH_S * window->fs_hz));
  for (size_t row = 0; !refused && row < GN_MURMUR_ROWS; row += AT_ONCE) {
    gn_biquad bands[AT_ONCE][2];
    float *band[AT_ONCE];
    size_t n = 0;
    for (; n < AT_ONCE && row + n < GN_MURMUR_ROWS; n++) {
      gn_biquad_bandpass(bands[n], gn_murmur_band_hz[row + n][0], gn_murmur_band_hz[row + n][1], window->fs_hz);
      band[n] = room + n * window->n;
    }
    refused = gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, n, window->samples, band, window->n);
    for (size_t k = 0; k < n && !refused; k++) smooth(band[k], window->n, window->fs_hz, kernel, half_n, out + (row + k) * *n_cells, *n_cells);
  }
  gn_free(kernel);
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
