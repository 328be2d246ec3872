// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>
#include <string.h>

#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/relay.h"
#include "base/statistics.h"
#include "base/wide.h"

// A breath swells and sinks within a beat or two, and between breaths there is hardly any noise: so every cell is held against the
// noise around it in time, not against its beat's, and tells the more the quieter it is there. Its amplitude over that of the noise,
// weighted, is added up over the beats and over stretches of the cycle, in each band and in neighbouring ones together. (Of cells' powers,
// that scatter as chi squared of few degrees, the logarithm makes too much of the smallest and the power itself of the greatest.) What that
// sum is by chance is seen by turning the quiet part of every beat by an amount of its own, which keeps the noise and loses the beats: a
// surrogate test of the largest sum. Numbers without a source are choices.
// The noise: this far to either side; a breath takes longer to come and go, most murmurs are shorter. One that fills its phase would itself be the
// noise around: where the cycle is long enough such stretches are held against what lies further around, too.
static const double AROUND_S = 0.35, FAR_S = 0.7;
static const double MOST_EXCESS = 2.5;   // one cell counts so much and no more
static const double MOST_POWER = 12;     // over the noise: what it adds to a power
static const double QUIET_NOISE = 0.25;  // quantile over cells: noise that much louder than it tells the less
static const double QUIET_CELL = 0.5;    // that much quieter than it tells little more
static const double AROUND_LEAST = 4;    // cells
static const size_t QUIET_LEAST = 8;     // cells
static const size_t STEP = 2;            // cells between stretches
static const double PART_OF_PHASE = 0.6; // the length between the windows' and the whole phase
static const double FAST_S = 0.45, SHORT_S[2] = {0.060, 0.030}, MIDDLE_SHARE = 0.14, LONG_SHARE = 0.20, LONG_S = 0.180; // as in the search
static const double RATIO_QUANTILE = 0.3; // over cells: the power's usual ratio to the noise
enum { PEELS = 4, PEEL_CELLS = 2 }; // times, and cells to either side
enum { N_SURROGATES = GN_MURMUR_LOCKED_SURROGATES, LEAST_N = 4, FIRST = GN_MURMUR_LOCKED_FIRST, ROWS = GN_MURMUR_LOCKED_ROWS, LENGTHS = GN_MURMUR_LOCKED_LENGTHS };

double gn_murmur_locked_log(double excess) { return 2 * gn_log(1 + excess / 2); }

size_t gn_murmur_locked_row(size_t k) { return k < ROWS ? FIRST + k : GN_MURMUR_LOW; }

static size_t at_of(const gn_murmur_locked *l, size_t i, size_t b) { return b * l->m + i; }

int gn_murmur_filling_init(gn_murmur_filling *f, size_t n) {
  *f = (gn_murmur_filling){gn_room(n, sizeof *f->logs), gn_room(n + 1, sizeof *f->come)};
  return f->logs && f->come ? 0 : -1;
}

void gn_murmur_filling_clear(gn_murmur_filling *f) {
  gn_free(f->logs);
  gn_free(f->come);
}

void gn_murmur_locked_clear(gn_murmur_locked *l) {
  if (l->far) gn_murmur_locked_clear(l->far);
  gn_free(l->far);
  gn_free(l->cells);
  gn_free(l->times);
  gn_free(l->around);
  gn_free(l->run);
  gn_free(l->known);
  gn_free(l->excess);
  gn_free(l->weight);
  gn_free(l->noise);
  gn_free(l->power);
  gn_free(l->logs);
  gn_free(l->stretches);
  gn_free(l->statistic);
  *l = (gn_murmur_locked){0};
}

// The quiet cells of a phase: of each band as far as it is quiet, of the heart sounds' own as far as any.
static void take_phase(gn_murmur_locked *l, int phase) {
  size_t cells[ROWS][2], first = l->cube->n_cells, last = 0;
  for (size_t k = 0; k < ROWS; k++) {
    gn_murmur_quiet_part(l->cube, gn_murmur_locked_row(k), phase, cells[k]);
    if (cells[k][0] < first) first = cells[k][0];
    if (cells[k][1] > last) last = cells[k][1];
  }
  for (size_t k = 0; k < ROWS; k++)
    for (int end = 0; end < 2; end++) l->reach[k][phase][end] = l->m + cells[k][end] - first;
  l->reach[ROWS][phase][0] = l->m;
  for (size_t c = first; c < last; c++) l->cells[l->m++] = c;
  l->reach[ROWS][phase][1] = l->m;
}

