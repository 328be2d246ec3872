// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/result.h"
#include "base/statistics.h"

// What neither repetition nor excess makes sure of must be this loud, and its level be had.
static const double DOUBTFUL_LEAST_DB = -24, DOUBTFUL_X_DB = 12;
static const double LOW_HZ = 150; // S3 and the end of S2 are lower
static const double REMAINDER_MOST_DB = -12, REMAINDER_MOST_SHARE = 0.3; // six in 567 simulated recordings: to -16 dB, over by a fifth of the phase
// A murmur reaches above 240 Hz or is loud: what lies lower and, soon after a sound, so far under that sound's peak in each of its bands, is the
// sound's tail. Of 1375 simulated murmurs nine lay all under 240 Hz, at -6.7 dB or louder; eight tails that had passed for one at -9.7 and less.
static const double REMAINDER_UNDER_DB = -8;
static const unsigned LOW_ROWS = 1u << 2, HIGH_ROWS = 1u << 3; // the bands below 150 Hz; from 240 Hz on they never reach
// What a split's second part, and the other sounds beside it, leave in the bands above their own falls from each to the next, as their spectra do (Sakai,
// Feigen and Luisada 1971: 7 dB an octave); a murmur has a hump. Choices: of the finds in 12600 simulated recordings that repetition does not make sure
// of, as short as such sounds, and less than this over what S1 and S2 leave, 24 fell so, none of them a murmur's; one more of a cat stood 12.2 dB over and was.
static const double SKIRT_OVER_DB = 12, SKIRT_BELOW_DB = 5, SKIRT_FALL_DB = 2;
static const double S1_LENGTHS = 2; // of S1, in which what is left of it dies away (a choice)
// What was to be heard so far under its level stands out, and far over the noise around it. What does so by little, soon after a sound, has its
// level from under that sound, by the shape laid through it: it is the sound's tail, in however high a band. Choices: in 2130 simulated recordings
// nine such tails, 8 dB and more over the limit, rose by 0.48 at most (two of them were told, the others lay lower, see above); of the murmurs as
// short and doubtful none rose by less than 0.82. In a fast heart every phase is over so soon; what comes nearer to the sound than a tail (see above)
// is a murmur there: of 13 that only this turned down, in 15900 simulated recordings, 11 came within 8 dB of it; of 47 tails, in 25200, one, which falls
// from band to band besides.
static const double HIDDEN_OVER_DB = 6, HIDDEN_MOST_RISE = 0.6; // logarithm, as that of the background
// A murmur through diastole falls, one that rises is late: what rises or stays through all of it, soft and little over the noise around, is
// the background, that a breath or the recorder's gain brings back between the sounds. It may else be a late one whose beginning noise has
// blurred. Of 8 finds of the kind in 1305 simulated recordings the three of a murmur were told at -16 dB and louder, the others at -19 and
// softer; of 15 laid near the limit 13 rose over the noise around by 0.62 and more, those of 180 recordings
// with gain control by 0.56 at most. In a part of diastole what rises as little may be a murmur, in steady noise; where it is doubtful besides, as
// in three of 6600 recordings, none was.
static const double BACKGROUND_MOST_DB = -18, BACKGROUND_MOST_RISE = 0.6; // logarithm: 2.6 dB
// What only the noise further around tells of rises over that: less, and it is a breath in step with the beats, or the other phase's. Of 37 such
// finds in 8200 simulated recordings 15 were of a murmur of that phase and rose by 0.55 and more, of the 22 others ten by 0.43 and less. (Made ones that
// fill a long systole, 1 dB over what can be found at all, rise by 0.4 to 0.5: a choice.)
static const double FAR_LEAST_RISE = 0.45; // logarithm: 2 dB

// A band's power over its floor where the find stands.
static double over_floor(gn_murmur_test *t, const gn_murmur_evidence *e, size_t row) {
  gn_murmur_window(t->cube, row, e->a, e->n, t->values);
  return gn_murmur_quantile(t->values, t->cube->n_beats, 0.5, t->scratch) - t->cube->floor_power[row];
}

// How near it comes to the peak of the sound before it, in the band where it comes nearest; dB.
static double near_sound_db(gn_murmur_test *t, const gn_murmur_evidence *e) {
  const gn_murmur_cube *cube = t->cube;
  double nearest = 0;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    if (!(e->rows >> row & 1) || !(cube->sound_power[row][e->phase] > 0)) continue;
    nearest = fmax(nearest, over_floor(t, e, row) / cube->sound_power[row][e->phase]);
  }
  return nearest > 0 ? gn_db(nearest) : -HUGE_VAL;
}

