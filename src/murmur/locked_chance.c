// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// What keeps step, added up over the beats, and what that sum is by chance.
#include "murmur/locked.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/wide.h"

enum { FIRST = GN_MURMUR_LOCKED_FIRST, ROWS = GN_MURMUR_LOCKED_ROWS, LENGTHS = GN_MURMUR_LOCKED_LENGTHS, N_SURROGATES = GN_MURMUR_LOCKED_SURROGATES };
enum { TOGETHER = 10, SIDE = sizeof(gn_eight) / sizeof(float) }; // surrogates; cells

// A row of the sums: as many cells as fill vectors.
static size_t row_n(size_t m) { return (m + SIDE - 1) / SIDE * SIDE; }

int gn_murmur_adding_init(gn_murmur_adding *a, size_t m) {
  const size_t n = row_n(m);
  *a = (gn_murmur_adding){gn_new(TOGETHER * n, sizeof *a->products), gn_new(TOGETHER * n, sizeof *a->weights), gn_new(4 * n, sizeof *a->around),
                          gn_new(m + 1, sizeof *a->sums), gn_new(m + 1, sizeof *a->squares)};
  return a->products && a->weights && a->around && a->sums && a->squares ? 0 : -1;
}

void gn_murmur_adding_clear(gn_murmur_adding *a) {
  gn_free(a->products);
  gn_free(a->weights);
  gn_free(a->around);
  gn_free(a->sums);
  gn_free(a->squares);
}

GN_WIDE_PART void add_cells(const float *from, size_t n, float *to) {
  for (size_t i = 0; i < n; i += SIDE) *(gn_eight *)(to + i) += *(const gn_eight *)(from + i);
}

// Over the beats, each turned by its own amount (NULL: by none), several times at once. A beat's products lie twice around, and so each turned
// beat's in one piece, in the nearest cache.
GN_WIDE static void add_beats(const float *restrict excess, const float *restrict weight, size_t m, size_t n_beats, const size_t *turns, size_t n_times,
                              const gn_murmur_adding *with) {
  const size_t n = row_n(m);
  float *restrict product = with->around, *restrict square = with->around + 2 * n;
  memset(with->products, 0, n_times * n * sizeof *with->products);
  memset(with->weights, 0, n_times * n * sizeof *with->weights);
  for (size_t b = 0; b < n_beats; b++, excess += m, weight += m) {
    for (size_t i = 0; i < m; i++) product[i] = product[m + i] = weight[i] * excess[i];
    for (size_t i = 0; i < m; i++) square[i] = square[m + i] = weight[i] * weight[i];
    for (size_t k = 0; k < n_times; k++) {
      const size_t turn = turns ? turns[k * n_beats + b] : 0;
      add_cells(product + turn, n, with->products + k * n);
      add_cells(square + turn, n, with->weights + k * n);
    }
  }
}

// The sums over the beats of the k-th time, over every stretch.
static void test_stretches(const gn_murmur_locked *l, const gn_murmur_adding *with, size_t k, float *out) {
  const float *products = with->products + k * row_n(l->m), *weights = with->weights + k * row_n(l->m);
  with->sums[0] = with->squares[0] = 0;
  for (size_t i = 0; i < l->m; i++) {
    with->sums[i + 1] = with->sums[i] + (double)products[i];
    with->squares[i + 1] = with->squares[i] + (double)weights[i];
  }
  for (size_t s = 0; s < l->n_stretches; s++) {
    const size_t a = l->stretches[s].at, b = a + l->stretches[s].n;
    const double squares = with->squares[b] - with->squares[a];
    out[s] = squares > 0 ? (float)((with->sums[b] - with->sums[a]) / sqrt(squares)) : 0;
  }
}

void gn_murmur_locked_test(const gn_murmur_locked *l, const float *excess, const float *weight, const gn_murmur_adding *with, float *out) {
  add_beats(excess, weight, l->m, l->n_beats, NULL, 1, with);
  test_stretches(l, with, 0, out);
}

void gn_murmur_locked_turn(const gn_murmur_locked *l, const float *excess, const float *weight, const size_t *turns, const gn_murmur_adding *with, float *out) {
  for (size_t r = 0; r < N_SURROGATES; r += TOGETHER) {
    const size_t n = N_SURROGATES - r < TOGETHER ? N_SURROGATES - r : TOGETHER;
    add_beats(excess, weight, l->m, l->n_beats, turns + r * l->n_beats, n, with);
    for (size_t k = 0; k < n; k++) test_stretches(l, with, k, out + (r + k) * (ROWS + 1) * l->n_stretches);
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

// Mean and spread by band and length, of the surrogates.
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
}

// The spread of the sets, then the largest of all there is in a surrogate.
static void learn_largest(gn_murmur_locked *l, const float *surrogates) {
  double squares[GN_MURMUR_LOCKED_SETS] = {0}, most[N_SURROGATES][GN_MURMUR_LOCKED_SETS], sum = 0, sum_squares = 0;
  for (size_t r = 0; r < N_SURROGATES; r++) {
    for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++) most[r][set] = -HUGE_VAL;
    for (size_t s = 0; s < l->n_stretches; s++) {
      double x[GN_MURMUR_LOCKED_SETS];
      sums_of_sets(l, surrogates + r * (ROWS + 1) * l->n_stretches, s, x);
      for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++) {
        squares[set] += x[set] * x[set];
        most[r][set] = x[set] > most[r][set] ? x[set] : most[r][set];
      }
    }
  }
  for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++)
    l->set_sd[set] = squares[set] > 0 ? sqrt(squares[set] / (double)(N_SURROGATES * l->n_stretches)) : 1;
  for (size_t r = 0; r < N_SURROGATES; r++) {
    double largest = -HUGE_VAL;
    for (size_t set = 0; set < GN_MURMUR_LOCKED_SETS; set++) largest = fmax(largest, most[r][set] / l->set_sd[set]);
    sum += largest;
    sum_squares += largest * largest;
  }
  l->best_mean = sum / N_SURROGATES;
  const double variance = sum_squares / N_SURROGATES - l->best_mean * l->best_mean;
  l->best_sd = variance > 0 ? sqrt(variance) : HUGE_VAL;
}

void gn_murmur_locked_learn_chance(gn_murmur_locked *l, const float *surrogates) {
  learn_usual(l, surrogates);
  learn_largest(l, surrogates);
}