static void take_cells(gn_murmur_locked *l) {
  take_phase(l, 0);
  l->n_systole = l->m;
  take_phase(l, 1);
}

static bool is_looked_at(const gn_murmur_locked *l, size_t k, size_t i) {
  const size_t *reach = l->reach[k][i >= l->n_systole];
  return i >= reach[0] && i < reach[1];
}

gn_murmur_stretch gn_murmur_locked_seen(const gn_murmur_locked *l, size_t k, const gn_murmur_stretch *s) {
  const size_t *reach = l->reach[k][s->phase], end = s->at + s->n < reach[1] ? s->at + s->n : reach[1];
  gn_murmur_stretch seen = *s;
  if (seen.at < reach[0]) seen.at = reach[0];
  seen.n = end > seen.at ? end - seen.at : 0;
  return seen;
}

static void take_times(gn_murmur_locked *l, const gn_murmur_beat *beats) {
  for (size_t i = 0; i < l->m; i++)
    for (size_t b = 0; b < l->n_beats; b++) {
      const double start_s = isnan(beats[b].s1_s) ? beats[b].s2_s : beats[b].s1_s;
      const bool there = !isnan(gn_murmur_cell(l->cube, FIRST, l->cells[i])[b]);
      l->times[at_of(l, i, b)] = there ? start_s + gn_murmur_time_in_beat(l->cube, &beats[b], (double)l->cells[i] + 0.5) : (double)NAN;
    }
}

static void take_power(gn_murmur_locked *l) {
  for (size_t k = 0; k <= ROWS; k++)
    for (size_t i = 0; i < l->m; i++) {
      const float *power = gn_murmur_cell(l->cube, gn_murmur_locked_row(k), l->cells[i]);
      for (size_t b = 0; b < l->n_beats; b++) l->power[k * l->m * l->n_beats + at_of(l, i, b)] = is_looked_at(l, k, i) ? power[b] : NAN;
    }
}

// Windows as in the search, and stretches as long as most of a phase and all of it.
static void take_stretches(gn_murmur_locked *l) {
  const double interval_s = l->cube->interval_s, long_s = LONG_SHARE * interval_s;
  const double lengths_s[3] = {SHORT_S[interval_s < FAST_S], MIDDLE_SHARE * interval_s, long_s > LONG_S ? long_s : LONG_S};
  const size_t from[2] = {0, l->n_systole}, of[2] = {l->n_systole, l->m - l->n_systole};
  for (int phase = 0; phase < 2; phase++) {
    size_t shorter = 0;
    for (size_t length = l->is_far ? 3 : 0; length < LENGTHS; length++) {
      size_t n = length < 3 ? (size_t)(lengths_s[length] / GN_MURMUR_CELL_S + 0.5) : length == 3 ? (size_t)(PART_OF_PHASE * (double)of[phase]) : of[phase];
      if (n > of[phase]) n = of[phase];
      if (n < LEAST_N || n <= shorter) continue;
      shorter = n;
      const size_t step = length < 3 ? STEP : 1 + of[phase] / 10;
      for (size_t a = 0; a + n <= of[phase]; a += step)
        l->stretches[l->n_stretches++] = (gn_murmur_stretch){.phase = phase, .length = length, .at = from[phase] + a, .n = n};
    }
  }
}

// Which cells lie around each in time: from one up to another, in order of time, beat by beat. The cells of a beat lie in that order, or nearly.
static void take_around(gn_murmur_locked *l) {
  const size_t n = l->m * l->n_beats;
  const double *times = l->times;
  const double around_s = l->is_far ? FAR_S : AROUND_S;
  size_t low = 0, high = 0;
  for (size_t here = 0; here < n; here++) {
    if (isnan(times[here])) continue;
    while (high < n && !(times[high] > times[here] + around_s)) high++;
    while (!(times[low] >= times[here] - around_s)) low++;
    l->around[here][0] = (uint32_t)low;
    l->around[here][1] = (uint32_t)high;
  }
}

