// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What keeps step with the beats, against the noise around it in time: the test that works in noise.
#ifndef GN_MURMUR_LOCKED_H
#define GN_MURMUR_LOCKED_H

#include "murmur/parts.h"

enum {
  GN_MURMUR_LOCKED_FIRST = 1, ///< the lowest band is left out: the heart sounds' own tails keep step too
  GN_MURMUR_LOCKED_ROWS = GN_MURMUR_BANDS - GN_MURMUR_LOCKED_FIRST,
  GN_MURMUR_LOCKED_SETS = GN_MURMUR_LOCKED_ROWS * (GN_MURMUR_LOCKED_ROWS + 1) / 2, ///< neighbouring bands together
  GN_MURMUR_LOCKED_LENGTHS = 5,
  GN_MURMUR_LOCKED_SURROGATES = 100,
  GN_MURMUR_LOCKED_BEATS = 5 ///< with fewer, chance cannot be told
};

/// A stretch of one phase, in quiet cells.
typedef struct gn_murmur_stretch {
  int phase;
  size_t length, at, n;
} gn_murmur_stretch;

/// Running sums over cells and beats: squares weigh powers, weights excess.
typedef struct gn_murmur_sums { double power, noise, squares, weights, excess; } gn_murmur_sums;

typedef struct gn_murmur_locked {
  bool usable, fast;            ///< fast: the noise around a cell is that of the whole cycle
  bool is_far;                  ///< against the noise further around, of stretches as long as a phase or most of it
  struct gn_murmur_locked *far; ///< that test beside this one; NULL: a short cycle, or far itself
  const gn_murmur_cube *cube;
  size_t n_beats, m, n_systole; ///< quiet cells, of whichever band is quiet longest, and those of systole
  size_t reach[GN_MURMUR_LOCKED_ROWS + 1][2][2]; ///< [band, and the heart sounds' own][phase]: from where to where the band is looked at, quiet cells
  size_t *cells;                ///< the picture's cell of each quiet one
  double *times;                ///< [beat][quiet cell], seconds; NaN: missing
  uint32_t (*around)[2];        ///< [beat][quiet cell]: from which of these up to which they lie around it in time
  gn_murmur_sums *run;          ///< [band][quiet cell + 1]
  double *known;                ///< [band][quiet cell]: logarithm taken off, of a murmur that has been found
  float *excess, *weight;       ///< [band, and the heart sounds' own][beat][quiet cell]: over the noise around, weight; 0: missing
  float *noise;                 ///< likewise: power of the noise around; NaN: missing
  float *power, *logs;          ///< likewise: power as it is; its logarithm less what is known; NaN: missing
  gn_murmur_stretch *stretches;
  size_t n_stretches;
  float *statistic;             ///< [band][stretch]
  double quiet[GN_MURMUR_LOCKED_ROWS + 1], usual[GN_MURMUR_LOCKED_ROWS + 1], usual_ratio[GN_MURMUR_LOCKED_ROWS + 1];
  double mean[GN_MURMUR_LOCKED_ROWS + 1][GN_MURMUR_LOCKED_LENGTHS], sd[GN_MURMUR_LOCKED_ROWS + 1][GN_MURMUR_LOCKED_LENGTHS];
  double set_sd[GN_MURMUR_LOCKED_SETS];
  double best_mean, best_sd;    ///< of the largest statistic by chance
  double comes_back;            ///< see gn_murmur_locked_comes_back
} gn_murmur_locked;

/// Room of a call's own to add up in: over beats, of m quiet cells; a beat's; running sums over the cells.
typedef struct gn_murmur_adding { float *products, *weights, *around; double *sums, *squares; } gn_murmur_adding;

/// What has come before a cell, of those that are there: the sum of the logarithms, and how many.
typedef struct gn_murmur_come { double sum, n; } gn_murmur_come;

/// Room of a call's own to hold n cells against the noise around them in: a float each, and what has come before it.
typedef struct gn_murmur_filling { float *logs; gn_murmur_come *come; } gn_murmur_filling;

int gn_murmur_filling_init(gn_murmur_filling *filling, size_t n); ///< 0, or -1 when memory is refused (clear it all the same)
void gn_murmur_filling_clear(gn_murmur_filling *filling);

int gn_murmur_adding_init(gn_murmur_adding *adding, size_t m); ///< 0, or -1 when memory is refused (clear it all the same)
void gn_murmur_adding_clear(gn_murmur_adding *adding);

/// Excess is twice the amplitude over that of the noise around, less two: where it is small, the logarithm of the power. This is the logarithm it
/// stands for.
double gn_murmur_locked_log(double excess);

