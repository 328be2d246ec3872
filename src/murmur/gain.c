// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>

#include "base/maths.h"

// Gain: the rises in the bands over the heart sounds lie within this factor of each other, and are no more than this.
static const double GAIN_ALIKE = 0.65, GAIN_MOST_DB = 9, GAIN_NEVER_DB = 15; // never: of the excess, that counts from the lowest quantiles
static const double MEDIAN = 0.5;
enum { GAIN_FIRST_ROW = 2 };

// A recorder's gain comes back between the sounds and lifts the background in every band alike; a murmur has a spectrum of its own.
static bool is_gain(gn_murmur_test *t, const gn_murmur_evidence *e) {
  double least = HUGE_VAL, most = 0;
  for (size_t row = GAIN_FIRST_ROW; row < GN_MURMUR_BANDS; row++) {
    gn_murmur_window(t->cube, row, e->a, e->n, t->values);
    const double q = gn_murmur_quantile(t->values, t->cube->n_beats, MEDIAN, t->scratch), ref = t->cube->floor_power[row];
    const double rise = q > ref && ref > 0 ? q / ref - 1 : 0;
    if (rise < least) least = rise;
    if (rise > most) most = rise;
  }
  return least > GAIN_ALIKE * most && most < gn_from_db(GAIN_MOST_DB) - 1;
}

// The same over the noise around in time, where that can be told.
static bool is_gain_there(const gn_murmur_locked *l, const gn_murmur_evidence *e) {
  size_t at = 0;
  while (at < l->m && l->cells[at] < e->a) at++;
  return l->usable && at < l->m && gn_murmur_locked_gain(l, at, at + e->n < l->m ? e->n : l->m - at) > 0;
}

void gn_murmur_drop_gain(gn_murmur_test *t, const gn_murmur_locked *l, gn_murmur_evidence by_row[GN_MURMUR_BANDS]) {
  bool gain = false;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    if (by_row[row].locked > 0) return; // the gain has been taken off
    if (by_row[row].found && by_row[row].x_db > GAIN_NEVER_DB) return;
    gain = gain || (by_row[row].found && (is_gain(t, &by_row[row]) || is_gain_there(l, &by_row[row])));
  }
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++)
    if (gain) by_row[row].found = false;
}