// What has come before each cell, and before the end.
static void add_up(const float *logs, size_t n, gn_murmur_come *come) {
  come[0] = (gn_murmur_come){0};
  for (size_t i = 0; i < n; i++) {
    const bool there = !isnan(logs[i]);
    come[i + 1] = (gn_murmur_come){come[i].sum + (there ? (double)logs[i] : 0), come[i].n + (there ? 1 : 0)};
  }
}

// The mean logarithm of the power around neighbouring cells, the first of which is the at-th in order of time.
static void noise_around(const gn_murmur_locked *l, const float *logs, const gn_murmur_come *come, size_t at, size_t n, float *out) {
  for (size_t i = at; i < at + n; i++) {
    const gn_murmur_come *first = come + l->around[i][0], *end = come + l->around[i][1];
    const double kept = end->n - first->n;
    out[i] = isnan(logs[i]) || kept < AROUND_LEAST ? NAN : (float)((end->sum - first->sum) / kept);
  }
}

enum { MANY = 256 }; // numbers at once

// Logarithms of the power, less what is known of a murmur.
static void take_logs(gn_murmur_locked *l, size_t k) {
  const size_t n = l->m * l->n_beats;
  for (size_t b = 0; b < l->n_beats; b++)
    for (size_t from = 0; from < l->m; from += MANY) {
      const size_t at = at_of(l, from, b), some = l->m - from < MANY ? l->m - from : MANY;
      const float *power = l->power + k * n + at;
      double there[MANY];
      for (size_t i = 0; i < some; i++) there[i] = (double)power[i] > 0 && !isnan(l->times[at + i]) ? (double)power[i] : (double)NAN;
      gn_log_many(there, some);
      for (size_t i = 0; i < some; i++) l->logs[k * n + at + i] = (float)(there[i] - l->known[k * l->m + from + i]);
    }
}

// The cells of a phase.
static void cells_of(const gn_murmur_locked *l, int phase, size_t cells[2]) {
  cells[0] = phase ? l->n_systole : 0;
  cells[1] = phase ? l->m : l->n_systole;
}

// The same with power added to a phase. Where that is none, they are as they were.
static void add_power(const gn_murmur_locked *l, size_t k, const size_t cells[2], const double *added, float *logs) {
  const size_t n = l->m * l->n_beats;
  memcpy(logs, l->logs + k * n, n * sizeof *logs);
  for (size_t b = 0; b < l->n_beats; b++)
    for (size_t from = cells[0]; from < cells[1]; from += MANY) {
      const size_t at = at_of(l, from, b), some = cells[1] - from < MANY ? cells[1] - from : MANY;
      const float *power = l->power + k * n + at, *noise = l->noise + k * n + at;
      double there[MANY];
      bool stays[MANY];
      for (size_t i = 0; i < some; i++) {
        stays[i] = isnan(logs[at + i]) || isnan(noise[i]) || added[from + i] == 0;
        there[i] = stays[i] ? 1 : (double)power[i] * (1 + added[from + i] / (l->usual_ratio[k] * (double)noise[i]));
        if (!(there[i] > 0)) there[i] = NAN;
      }
      gn_log_many(there, some);
      for (size_t i = 0; i < some; i++)
        if (!stays[i]) logs[at + i] = (float)(there[i] - l->known[k * l->m + from + i]);
    }
}

GN_WIDE static void keep_excess(const double *restrict amplitude, const double *restrict power, size_t n, float *restrict excess, float *restrict noise) {
  for (size_t i = 0; i < n; i++) {
    const double x = 2 * (amplitude[i] - 1);
    excess[i] = (float)(x > MOST_EXCESS ? MOST_EXCESS : x);
    noise[i] = isnan(x) ? NAN : (float)power[i];
  }
}

