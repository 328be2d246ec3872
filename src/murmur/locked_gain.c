// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>

#include "base/maths.h"

// The recorder's gain comes back between the sounds: it lifts the noise in every band alike, within this factor, by no more than
// so much, and holds it up until the next sound. A breath that happens to keep step for a while lifts them even more alike. A murmur
// has a spectrum of its own.
static const double GAIN_ALIKE = 0.5, GAIN_VERY_ALIKE = 0.7, GAIN_MOST_DB = 9, GAIN_STAYS = 0.6;
static const double GAIN_SOFT_ALIKE = 0.55, GAIN_SOFT_MOST_DB = 2; // of the bands above the lowest alone
static const size_t GAIN_REST_CELLS = 6;
// Systole goes on where diastole left off: under a gain that comes back by 2 to 5 dB a second its end stands little over diastole's end, under
// a murmur far over it. Of 532 systolic finds in 1605 simulated recordings, slow hearts' that rise so little and so alike stood 0.94 and more
// over it where there was a murmur, 0.44 at most in four with gain control and none.
static const double GAIN_GOES_ON = 0.6, GAIN_GOES_ON_ALIKE = 0.4, GAIN_GOES_ON_MOST_DB = 3; // logarithm: 2.6 dB
static const size_t DIASTOLE_END_CELLS = 50;
// What gain lifts over the noise around it, it has brought back from the first third of diastole to the last, by at least this share of that
// (logarithms; a stretch may lie where it is highest). With 1 four of nine simulated slow hearts with gain control and no murmur would be told
// one, with this none; of eight with a murmur that was taken for gain, and no gain control, three are told by it.
static const double GAIN_COMES_BACK = 0.6;
enum { ROWS = GN_MURMUR_LOCKED_ROWS };

// Of the bands that are looked at there: the least rise of all, the most of those the heart sounds hardly reach, and the least of these; shares of
// the noise, 0 of none.
static void rises(const gn_murmur_locked *l, size_t at, size_t n, double out[3]) {
  out[0] = out[2] = HUGE_VAL;
  out[1] = 0;
  for (size_t k = 0; k < ROWS; k++) {
    double x[2];
    gn_murmur_locked_power(l, k, at, n, x);
    if (!(x[1] > 0)) continue;
    const double rise = x[0] / x[1];
    if (rise < out[0]) out[0] = rise;
    if (k > 0 && rise > out[1]) out[1] = rise;
    if (k > 0 && rise < out[2]) out[2] = rise;
  }
  if (isinf(out[0])) out[0] = 0;
  if (isinf(out[2])) out[2] = 0;
}

// Mean logarithm of band k's power over a beat's quiet cells [from, to), and how loud the noise is there. false: most of them are missing.
static bool beat_mean(const gn_murmur_locked *l, size_t k, size_t b, size_t from, size_t to, double out[2]) {
  double sum = 0, weights = 0;
  size_t kept = 0;
  for (size_t i = from; i < to; i++) {
    const size_t at = (k * l->n_beats + b) * l->m + i;
    if (!((double)l->weight[at] > 0)) continue;
    sum += (double)l->logs[at];
    weights += (double)l->weight[at];
    kept++;
  }
  if (2 * kept < to - from || kept == 0) return false;
  out[0] = sum / (double)kept;
  out[1] = (double)kept / weights;
  return true;
}

// How far quiet cells stand over others of the same beat in band k, and the error of that; logarithms. false: no beat tells.
static bool over(const gn_murmur_locked *l, size_t k, const size_t cells[2], const size_t others[2], double out[2]) {
  double sum = 0, weights = 0, squares = 0, here[2], there[2];
  for (int pass = 0; pass < 2; pass++)
    for (size_t b = 0; b < l->n_beats; b++) {
      if (!beat_mean(l, k, b, cells[0], cells[1], here) || !beat_mean(l, k, b, others[0], others[1], there)) continue;
      const double x = here[0] - there[0], w = 1 / (here[1] + there[1]);
      if (!pass) sum += w * x, weights += w;
      else squares += w * w * (x - sum / weights) * (x - sum / weights);
    }
  out[0] = weights > 0 ? sum / weights : 0;
  out[1] = weights > 0 ? sqrt(squares) / weights : HUGE_VAL;
  return weights > 0;
}

// How far a stretch of systole stands over the end of the same beat's diastole, in the band where that is most; a logarithm. HUGE_VAL: none tells.
static double over_diastole(const gn_murmur_locked *l, size_t at, size_t n) {
  const size_t n_diastole = l->m - l->n_systole, from = n_diastole > DIASTOLE_END_CELLS ? l->m - DIASTOLE_END_CELLS : l->n_systole;
  const size_t here[2] = {at, at + n}, there[2] = {from, l->m};
  double most = -HUGE_VAL, x[2];
  for (size_t k = 1; k < ROWS; k++) {
    if (over(l, k, here, there, x)) most = fmax(most, x[0]);
  }
  return isinf(most) ? HUGE_VAL : most;
}

double gn_murmur_locked_comes_back(const gn_murmur_locked *l) {
  const size_t part = (l->m - l->n_systole) / 3;
  const size_t last[2] = {l->m - part, l->m}, first[2] = {l->n_systole, l->n_systole + part};
  double most = HUGE_VAL, error = HUGE_VAL, x[2];
  if (l->fast) return most;
  for (size_t k = 1; k < ROWS; k++)
    if (over(l, k, last, first, x) && x[1] < error) error = x[1], most = x[0] + x[1];
  return most;
}

double gn_murmur_locked_gain(const gn_murmur_locked *l, size_t at, size_t n) {
  const size_t end = at < l->n_systole ? l->n_systole : l->m, rest = end > at + n ? end - at - n : 0;
  double here[3], later[3];
  rises(l, at, n, here);
  if (l->comes_back < GAIN_COMES_BACK * gn_log(1 + here[1])) return 0;
  if (!l->fast && at < l->n_systole && here[1] <= gn_from_db(GAIN_GOES_ON_MOST_DB) - 1 && here[2] >= GAIN_GOES_ON_ALIKE * here[1] &&
      over_diastole(l, at, n) <= GAIN_GOES_ON)
    return here[1];
  // While the first sound dies away in the lowest band a little gain comes back unseen there.
  if (here[2] >= GAIN_SOFT_ALIKE * here[1] && here[1] <= gn_from_db(GAIN_SOFT_MOST_DB) - 1 && here[2] > 0) return here[2];
  if (here[0] < GAIN_ALIKE * here[1] || here[1] > gn_from_db(GAIN_MOST_DB) - 1 || !(here[0] > 0)) return 0;
  if (here[0] < GAIN_VERY_ALIKE * here[1] && rest >= GAIN_REST_CELLS) {
    rises(l, at + n, rest, later);
    if (later[1] < GAIN_STAYS * here[1]) return 0;
  }
  return here[0];
}
