// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/locked.h"

#include <math.h>
#include <string.h>

#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"
#include "base/wide.h"

// A breath swells and sinks within a beat or two, and between breaths there is hardly any noise: so every cell is held against the
// noise around it in time, not against its beat's, and tells the more the quieter it is there. Its amplitude over that of the noise,
// weighted, is added up over the beats and over stretches of the cycle, in each band and in neighbouring ones together. (Of cells' powers,
// that scatter as chi squared of few degrees, the logarithm makes too much of the smallest and the power itself of the greatest.) What that
// sum is by chance is seen by turning the quiet part of every beat by an amount of its own, which keeps the noise and loses the beats: a
// surrogate test of the largest sum. Numbers without a source are choices.
static const double AROUND_S = 0.35;     // the noise: this far to either side; a breath takes longer to come and go, most murmurs are shorter
static const double MOST_EXCESS = 2.5;   // one cell counts so much and no more
static const double MOST_POWER = 12;     // over the noise: what it adds to a power
static const double QUIET_NOISE = 0.25;  // quantile over cells: noise that much louder than it tells the less
static const double QUIET_CELL = 0.5;    // that much quieter than it tells little more
static const size_t AROUND_LEAST = 4;    // cells
static const size_t QUIET_LEAST = 8;     // cells
static const size_t STEP = 2;            // cells between stretches
static const double PART_OF_PHASE = 0.6; // the length between the windows' and the whole phase
static const double FAST_S = 0.45, SHORT_S[2] = {0.060, 0.030}, MIDDLE_SHARE = 0.14, LONG_SHARE = 0.20, LONG_S = 0.180; // as in the search
static const double RATIO_QUANTILE = 0.3; // over cells: the power's usual ratio to the noise
enum { PEELS = 4, PEEL_CELLS = 2 }; // times, and cells to either side
enum { N_SURROGATES = 100, LEAST_N = 4, FIRST = GN_MURMUR_LOCKED_FIRST, ROWS = GN_MURMUR_LOCKED_ROWS, LENGTHS = GN_MURMUR_LOCKED_LENGTHS };

double gn_murmur_locked_log(double excess) { return 2 * gn_log(1 + excess / 2); }

size_t gn_murmur_locked_row(size_t k) { return k < ROWS ? FIRST + k : GN_MURMUR_LOW; }

static size_t at_of(const gn_murmur_locked *l, size_t i, size_t b) { return b * l->m + i; }