/// shares: a second thread may be taken. 0, or -1 when memory is refused (clear it all the same). Not usable where there are too few beats or no noise.
int gn_murmur_locked_init(gn_murmur_locked *l, const gn_murmur_cube *cube, const gn_murmur_beat *beats, bool shares);
void gn_murmur_locked_clear(gn_murmur_locked *l); ///< accepts a zeroed one

/// Take off what is found in a phase, so that it hides nothing in the other; a second thread may take a share. 0, or -1 when memory is refused.
int gn_murmur_locked_peel(gn_murmur_locked *l, int phase, bool shares);

/// Excess and weight of band k in a phase, [beat][quiet cell], with power added to it: power in the mean, that fluctuates as the noise does and adds
/// to it.
void gn_murmur_locked_fill(const gn_murmur_locked *l, size_t k, int phase, const double *added, const gn_murmur_filling *with, float *excess, float *weight);

/// The statistic of a band's excess and weight over every stretch.
void gn_murmur_locked_test(const gn_murmur_locked *l, const float *excess, const float *weight, const gn_murmur_adding *with, float *statistic);

/// The same of every surrogate, each of whose beats is turned by its own amount: turns [surrogate][beat], into the band's place of statistics
/// [surrogate][band, and the heart sounds' own][stretch].
void gn_murmur_locked_turn(const gn_murmur_locked *l, const float *excess, const float *weight, const size_t *turns, const gn_murmur_adding *with, float *statistics);

/// What it is by chance, from surrogates [surrogate][band, and the heart sounds' own][stretch].
void gn_murmur_locked_learn_chance(gn_murmur_locked *l, const float *surrogates);

/// The statistic of a set of bands over stretch s: mean 0 and spread 1 by chance.
double gn_murmur_locked_in(const gn_murmur_locked *l, const float *statistic, size_t set, size_t s);

/// Bit per band of the picture in the set.
unsigned gn_murmur_locked_rows(size_t set);

/// What keeps step in band k (ROWS: the heart sounds' own) over n quiet cells: power over the noise, which may be negative; the noise.
void gn_murmur_locked_power(const gn_murmur_locked *l, size_t k, size_t at, size_t n, double out[2]);

/// The weighted mean excess, less what is usual, and its error by chance.
double gn_murmur_locked_rise(const gn_murmur_locked *l, size_t k, const gn_murmur_stretch *s, double *error);

/// The rise over n quiet cells that all bands share as a recorder's gain would make it, a share of the noise; 0: none.
double gn_murmur_locked_gain(const gn_murmur_locked *l, size_t at, size_t n);

/// Let go of what is found by excess alone and rises in every band alike: the recorder's gain.
void gn_murmur_drop_gain(gn_murmur_test *test, const gn_murmur_locked *l, gn_murmur_evidence by_row[GN_MURMUR_BANDS]);

/// By how much the noise may have come back from the first third of diastole to the last, a logarithm: so much and its error, in the band that
/// tells it best. HUGE_VAL where that cannot be told.
double gn_murmur_locked_comes_back(const gn_murmur_locked *l);

/// The part of a stretch in which band k is looked at; may be empty.
gn_murmur_stretch gn_murmur_locked_seen(const gn_murmur_locked *l, size_t k, const gn_murmur_stretch *s);

/// The picture's row of band k.
size_t gn_murmur_locked_row(size_t k);

/// What the statistic of a set must reach to be told.
double gn_murmur_locked_least(const gn_murmur_locked *l, const gn_murmur_test *test, size_t set);

/// Add to the evidence by band what is found in the phase.
void gn_murmur_locked_find(const gn_murmur_locked *l, gn_murmur_test *test, int phase, gn_murmur_evidence by_row[GN_MURMUR_BANDS]);

/// Is what was found by excess alone borne out where it was found? l must be usable.
bool gn_murmur_locked_supports(const gn_murmur_locked *l, const gn_murmur_evidence *e);

/// Level and its interval of what keeps step in cells [heard[0], heard[1]) of the picture, in the levels' band, with or without the
/// heart sounds' own; left alone where that cannot be told. -1 when memory is refused.
int gn_murmur_locked_level(const gn_murmur_locked *l, const size_t heard[2], bool low_too, double hidden_db, girthline_murmur_phase *out);

/// *limit_db: the level, measured as level_db is, at which murmurs of the usual kinds are found in nine of ten. -1 when memory is refused.
int gn_murmur_locked_limit_db(const gn_murmur_locked *l, gn_murmur_test *test, int phase, double *limit_db);

#endif