static bool is_tail(gn_murmur_test *t, const gn_murmur_evidence *e) {
  const size_t since_n = e->a - (e->phase ? t->cube->n_systole : 0);
  return e->rows < HIGH_ROWS && (double)since_n * GN_MURMUR_CELL_S < GN_MURMUR_REMAINDER_S && near_sound_db(t, e) < REMAINDER_UNDER_DB;
}

// Is it what a lower sound beside it, a split's second part for one, leaves in the bands above its own? Its power then falls from band to band.
static bool is_skirt(gn_murmur_test *t, const gn_murmur_evidence *e) {
  const bool is_short = (double)e->n * GN_MURMUR_CELL_S < GN_MURMUR_REMAINDER_S;
  if (!is_short || e->z >= t->limits->z_sure || e->over_sounds_db >= SKIRT_OVER_DB || e->rows & 1) return false;
  size_t lowest = 1, highest = GN_MURMUR_BANDS - 1;
  while (!(e->rows >> lowest & 1)) lowest++;
  while (!(e->rows >> highest & 1)) highest--;
  for (size_t row = lowest > 1 ? 2 : 1; row <= highest; row++) {
    const double least_db = row == lowest ? SKIRT_BELOW_DB : SKIRT_FALL_DB;
    if (!(over_floor(t, e, row - 1) >= gn_from_db(least_db) * over_floor(t, e, row))) return false;
  }
  return true;
}

// What is low and over so soon after S2 is S2's own end, or an S3; after S1, S1's own end. Not what is loud and lasts: in a fast heart an
// early murmur is over by then, too.
static bool is_low_remainder(const girthline_murmur_phase *p, const gn_murmur_evidence *e, const gn_murmur_cube *cube) {
  const unsigned rows = e->rows;
  if (p->level_db >= REMAINDER_MOST_DB && p->end_fraction >= REMAINDER_MOST_SHARE) return false;
  if (p->phase == GIRTHLINE_SYSTOLE)
    return rows < LOW_ROWS && e->x_db < DOUBTFUL_X_DB && p->end_fraction * cube->systole_s < S1_LENGTHS * cube->sound_s[0];
  return p->phase == GIRTHLINE_DIASTOLE && (rows < LOW_ROWS || (rows < HIGH_ROWS && p->peak_hz < LOW_HZ)) && p->end_fraction * gn_murmur_diastole_s(cube) < GN_MURMUR_REMAINDER_S;
}

// Is it over so soon after the sound that begins its phase?
static bool is_over_soon(const girthline_murmur_phase *p, const gn_murmur_evidence *e, const gn_murmur_cube *cube) {
  return p->end_fraction * (e->phase ? gn_murmur_diastole_s(cube) : cube->systole_s) < GN_MURMUR_REMAINDER_S;
}

// usable: the noise around could be told.
static bool is_hidden(gn_murmur_test *t, const girthline_murmur_phase *p, const gn_murmur_evidence *e, bool usable, double limit_db) {
  return usable && e->z < t->limits->z_sure && e->rise < HIDDEN_MOST_RISE && p->level_db > limit_db + HIDDEN_OVER_DB && is_over_soon(p, e, t->cube) &&
         near_sound_db(t, e) < REMAINDER_UNDER_DB;
}

bool gn_murmur_is_hidden_near(const gn_murmur_evidence *e, const girthline_murmur_phase *p, double limit_db) {
  return e->far && p->level_db > limit_db + HIDDEN_OVER_DB;
}

static bool is_background(const girthline_murmur_phase *p, const gn_murmur_evidence *e, const girthline_murmur_limits *limits) {
  const bool doubtful = e->rise > 0 && e->z < limits->z_sure && e->locked < limits->chance_deviations;
  return e->rise < BACKGROUND_MOST_RISE && p->phase == GIRTHLINE_DIASTOLE && (p->timing == GIRTHLINE_HOLO || doubtful) &&
         p->shape != GIRTHLINE_DECRESCENDO && !(p->level_db >= BACKGROUND_MOST_DB);
}

static bool is_further_noise(const gn_murmur_evidence *e) { return e->far && e->rise < FAR_LEAST_RISE; }