// From logarithms, excess and the noise around, of n neighbouring cells. (The noise's logarithms stand where it is to be.)
static void hold_against_noise(const float *logs, size_t n, float *excess, float *noise) {
  for (size_t from = 0; from < n; from += MANY) {
    const size_t some = n - from < MANY ? n - from : MANY;
    double power[MANY], amplitude[MANY];
    for (size_t i = 0; i < some; i++) power[i] = (double)noise[from + i], amplitude[i] = ((double)logs[from + i] - power[i]) / 2;
    gn_exp_many(power, some);
    gn_exp_many(amplitude, some);
    keep_excess(amplitude, power, some, excess + from, noise + from);
  }
}

// Excess less what is usual; weight from the noise; both 0 where they are missing.
GN_WIDE static void weigh(float *restrict excess, float *restrict weight, size_t n, float usual, float quiet) {
  const float quiet_cell = (float)QUIET_CELL * quiet;
  for (size_t j = 0; j < n; j++) {
    const float x = excess[j] - usual, w = quiet / (quiet_cell + weight[j]);
    const bool there = !isnan(excess[j]);
    excess[j] = there ? x : 0;
    weight[j] = there ? w : 0;
  }
}

void gn_murmur_locked_fill(const gn_murmur_locked *l, size_t k, int phase, const double *added, const gn_murmur_filling *with, float *excess, float *weight) {
  size_t cells[2];
  cells_of(l, phase, cells);
  add_power(l, k, cells, added, with->logs);
  add_up(with->logs, l->m * l->n_beats, with->come);
  for (size_t b = 0; b < l->n_beats; b++) {
    const size_t at = at_of(l, cells[0], b), n = cells[1] - cells[0];
    noise_around(l, with->logs, with->come, at, n, weight);
    hold_against_noise(with->logs + at, n, excess + at, weight + at);
    weigh(excess + at, weight + at, n, (float)l->usual[k], (float)l->quiet[k]);
  }
}

// Running sums over the quiet cells. What is quiet tells the most of a power, too; a cell far over its noise is no murmur's.
static void gather_power(const gn_murmur_locked *l, size_t k) {
  const size_t n = l->m * l->n_beats;
  gn_murmur_sums *run = l->run + k * (l->m + 1);
  memset(run, 0, (l->m + 1) * sizeof *run);
  for (size_t b = 0; b < l->n_beats; b++) {
    const float *power = l->power + k * n + at_of(l, 0, b), *weight = l->weight + k * n + at_of(l, 0, b), *noise = l->noise + k * n + at_of(l, 0, b),
                *excess = l->excess + k * n + at_of(l, 0, b);
    for (size_t i = 0; i < l->m; i++) {
      const double usual = (double)noise[i], w = l->quiet[k] / (l->quiet[k] + usual);
      if (!((double)weight[i] > 0)) continue;
      run[i + 1].power += w * w * ((double)power[i] < MOST_POWER * usual ? (double)power[i] : MOST_POWER * usual);
      run[i + 1].noise += w * w * usual;
      run[i + 1].squares += w * w;
      run[i + 1].weights += w;
      run[i + 1].excess += w * (double)excess[i];
    }
  }
  for (size_t i = 0; i < l->m; i++) {
    run[i + 1].power += run[i].power;
    run[i + 1].noise += run[i].noise;
    run[i + 1].squares += run[i].squares;
    run[i + 1].weights += run[i].weights;
    run[i + 1].excess += run[i].excess;
  }
}

void gn_murmur_locked_power(const gn_murmur_locked *l, size_t k, size_t at, size_t n, double out[2]) {
  const gn_murmur_sums *a = l->run + k * (l->m + 1) + at, *b = a + n;
  const double squares = b->squares - a->squares;
  out[1] = squares > 0 ? l->usual_ratio[k] * (b->noise - a->noise) / squares : 0;
  out[0] = squares > 0 ? (b->power - a->power) / squares - out[1] : 0;
}

