// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/statistics.h"

static const double CELL_QUANTILE = 0.15; // over cells: one that fills a part of the cycle only leaves the rest low
static const double LOW_BEATS = 0.18, HIGH_BEATS = 0.82;
// A recorder that cuts off takes what a room sounds like with it, and goes on falling to the highest band, where rumble over a recorder's own hiss stays. In 189 simulated
// recordings without a murmur the background of 240 to 400 Hz lies at most 16 dB under that of 45 to 90 (brown noise: 5), and that of 400 to 700
// at most 3 dB under it; of a fourth-order low-pass at 120 Hz 20 to 28, and 15 more (choices).
static const double CUT_OFF_DB = 18, CUT_OFF_ON_DB = 8;
// Heart sounds lie under 150 Hz for the most part: of 1030 simulated recordings 1010 had a sound with more than this of its power under 100 Hz, of 76
// behind a fourth- or sixth-order high-pass at 150 or 300 Hz none (a choice). Such a high-pass makes every background rise from the lowest band.
static const double LOWS_LEAST_DB = -5;
enum { ROW_45_HZ = 0, ROW_240_HZ = 3, ROW_400_HZ = 4 };

bool gn_murmur_is_quiet(const gn_murmur_cube *cube, size_t c) {
  return (c >= cube->s1_end && c < cube->s2_start) || (c >= cube->s2_end && c < cube->s1_start);
}

static gn_murmur_background background_of(gn_murmur_test *t, size_t row) {
  const gn_murmur_cube *cube = t->cube;
  double low = 0, high = 0;
  size_t n = 0;
  for (size_t c = 0; c < cube->n_cells; c++) {
    const float *cell = gn_murmur_cell(cube, row, c);
    const double a = gn_murmur_is_quiet(cube, c) ? gn_murmur_quantile(cell, cube->n_beats, LOW_BEATS, t->scratch) : (double)NAN;
    if (isnan(a)) continue;
    low += a;
    high += gn_murmur_quantile(cell, cube->n_beats, HIGH_BEATS, t->scratch);
    t->quiet[n++] = a;
  }
  if (n < GN_MURMUR_QUIET_CELLS_LEAST || !(low > 0) || !(cube->s1_power > 0)) return (gn_murmur_background){NAN, NAN};
  return (gn_murmur_background){gn_db(gn_quantile(t->quiet, n, CELL_QUANTILE) / cube->s1_power), gn_db(high / low)};
}

void gn_murmur_background_of(gn_murmur_test *t, gn_murmur_background bands[GN_MURMUR_BANDS]) {
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) bands[row] = background_of(t, row);
}

bool gn_murmur_recorder_cuts_off(const gn_murmur_background bands[GN_MURMUR_BANDS]) {
  return bands[ROW_240_HZ].floor_db <= bands[ROW_45_HZ].floor_db - CUT_OFF_DB && bands[ROW_400_HZ].floor_db <= bands[ROW_240_HZ].floor_db - CUT_OFF_ON_DB;
}

// Of a sound's power that of the low band, as far as they stand over the background; dB.
static double lows_db(const gn_murmur_cube *cube, int sound) {
  const double low = cube->sound_power[GN_MURMUR_LOW][sound] - cube->floor_power[GN_MURMUR_LOW];
  const double all = cube->sound_power[GN_MURMUR_BROAD][sound] - cube->floor_power[GN_MURMUR_BROAD];
  return low > 0 && all > 0 ? gn_db(low / all) : -HUGE_VAL;
}

bool gn_murmur_recorder_lacks_lows(const gn_murmur_cube *cube) { return fmax(lows_db(cube, 0), lows_db(cube, 1)) < LOWS_LEAST_DB; }