// Flow takes time, a valve's snap none. Where a click was found that is all that stands out in systole, it is not told a second time. (Where none
// was found it is: in half of ten human recordings of a prolapse the murmur behind the click is too soft to widen it.) A band stands out where it comes
// near its most, and well over what is usual in the cycle. Choices: of 12600 simulated recordings, 3600 of them with sounds besides S1 and S2, 982 had
// a find at a click. Without a murmur 742 stood out for 20 to 35 ms and four for longer; with one 8 and 184, most of the 8 short ones of cats. In 44
// less stood out than a click's envelope is smeared to, for noise or for a murmur that never stops; there it is a click where the find fills as little of
// systole as one: the shortest of 304 simulated systolic murmurs fills 0.15, 22 of 24 simulated clicks at most 0.09. In a short systole the smoothing
// alone makes it wider than that: 20 ms of its own and 45 of the two averages, seen from 30 % of the peak on.
static const double CLICK_REACH_S = 0.03, CLICK_STANDS_S[2] = {0.0175, 0.0375} /* between cells */, CLICK_MOST_SHARE = 0.12, CLICK_MOST_S = 0.055;
static const double NEAR_MOST_DB = -15, OVER_USUAL = 2;
enum { CLICK_ROW = 2 }; // from 150 Hz on: S1 hardly reaches so high

static bool is_at_click(const girthline_murmur_phase *p, const gn_murmur_cube *cube, const girthline_result *result) {
  const girthline_extra *x = gn_result_extra(result, GIRTHLINE_CLICK);
  return x && x->delay_s > p->start_fraction * cube->systole_s - CLICK_REACH_S && x->delay_s < p->end_fraction * cube->systole_s + CLICK_REACH_S;
}

// How long a band is near the most it has in systole's quiet part; seconds.
static double stands_out_s(gn_murmur_test *t, size_t row) {
  const gn_murmur_cube *cube = t->cube;
  const float *contour = cube->contour + row * cube->n_cells;
  double most = 0;
  size_t n_quiet = 0, n = 0;
  for (size_t c = 0; c < cube->n_cells; c++)
    if (gn_murmur_is_quiet(cube, c) && !isnan(contour[c])) t->quiet[n_quiet++] = (double)contour[c];
  if (!n_quiet) return 0;
  const double usual = gn_median(t->quiet, n_quiet);
  for (size_t c = cube->s1_end; c < cube->s2_start; c++) most = fmax(most, (double)contour[c] - usual);
  for (size_t c = cube->s1_end; c < cube->s2_start; c++) n += (double)contour[c] - usual > fmax(gn_from_db(NEAR_MOST_DB) * most, OVER_USUAL * usual);
  return (double)n * GN_MURMUR_CELL_S;
}

static bool is_click(gn_murmur_test *t, const girthline_murmur_phase *p, const gn_murmur_evidence *e, const girthline_result *result) {
  double stands_s[GN_MURMUR_BANDS];
  size_t n = 0;
  if (p->phase != GIRTHLINE_SYSTOLE || !is_at_click(p, t->cube, result)) return false;
  for (size_t row = CLICK_ROW; row < GN_MURMUR_BANDS; row++)
    if (e->rows >> row & 1) stands_s[n++] = stands_out_s(t, row);
  const double usual_s = n ? gn_median(stands_s, n) : 0, share = p->end_fraction - p->start_fraction;
  if (usual_s > CLICK_STANDS_S[0]) return usual_s < CLICK_STANDS_S[1];
  return share < CLICK_MOST_SHARE || share * t->cube->systole_s < CLICK_MOST_S;
}

static bool is_doubtful(const girthline_murmur_phase *p, const gn_murmur_evidence *e, const girthline_murmur_limits *limits) {
  return e->z < limits->z_sure && (e->far || e->locked < limits->chance_deviations) && e->x_db <= DOUBTFUL_X_DB && !(p->level_db >= DOUBTFUL_LEAST_DB);
}

bool gn_murmur_is_none(gn_murmur_test *t, bool usable, const gn_murmur_evidence *e, const girthline_murmur_phase *p, const girthline_result *result) {
  const double limit_db = result->murmur.detection_limit_db[e->phase];
  return is_tail(t, e) || is_skirt(t, e) || is_low_remainder(p, e, t->cube) || is_hidden(t, p, e, usable, limit_db) || is_background(p, e, t->limits) ||
         is_further_noise(e) || is_click(t, p, e, result) || is_doubtful(p, e, t->limits);
}
