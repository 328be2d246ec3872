// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>

#include "base/maths.h"

static const double BEFORE_S1_SHARE = 0.05; // of the interval, drawn before S1
static const double SILENCE_DB = -60;       // digital silence has no level: this far under S1 instead

// The picture's cell at a time since S1; the cells before S1 are the end of the beat before.
static size_t cell_at(const gn_murmur_cube *cube, double at_s) {
  double cell = at_s < 0 ? (double)cube->n_cells + at_s / GN_MURMUR_CELL_S : at_s / cube->systole_s * (double)cube->n_systole;
  if (at_s >= cube->systole_s) {
    const double since = (at_s - cube->systole_s) / GN_MURMUR_CELL_S, before = (cube->interval_s - at_s) / GN_MURMUR_CELL_S;
    cell = since < (double)cube->n_first ? (double)cube->n_systole + since : (double)cube->n_cells - before;
  }
  const double last = (double)cube->n_cells - 1;
  return cell < 0 ? 0 : cell > last ? (size_t)last : (size_t)cell;
}

void gn_murmur_picture(const gn_murmur_cube *cube, float *scratch, girthline_pictures *out) {
  out->n_cycle_beats = cube->n_beats;
  out->cycle_systole_s = cube->systole_s;
  out->cycle_interval_s = cube->interval_s;
  out->cycle_step_s = cube->interval_s / GIRTHLINE_CYCLE_BINS;
  out->cycle_start_s = -BEFORE_S1_SHARE * cube->interval_s;
  for (size_t row = 0; row < GIRTHLINE_CYCLE_BANDS; row++) {
    for (int k = 0; k < 2; k++) out->cycle_band_hz[row][k] = gn_murmur_band_hz[row][k];
    double quiet = cube->floor_power[row];
    const double least = cube->s1_peak_power * gn_from_db(SILENCE_DB);
    if (quiet < least) quiet = least;
    for (size_t bin = 0; bin < GIRTHLINE_CYCLE_BINS; bin++) {
      const float *values = gn_murmur_cell(cube, row, cell_at(cube, out->cycle_start_s + ((double)bin + 0.5) * out->cycle_step_s));
      float *const to[3] = {out->cycle_lo_db[row], out->cycle_db[row], out->cycle_hi_db[row]};
      for (int k = 0; k < 3; k++) {
        const double power = gn_murmur_quantile(values, cube->n_beats, 0.25 * (k + 1), scratch);
        const double db = quiet > 0 ? gn_db((power > 0.1 * quiet ? power : 0.1 * quiet) / quiet) : 0;
        to[k][bin] = isnan(power) ? NAN : (float)db;
      }
    }
  }
}