void gn_murmur_locked_clear(gn_murmur_locked *l) {
  gn_free(l->cells);
  gn_free(l->times);
  gn_free(l->sums);
  gn_free(l->squares);
  gn_free(l->run);
  gn_free(l->known);
  gn_free(l->excess);
  gn_free(l->weight);
  gn_free(l->noise);
  gn_free(l->power);
  gn_free(l->logs);
  gn_free(l->scratch);
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
    for (size_t length = 0; length < LENGTHS; length++) {
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

// The mean logarithm of the power around every cell in time, from logarithms in out. The cells of a beat lie in time order, or nearly.
static void noise_around(const gn_murmur_locked *l, const float *logs, float *out) {
  const size_t n = l->m * l->n_beats;
  const double *times = l->times;
  size_t low = 0, high = 0, kept = 0; // places in order of time: beat by beat
  double sum = 0;
  for (size_t here = 0; here < n; here++) {
    out[here] = NAN;
    if (isnan(logs[here])) continue;
    for (; high < n; high++) {
      if (isnan(logs[high])) continue;
      if (times[high] > times[here] + AROUND_S) break;
      sum += (double)logs[high];
      kept++;
    }
    for (; low < high; low++) {
      if (isnan(logs[low])) continue;
      if (times[low] >= times[here] - AROUND_S) break;
      sum -= (double)logs[low];
      kept--;
    }
    if (kept >= AROUND_LEAST) out[here] = (float)(sum / (double)kept);
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

// The same with power added. Where that is none, they are as they were.
static void add_power(const gn_murmur_locked *l, size_t k, const double *added, float *logs) {
  const size_t n = l->m * l->n_beats;
  for (size_t b = 0; b < l->n_beats; b++)
    for (size_t from = 0; from < l->m; from += MANY) {
      const size_t at = at_of(l, from, b), some = l->m - from < MANY ? l->m - from : MANY;
      const float *power = l->power + k * n + at, *noise = l->noise + k * n + at, *before = l->logs + k * n + at;
      double there[MANY];
      bool stays[MANY];
      for (size_t i = 0; i < some; i++) {
        logs[at + i] = isnan(noise[i]) ? NAN : before[i];
        stays[i] = isnan(logs[at + i]) || added[from + i] == 0;
        there[i] = stays[i] ? 1 : (double)power[i] * (1 + added[from + i] / (l->usual_ratio[k] * (double)noise[i]));
        if (!(there[i] > 0)) there[i] = NAN;
      }
      gn_log_many(there, some);
      for (size_t i = 0; i < some; i++)
        if (!stays[i]) logs[at + i] = (float)(there[i] - l->known[k * l->m + from + i]);
    }
}

// Excess less what is usual; weight from the noise; both 0 where they are missing.
GN_WIDE static void weigh(float *restrict excess, float *restrict weight, size_t n, double usual, double quiet) {
  for (size_t j = 0; j < n; j++) {
    const double x = (double)excess[j] - usual, w = 1 / (QUIET_CELL + (double)weight[j] / quiet);
    const bool there = !isnan(excess[j]);
    excess[j] = there ? (float)x : 0;
    weight[j] = there ? (float)w : 0;
  }
}

void gn_murmur_locked_fill(gn_murmur_locked *l, size_t k, const double *added, float *excess, float *weight) {
  const size_t n = l->m * l->n_beats;
  float *noise = l->noise + k * n;
  const float *logs = added ? excess : l->logs + k * n;
  if (added) add_power(l, k, added, excess);
  else take_logs(l, k);
  noise_around(l, logs, weight);
  for (size_t from = 0; from < n; from += MANY) {
    const size_t some = n - from < MANY ? n - from : MANY;
    double power[MANY], amplitude[MANY];
    for (size_t i = 0; i < some; i++) power[i] = (double)weight[from + i], amplitude[i] = ((double)logs[from + i] - power[i]) / 2;
    gn_exp_many(power, some);
    gn_exp_many(amplitude, some);
    for (size_t i = 0, j = from; i < some; i++, j++) {
      const double x = 2 * (amplitude[i] - 1);
      excess[j] = (float)(x > MOST_EXCESS ? MOST_EXCESS : x);
      weight[j] = isnan(x) ? NAN : (float)power[i];
    }
  }
  if (!added) {
    memcpy(noise, weight, n * sizeof *noise);
    l->quiet[k] = gn_murmur_quantile(noise, n, QUIET_NOISE, l->scratch);
    l->usual[k] = gn_murmur_quantile(excess, n, 0.5, l->scratch);
  }
  weigh(excess, weight, n, l->usual[k], l->quiet[k]);
}

GN_WIDE static void add_products(const float *restrict excess, const float *restrict weight, size_t n, double *restrict sums, double *restrict squares) {
  for (size_t i = 0; i < n; i++) {
    const double w = (double)weight[i];
    sums[i] += w * (double)excess[i];
    squares[i] += w * w;
  }
}

// Sums over the beats, each turned by its own amount (NULL: not), then over every stretch.
static void add_up(gn_murmur_locked *l, const float *excess, const float *weight, const size_t *turns, float *out) {
  const size_t m = l->m;
  memset(l->sums, 0, (m + 1) * sizeof *l->sums);
  memset(l->squares, 0, (m + 1) * sizeof *l->squares);
  for (size_t b = 0; b < l->n_beats; b++) {
    const float *e = excess + at_of(l, 0, b), *w = weight + at_of(l, 0, b);
    const size_t turn = turns ? turns[b] : 0;
    add_products(e + turn, w + turn, m - turn, l->sums + 1, l->squares + 1);
    add_products(e, w, turn, l->sums + 1 + m - turn, l->squares + 1 + m - turn);
  }
  for (size_t i = 0; i < m; i++) {
    l->sums[i + 1] = l->sums[i] + l->sums[i + 1];
    l->squares[i + 1] = l->squares[i] + l->squares[i + 1];
  }
  for (size_t s = 0; s < l->n_stretches; s++) {
    const size_t a = l->stretches[s].at, b = a + l->stretches[s].n;
    const double squares = l->squares[b] - l->squares[a];
    out[s] = squares > 0 ? (float)((l->sums[b] - l->sums[a]) / sqrt(squares)) : 0;
  }
}

// The bands of a set: neighbours, one to all.
static void rows_of(size_t set, size_t *from, size_t *to) {
  size_t k = 0;
  for (*from = 0; *from < ROWS; ++*from)
    for (*to = *from + 1; *to <= ROWS; ++*to)
      if (k++ == set) return;
}

unsigned gn_murmur_locked_rows(size_t set) {
  size_t from, to;
  rows_of(set, &from, &to);
  return ((1u << (to - from)) - 1) << (FIRST + from);
}

double gn_murmur_locked_in(const gn_murmur_locked *l, const float *statistic, size_t set, size_t s) {
  size_t from, to;
  rows_of(set, &from, &to);
  const size_t length = l->stretches[s].length;
  double sum = 0;
  for (size_t k = from; k < to; k++) sum += ((double)statistic[k * l->n_stretches + s] - l->mean[k][length]) / l->sd[k][length];
  return sum / l->set_sd[set];
}

// The same of every set, in their order, but for its spread.
static void sums_of_sets(const gn_murmur_locked *l, const float *statistic, size_t s, double out[GN_MURMUR_LOCKED_SETS]) {
  const size_t length = l->stretches[s].length;
  double x[ROWS];
  size_t set = 0;
  for (size_t k = 0; k < ROWS; k++) x[k] = ((double)statistic[k * l->n_stretches + s] - l->mean[k][length]) / l->sd[k][length];
  for (size_t from = 0; from < ROWS; from++) {
    double sum = 0;
    for (size_t k = from; k < ROWS; k++) out[set++] = sum += x[k];
  }
}

static double largest(const gn_murmur_locked *l, const float *statistic) {
  double most = -HUGE_VAL;
  for (size_t s = 0; s < l->n_stretches; s++) {
    double x[GN_MURMUR_LOCKED_SETS];
    sums_of_sets(l, statistic, s, x);
    for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++) most = fmax(most, x[set] / l->set_sd[set]);
  }
  return most;
}

// Mean and spread by band and length, then the spread of the sets.
static void learn_usual(gn_murmur_locked *l, const float *surrogates) {
  double n[LENGTHS] = {0};
  memset(l->mean, 0, sizeof l->mean);
  memset(l->sd, 0, sizeof l->sd);
  for (size_t s = 0; s < l->n_stretches; s++) n[l->stretches[s].length] += N_SURROGATES;
  for (size_t r = 0; r < N_SURROGATES; r++)
    for (size_t k = 0; k <= ROWS; k++)
      for (size_t s = 0; s < l->n_stretches; s++) {
        const double x = (double)surrogates[(r * (ROWS + 1) + k) * l->n_stretches + s];
        l->mean[k][l->stretches[s].length] += x;
        l->sd[k][l->stretches[s].length] += x * x;
      }
  for (size_t k = 0; k <= ROWS; k++)
    for (size_t length = 0; length < LENGTHS; length++) {
      const double mean = n[length] > 0 ? l->mean[k][length] / n[length] : 0, square = n[length] > 0 ? l->sd[k][length] / n[length] : 0;
      l->mean[k][length] = mean;
      l->sd[k][length] = square > mean * mean ? sqrt(square - mean * mean) : HUGE_VAL;
    }
  double squares[GN_MURMUR_LOCKED_SETS] = {0};
  for (size_t r = 0; r < N_SURROGATES; r++)
    for (size_t s = 0; s < l->n_stretches; s++) {
      double x[GN_MURMUR_LOCKED_SETS];
      sums_of_sets(l, surrogates + r * (ROWS + 1) * l->n_stretches, s, x);
      for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++) squares[set] += x[set] * x[set];
    }
  for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++)
    l->set_sd[set] = squares[set] > 0 ? sqrt(squares[set] / (double)(N_SURROGATES * l->n_stretches)) : 1;
}

static int against_chance(gn_murmur_locked *l) {
  float *surrogates = gn_new((size_t)N_SURROGATES * (ROWS + 1) * l->n_stretches, sizeof *surrogates);
  size_t *turns = gn_new(l->n_beats, sizeof *turns);
  const int refused = !surrogates || !turns;
  const size_t n = l->m * l->n_beats;
  gn_random random = gn_random_of(43);
  for (size_t r = 0; !refused && r < N_SURROGATES; r++) {
    for (size_t b = 0; b < l->n_beats; b++) turns[b] = (size_t)gn_random_below(&random, l->m);
    for (size_t k = 0; k <= ROWS; k++) add_up(l, l->excess + k * n, l->weight + k * n, turns, surrogates + (r * (ROWS + 1) + k) * l->n_stretches);
  }
  double sum = 0, squares = 0;
  if (!refused) learn_usual(l, surrogates);
  for (size_t r = 0; !refused && r < N_SURROGATES; r++) {
    const double most = largest(l, surrogates + r * (ROWS + 1) * l->n_stretches);
    sum += most;
    squares += most * most;
  }
  l->best_mean = sum / N_SURROGATES;
  const double variance = squares / N_SURROGATES - l->best_mean * l->best_mean;
  l->best_sd = variance > 0 ? sqrt(variance) : HUGE_VAL;
  gn_free(surrogates);
  gn_free(turns);
  return refused ? -1 : 0;
}

void gn_murmur_locked_test(gn_murmur_locked *l, size_t k, const float *excess, const float *weight, float *statistic) {
  add_up(l, excess, weight, NULL, statistic + k * l->n_stretches);
}

// Running sums over the quiet cells. What is quiet tells the most of a power, too; a cell far over its noise is no murmur's.
static void gather_power(gn_murmur_locked *l, size_t k) {
  const size_t n = l->m * l->n_beats;
  const float *weight = l->weight + k * n, *noise = l->noise + k * n, *excess = l->excess + k * n;
  gn_murmur_sums *run = l->run + k * (l->m + 1);
  run[0] = (gn_murmur_sums){0};
  for (size_t i = 0; i < l->m; i++) {
    const float *power = gn_murmur_cell(l->cube, gn_murmur_locked_row(k), l->cells[i]);
    run[i + 1] = run[i];
    for (size_t b = 0; b < l->n_beats; b++) {
      const size_t at = at_of(l, i, b);
      const double usual = (double)noise[at], w = 1 / (1 + usual / l->quiet[k]);
      if (!((double)weight[at] > 0)) continue;
      run[i + 1].power += w * w * ((double)power[b] < MOST_POWER * usual ? (double)power[b] : MOST_POWER * usual);
      run[i + 1].noise += w * w * usual;
      run[i + 1].squares += w * w;
      run[i + 1].weights += w;
      run[i + 1].excess += w * (double)excess[at];
    }
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

static void learn_ratio(gn_murmur_locked *l, size_t k) {
  size_t kept = 0;
  gather_power(l, k);
  l->usual_ratio[k] = 1;
  for (size_t i = 0; i < l->m; i++) {
    double x[2];
    gn_murmur_locked_power(l, k, i, 1, x);
    if (x[1] > 0) l->scratch[kept++] = (float)(x[0] / x[1] + 1);
  }
  if (kept) l->usual_ratio[k] = (double)gn_quantile_f(l->scratch, kept, RATIO_QUANTILE);
}

static int allocate(gn_murmur_locked *l) {
  const size_t n_cells = l->cube->n_cells, n = n_cells * l->n_beats;
  l->cells = gn_new(n_cells, sizeof *l->cells);
  l->times = gn_new(n, sizeof *l->times);
  l->sums = gn_new(n_cells + 1, sizeof *l->sums);
  l->squares = gn_new(n_cells + 1, sizeof *l->squares);
  l->run = gn_new((ROWS + 1) * (n_cells + 1), sizeof *l->run);
  l->known = gn_new((ROWS + 1) * n_cells, sizeof *l->known);
  l->excess = gn_new((ROWS + 1) * n, sizeof *l->excess);
  l->weight = gn_new((ROWS + 1) * n, sizeof *l->weight);
  l->noise = gn_new((ROWS + 1) * n, sizeof *l->noise);
  l->power = gn_new((ROWS + 1) * n, sizeof *l->power);
  l->logs = gn_new((ROWS + 1) * n, sizeof *l->logs);
  l->scratch = gn_new(n, sizeof *l->scratch);
  l->stretches = gn_new(LENGTHS * (n_cells + 2), sizeof *l->stretches);
  l->statistic = gn_new(ROWS * LENGTHS * (n_cells + 2), sizeof *l->statistic);
  const bool there = l->cells && l->times && l->sums && l->squares && l->run && l->known && l->excess && l->weight && l->noise && l->power && l->logs && l->scratch && l->stretches &&
                     l->statistic;
  return there ? 0 : -1;
}

// Excess, weight and noise of every band, and what they are by chance.
static int learn(gn_murmur_locked *l) {
  const size_t n = l->m * l->n_beats;
  l->usable = false;
  for (size_t k = 0; k <= ROWS; k++) {
    gn_murmur_locked_fill(l, k, NULL, l->excess + k * n, l->weight + k * n);
    if (!(l->quiet[k] > 0)) return 0; // digital silence
    learn_ratio(l, k);
  }
  if (against_chance(l)) return -1;
  l->comes_back = gn_murmur_locked_comes_back(l);
  for (size_t k = 0; k < ROWS; k++) gn_murmur_locked_test(l, k, l->excess + k * n, l->weight + k * n, l->statistic);
  l->usable = true;
  return 0;
}

// A murmur raises the noise around it and hides one in the other phase: its own course is taken off, again and again, as each time
// the noise sinks a little.
int gn_murmur_locked_peel(gn_murmur_locked *l, int phase) {
  const size_t from = phase ? l->n_systole : 0, to = phase ? l->m : l->n_systole;
  if (!l->usable) return 0;
  for (int pass = 0; pass < PEELS; pass++)
    for (size_t k = 0; k <= ROWS; k++) {
      for (size_t i = from; i < to; i++) {
        const size_t a = i > from + PEEL_CELLS ? i - PEEL_CELLS : from, b = i + PEEL_CELLS + 1 < to ? i + PEEL_CELLS + 1 : to;
        const gn_murmur_sums *run = l->run + k * (l->m + 1);
        const double weights = run[b].weights - run[a].weights, mean = weights > 0 ? (run[b].excess - run[a].excess) / weights : 0;
        if (mean > 0) l->known[k * l->m + i] += gn_murmur_locked_log(mean);
      }
      gn_murmur_locked_fill(l, k, NULL, l->excess + k * l->m * l->n_beats, l->weight + k * l->m * l->n_beats);
      gather_power(l, k);
    }
  return learn(l);
}

int gn_murmur_locked_init(gn_murmur_locked *l, const gn_murmur_cube *cube, const gn_murmur_beat *beats) {
  *l = (gn_murmur_locked){.cube = cube, .n_beats = cube->n_beats, .fast = cube->interval_s < 2 * AROUND_S};
  if (cube->n_beats < GN_MURMUR_LOCKED_BEATS || !(cube->s1_power > 0)) return 0;
  if (allocate(l)) return -1;
  take_cells(l);
  if (l->m < QUIET_LEAST) return 0;
  take_times(l, beats);
  take_power(l);
  take_stretches(l);
  return learn(l);
}
