// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>

#include "base/maths.h"
#include "base/statistics.h"

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

// A gate, or a gain control that knows no bounds, lifts the background between the sounds by far more than that. It lifts a noise, no tone, which keeps
// its colour: above 150 Hz all bands rise alike over the quietest place, in dB. And it follows either sound: a gate is open after S1 as after S2,
// alike far; a gain control comes back after both, up to the next, or, where it is slow, up to S1 alone, and then very alike. Choices: of 120 clean
// simulated hearts without a murmur, under a gate or gain control, 50 were told to have one, with these 8; of 120 others 58 and 9. Of 180 with one
// one is turned down. A gain knows no phase: what comes back does so within the phase it is found in, and where it is slow, in systole as well. Of
// 16 murmurs in 15900 simulated recordings that were taken for a background that comes back eight rose there by less than GOES_UP_LEAST_DB, of 17
// such backgrounds none.
static const double LIFT_LEAST_DB = 1;
static const double OPEN_ALIKE = 0.75, OPEN_APART_DB = 3, OPEN_SHARE = 0.9; // of the rise, there is in the other phase
static const double BACK_ALIKE = 0.65, BACK_APART_DB = 2, BACK_SHARE = 0.35, BACK_LEAST_DB = 1.3;
static const double SLOW_ALIKE = 0.85, SLOW_APART_DB = 1.5, SLOW_END = 0.97; // of diastole
static const double GOES_UP_LEAST_DB = 1; // from the least of a phase's first half to its end, mean over the bands
static const double QUIETEST = 0.1;                          // over places: a choice
enum { PLACE_CELLS = 6, END_MOST_CELLS = 60, END_PART = 4 }; // the end: of the quiet part

// Level over some cells, each the median over beats; dB.
static double place_db(const gn_murmur_cube *cube, size_t row, size_t a, size_t n) {
  double sum = 0;
  for (size_t c = a; c < a + n; c++) sum += (double)cube->contour[row * cube->n_cells + c];
  return sum > 0 ? gn_db(sum / (double)n) : (double)NAN;
}

static double quietest_db(gn_murmur_test *t, size_t row) {
  const gn_murmur_cube *cube = t->cube;
  size_t n = 0;
  for (size_t c = 0; c + PLACE_CELLS <= cube->n_cells; c += 2) {
    const double db = gn_murmur_is_quiet(cube, c) && gn_murmur_is_quiet(cube, c + PLACE_CELLS - 1) ? place_db(cube, row, c, PLACE_CELLS) : (double)NAN;
    if (!isnan(db)) t->quiet[n++] = db;
  }
  return n ? gn_quantile(t->quiet, n, QUIETEST) : (double)NAN;
}

// The least of a phase's first half and the mean of its end, dB. false: too short.
static bool course(const gn_murmur_cube *cube, size_t row, int phase, double out[2]) {
  const size_t from = phase ? cube->s2_end : cube->s1_end, to = phase ? cube->s1_start : cube->s2_start;
  if (to < from + 2 * PLACE_CELLS) return false;
  size_t n = (to - from) / END_PART;
  n = n < PLACE_CELLS ? PLACE_CELLS : n > END_MOST_CELLS ? END_MOST_CELLS : n;
  out[0] = HUGE_VAL;
  for (size_t c = from; c <= from + (to - from) / 2; c++) out[0] = fmin(out[0], place_db(cube, row, c, PLACE_CELLS));
  out[1] = place_db(cube, row, to - n, n);
  return true;
}

// Is the background low after either sound, and higher before the next?
static bool comes_back(const gn_murmur_cube *cube) {
  double systole[2], diastole[2];
  for (size_t row = GAIN_FIRST_ROW; row < GN_MURMUR_BANDS; row++) {
    if (!course(cube, row, 0, systole) || !course(cube, row, 1, diastole)) return false;
    if (!(systole[1] >= diastole[0] + BACK_LEAST_DB && diastole[1] >= systole[0] + BACK_LEAST_DB)) return false;
  }
  return true;
}

// Is a phase's end higher than its first half? Too short a one does not tell.
static bool goes_up(const gn_murmur_cube *cube, int phase) {
  double sum_db = 0, db[2];
  for (size_t row = GAIN_FIRST_ROW; row < GN_MURMUR_BANDS; row++) {
    if (!course(cube, row, phase, db)) return true;
    sum_db += db[1] - db[0];
  }
  return sum_db >= GOES_UP_LEAST_DB * (GN_MURMUR_BANDS - GAIN_FIRST_ROW);
}

// The least and the most that a band rises over its quietest place, dB; the least is -HUGE_VAL where one cannot be told.
static void rise_db(const gn_murmur_cube *cube, const double quiet_db[GN_MURMUR_BANDS], size_t a, size_t n, double out[2]) {
  out[0] = HUGE_VAL;
  out[1] = -HUGE_VAL;
  for (size_t row = GAIN_FIRST_ROW; row < GN_MURMUR_BANDS; row++) {
    const double rise = place_db(cube, row, a, n) - quiet_db[row];
    out[0] = isnan(rise) ? -HUGE_VAL : fmin(out[0], rise);
    out[1] = fmax(out[1], rise);
  }
}

// The most that every band rises together somewhere in a phase, dB.
static double together_db(const gn_murmur_cube *cube, const double quiet_db[GN_MURMUR_BANDS], int phase) {
  const size_t from = phase ? cube->s2_end : cube->s1_end, to = phase ? cube->s1_start : cube->s2_start;
  double most = 0, rise[2];
  for (size_t c = from; c + PLACE_CELLS <= to; c++) {
    rise_db(cube, quiet_db, c, PLACE_CELLS, rise);
    most = fmax(most, rise[0]);
  }
  return most;
}

// Do the bands rise alike: the least of them by this share of the most, and no further from it?
static bool are_alike(const double rise[2], double share, double apart_db) { return rise[0] >= share * rise[1] && rise[1] - rise[0] <= apart_db; }

bool gn_murmur_is_lifted(gn_murmur_test *t, const gn_murmur_evidence *e, const girthline_murmur_phase *p) {
  const gn_murmur_cube *cube = t->cube;
  double quiet_db[GN_MURMUR_BANDS], rise[2];
  if (p->musical == GIRTHLINE_YES) return false;
  for (size_t row = GAIN_FIRST_ROW; row < GN_MURMUR_BANDS; row++) quiet_db[row] = quietest_db(t, row);
  rise_db(cube, quiet_db, e->a, e->n, rise);
  if (!(rise[0] >= LIFT_LEAST_DB)) return false;
  const double share = together_db(cube, quiet_db, !e->phase) / rise[0];
  return (share >= OPEN_SHARE && are_alike(rise, OPEN_ALIKE, OPEN_APART_DB)) ||
         (share >= BACK_SHARE && are_alike(rise, BACK_ALIKE, BACK_APART_DB) && comes_back(cube) && goes_up(cube, e->phase)) ||
         (e->phase && p->end_fraction >= SLOW_END && are_alike(rise, SLOW_ALIKE, SLOW_APART_DB) && goes_up(cube, 0));
}