double gn_murmur_locked_rise(const gn_murmur_locked *l, size_t k, const gn_murmur_stretch *s, double *error) {
  const gn_murmur_sums *a = l->run + k * (l->m + 1) + s->at, *b = a + s->n;
  const double weights = b->weights - a->weights;
  if (!(weights > 0)) return *error = HUGE_VAL, 0;
  *error = l->sd[k][s->length] * sqrt(b->squares - a->squares) / weights;
  return (b->excess - a->excess) / weights - l->mean[k][s->length] * sqrt(b->squares - a->squares) / weights;
}

static double ratio_of(const gn_murmur_locked *l, size_t k, float *scratch) {
  size_t kept = 0;
  for (size_t i = 0; i < l->m; i++) {
    double x[2];
    gn_murmur_locked_power(l, k, i, 1, x);
    if (x[1] > 0) scratch[kept++] = (float)(x[0] / x[1] + 1);
  }
  return kept ? (double)gn_quantile_f(scratch, kept, RATIO_QUANTILE) : 1;
}

static int allocate(gn_murmur_locked *l) {
  const size_t n_cells = l->cube->n_cells, n = n_cells * l->n_beats;
  l->cells = gn_new(n_cells, sizeof *l->cells);
  l->times = gn_new(n, sizeof *l->times);
  l->around = gn_new(n, sizeof *l->around);
  l->run = gn_new((ROWS + 1) * (n_cells + 1), sizeof *l->run);
  l->known = gn_new((ROWS + 1) * n_cells, sizeof *l->known);
  l->excess = gn_new((ROWS + 1) * n, sizeof *l->excess);
  l->weight = gn_new((ROWS + 1) * n, sizeof *l->weight);
  l->noise = gn_new((ROWS + 1) * n, sizeof *l->noise);
  l->power = gn_new((ROWS + 1) * n, sizeof *l->power);
  l->logs = gn_new((ROWS + 1) * n, sizeof *l->logs);
  l->stretches = gn_new(LENGTHS * (n_cells + 2), sizeof *l->stretches);
  l->statistic = gn_new(ROWS * LENGTHS * (n_cells + 2), sizeof *l->statistic);
  const bool there = l->cells && l->times && l->around && l->run && l->known && l->excess && l->weight && l->noise && l->power && l->logs && l->stretches && l->statistic;
  return there ? 0 : -1;
}

// Excess, weight and noise of a band.
static void learn_band(gn_murmur_locked *l, size_t k, const gn_murmur_filling *with) {
  const size_t n = l->m * l->n_beats;
  float *excess = l->excess + k * n, *weight = l->weight + k * n, *scratch = with->logs;
  const float *logs = l->logs + k * n;
  take_logs(l, k);
  add_up(logs, n, with->come);
  noise_around(l, logs, with->come, 0, n, weight);
  hold_against_noise(logs, n, excess, weight);
  memcpy(l->noise + k * n, weight, n * sizeof *weight);
  l->quiet[k] = gn_murmur_quantile(weight, n, QUIET_NOISE, scratch);
  l->usual[k] = gn_murmur_quantile(excess, n, 0.5, scratch);
  weigh(excess, weight, n, (float)l->usual[k], (float)l->quiet[k]);
  gather_power(l, k);
  l->usual_ratio[k] = 1;
  l->usual_ratio[k] = ratio_of(l, k, scratch);
}

// A murmur raises the noise around it and hides one in the other phase: its own course is taken off, again and again, as each time
// the noise sinks a little.
static void peel_band(gn_murmur_locked *l, size_t k, int phase, const gn_murmur_filling *with) {
  size_t cells[2];
  cells_of(l, phase, cells);
  const size_t from = cells[0], to = cells[1];
  const gn_murmur_sums *run = l->run + k * (l->m + 1);
  for (int pass = 0; pass < PEELS; pass++) {
    for (size_t i = from; i < to; i++) {
      const size_t a = i > from + PEEL_CELLS ? i - PEEL_CELLS : from, b = i + PEEL_CELLS + 1 < to ? i + PEEL_CELLS + 1 : to;
      const double weights = run[b].weights - run[a].weights, mean = weights > 0 ? (run[b].excess - run[a].excess) / weights : 0;
      if (mean > 0) l->known[k * l->m + i] += gn_murmur_locked_log(mean);
    }
    learn_band(l, k, with);
  }
}

// Bands, whichever is next, and what each is by chance; and what it is.
typedef struct half {
  gn_murmur_locked *l;
  _Atomic size_t *next;
  int peeled;          // the phase that is taken off; -1: none
  const size_t *turns; // [surrogate][beat]
  float *surrogates;   // [surrogate][band, and the heart sounds' own][stretch]
  bool silent;
  int refused;
} half;

static void learn_half(void *piece) {
  half *h = piece;
  gn_murmur_locked *l = h->l;
  const size_t n = l->m * l->n_beats;
  gn_murmur_adding with;
  gn_murmur_filling filling;
  h->refused = gn_murmur_adding_init(&with, l->m) | gn_murmur_filling_init(&filling, n);
  for (size_t k; !h->refused && !h->silent && (k = (*h->next)++) <= ROWS;) {
    const float *excess = l->excess + k * n, *weight = l->weight + k * n;
    if (h->peeled < 0) learn_band(l, k, &filling);
    else peel_band(l, k, h->peeled, &filling);
    h->silent = !(l->quiet[k] > 0);
    if (!h->silent) gn_murmur_locked_turn(l, excess, weight, h->turns, &with, h->surrogates + k * l->n_stretches);
    if (k < ROWS) gn_murmur_locked_test(l, excess, weight, &with, l->statistic + k * l->n_stretches);
  }
  gn_murmur_adding_clear(&with);
  gn_murmur_filling_clear(&filling);
}

static int learn(gn_murmur_locked *l, int peeled, bool shares) {
  float *surrogates = gn_room((size_t)N_SURROGATES * (ROWS + 1) * l->n_stretches, sizeof *surrogates);
  size_t *turns = gn_room(N_SURROGATES * l->n_beats, sizeof *turns);
  _Atomic size_t next = 0;
  half of[2] = {{l, &next, peeled, turns, surrogates, false, 0}, {l, &next, peeled, turns, surrogates, false, 0}};
  int refused = !surrogates || !turns;
  gn_random random = gn_random_of(43);
  for (size_t i = 0; !refused && i < N_SURROGATES * l->n_beats; i++) turns[i] = (size_t)gn_random_below(&random, l->m);
  if (!refused) gn_relay_both(learn_half, &of[0], &of[1], shares);
  refused = refused || of[0].refused || of[1].refused;
  l->usable = !refused && !of[0].silent && !of[1].silent;
  if (l->usable) {
    gn_murmur_locked_learn_chance(l, surrogates);
    l->comes_back = gn_murmur_locked_comes_back(l);
  }
  gn_free(surrogates);
  gn_free(turns);
  return refused ? -1 : 0;
}

int gn_murmur_locked_peel(gn_murmur_locked *l, int phase, bool shares) {
  if (l->far && gn_murmur_locked_peel(l->far, phase, shares)) return -1;
  return l->usable ? learn(l, phase, shares) : 0;
}

static int init(gn_murmur_locked *l, bool is_far, const gn_murmur_cube *cube, const gn_murmur_beat *beats, bool shares) {
  *l = (gn_murmur_locked){.cube = cube, .n_beats = cube->n_beats, .fast = cube->interval_s < 2 * AROUND_S, .is_far = is_far};
  if (cube->n_beats < GN_MURMUR_LOCKED_BEATS || !(cube->s1_power > 0)) return 0;
  if (allocate(l)) return -1;
  take_cells(l);
  if (l->m < QUIET_LEAST) return 0;
  take_times(l, beats);
  take_around(l);
  take_power(l);
  take_stretches(l);
  return learn(l, -1, shares);
}

int gn_murmur_locked_init(gn_murmur_locked *l, const gn_murmur_cube *cube, const gn_murmur_beat *beats, bool shares) {
  if (init(l, false, cube, beats, shares)) return -1;
  if (!l->usable || cube->interval_s < 2 * FAR_S) return 0;
  l->far = gn_new(1, sizeof *l->far);
  return l->far ? init(l->far, true, cube, beats, shares) : -1;
}
