// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/statistics.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "base/extremes.h"
#include "base/wide.h"

// Move what is CASE of x[to] .. x[hi - 1] to the front of it; to ends behind it. A number is moved whether it is or not, so that the
// processor has no branch to guess wrong.
#define GATHER(CASE)                                                                                                    \
  for (size_t i = to; i < hi; i++) {                                                                                    \
    const double t = x[i];                                                                                              \
    x[i] = x[to];                                                                                                       \
    x[to] = t;                                                                                                          \
    to += CASE;                                                                                                         \
  }

// Of many the pivot is taken from a few, spread evenly, at a rank that leaves the k-th in the smaller part as a rule, and that part little
// more than what lies beyond it (after Floyd and Rivest 1975): an order statistic costs little more than a single pass. Each of the few is held
// against all: no branch either.
enum { FEW = 16, MANY = 12 * FEW };

static size_t pivot_of_many(const double *x, size_t lo, size_t hi, size_t k) {
  double few[FEW];
  if (hi - lo < MANY) return lo + (hi - lo) / 2;
  for (size_t i = 0; i < FEW; i++) few[i] = x[lo + (2 * i + 1) * (hi - lo) / (2 * FEW)];
  const int rank = (int)((k - lo) * FEW / (hi - lo)), higher = rank + 2, lower = rank > 2 ? rank - 2 : 0;
  const int wanted = 2 * (k - lo) < hi - lo ? higher : lower;
  int most = -1;
  size_t best = 0;
  for (size_t i = 0; i < FEW; i++) {
    int smaller = 0;
    for (size_t j = 0; j < FEW; j++) smaller += few[j] < few[i];
    const bool better = smaller <= wanted && smaller > most;
    most = better ? smaller : most;
    best = better ? i : best;
  }
  return lo + (2 * best + 1) * (hi - lo) / (2 * FEW);
}

// Hoare's selection with Lomuto's partition: afterwards x[k] is the k-th smallest and nothing after it is smaller. Where the pivot
// is the smallest, all that equal it are settled with it.
static void select_kth(double *x, size_t n, size_t k) {
  for (size_t lo = 0, hi = n; hi - lo > 1;) {
    const size_t middle = pivot_of_many(x, lo, hi, k);
    const double pivot = x[middle];
    size_t to = lo + 1;
    x[middle] = x[lo];
    GATHER(t < pivot)
    const size_t at = to - 1;
    x[lo] = x[at];
    x[at] = pivot;
    if (at == lo) {
      GATHER(t == pivot)
    }
    if (k < at) hi = at;
    else if (k < to) return;
    else lo = to;
  }
}

// Several side by side: each step waits for the one before.
#define SMALLEST(NAME, T)                                                                                               \
  T NAME(const T *x, size_t n) {                                                                                        \
    enum { LANES = 16 };                                                                                                \
    T least[LANES];                                                                                                     \
    size_t i = 0;                                                                                                       \
    for (size_t k = 0; k < LANES; k++) least[k] = x[0];                                                                 \
    for (; i + LANES <= n; i += LANES)                                                                                  \
      for (size_t k = 0; k < LANES; k++) least[k] = x[i + k] < least[k] ? x[i + k] : least[k];                          \
    for (; i < n; i++) least[0] = x[i] < least[0] ? x[i] : least[0];                                                    \
    for (size_t k = 1; k < LANES; k++) least[0] = least[k] < least[0] ? least[k] : least[0];                            \
    return least[0];                                                                                                    \
  }
SMALLEST(gn_smallest, double)
SMALLEST(gn_smallest_f, float)

double gn_quantile(double *x, size_t n, double q) {
  if (n == 0) return NAN;
  const double at = q <= 0 ? 0 : q >= 1 ? (double)(n - 1) : q * (double)(n - 1);
  const size_t k = (size_t)at;
  select_kth(x, n, k);
  if (k + 1 >= n || at == (double)k) return x[k];
  const double next = gn_smallest(x + k + 1, n - k - 1);
  return x[k] + (at - (double)k) * (next - x[k]);
}

// Floats in their order are whole numbers in theirs.
static int64_t number_of(float x) {
  int32_t bits;
  memcpy(&bits, &x, sizeof bits);
  return bits < 0 ? bits ^ INT32_MAX : bits;
}

static float float_of(int64_t number) {
  const int32_t n = (int32_t)number, bits = n < 0 ? n ^ INT32_MAX : n;
  float x;
  memcpy(&x, &bits, sizeof x);
  return x;
}

typedef int32_t marks __attribute__((vector_size(sizeof(gn_eight)), may_alias)); // -1 or 0

GN_WIDE static size_t count_below(const float *x, size_t n, float bound) {
  enum { LANES = 8 };
  marks one = {0}, other = {0};
  size_t i = 0;
  int below = 0;
  for (; i + 2 * LANES <= n; i += 2 * LANES) {
    one += (marks)(*(const gn_eight *)(x + i) < bound);
    other += (marks)(*(const gn_eight *)(x + i + LANES) < bound);
  }
  for (; i < n; i++) below += x[i] < bound;
  one += other;
  for (size_t k = 0; k < LANES; k++) below -= one[k];
  return (size_t)below;
}

// The smallest that is no less than the bound; infinity where none is.
GN_WIDE static float smallest_from(const float *x, size_t n, float bound) {
  enum { LANES = 32 }; // so many that a compiler keeps a loop over them
  float least[LANES], rest = INFINITY;
  size_t i = 0;
  for (size_t k = 0; k < LANES; k++) least[k] = INFINITY;
  for (; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) {
      const float v = x[i + k] >= bound ? x[i + k] : INFINITY;
      least[k] = v < least[k] ? v : least[k];
    }
  for (; i < n; i++) rest = x[i] >= bound && x[i] < rest ? x[i] : rest;
  for (size_t half = LANES / 2; half; half /= 2)
    for (size_t k = 0; k < half; k++) least[k] = least[k + half] < least[k] ? least[k + half] : least[k];
  return least[0] < rest ? least[0] : rest;
}

// Of many floats the k-th is found by counting those below a bound, which many fit beside one another for: *next becomes the one behind it. The bound
// is where it would be were those between the last two spread evenly, and every third time halfway.
static float count_out(const float *x, size_t n, size_t k, float *next) {
  float low = x[0], high = x[0];
  gn_extremes(x, n, &low, &high);
  int64_t from = number_of(low), to = number_of(high) + 1;
  size_t n_below = 0, n_to = n;
  for (int round = 0; n_below < k && to - from > 1; round++) {
    const double share = round % 3 == 2 ? 0.5 : (double)(k - n_below) / (double)(n_to - n_below);
    const int64_t wanted = from + (int64_t)(share * (double)(to - from)), bound = wanted > from ? wanted : from + 1;
    const size_t below = count_below(x, n, float_of(bound));
    if (below <= k) from = bound, n_below = below;
    else to = bound, n_to = below;
  }
  const float found = smallest_from(x, n, float_of(from)), past = float_of(number_of(found + 0.0f) + 1); // either zero's is the greater's
  *next = count_below(x, n, past) > k + 1 ? found : smallest_from(x, n, past);
  return found;
}

// Where no more than k lie below x: the larger of it and what was found.
GN_WIDE_PART void keep_larger(const marks *below, int k, const gn_eight *x, gn_eight *found) {
  const marks taken = (*below <= k) & (marks)(*x > *found);
  *found = (gn_eight)((taken & (marks)*x) | (~taken & (marks)*found));
}

GN_WIDE_PART float largest_of(const gn_eight *x) {
  const gn_row four = gn_larger(*(const gn_row *)x, *((const gn_row *)x + 1)), two = gn_larger(four, GN_SHUFFLE(four, four, 2, 3, 0, 1));
  return two[0] > two[1] ? two[0] : two[1];
}

enum { COUNTED = 64 }; // of so many floats and more order statistics are counted out, of fewer ranked out

// Of few floats the k-th is the largest that no more than k lie below; *next becomes the one behind it. Each is held against all,
// eight side by side: no branch either.
GN_WIDE static float rank_out(const float *x, size_t n, int k, float *next) {
  enum { LANES = 8 };
  float each[COUNTED];
  for (size_t i = n / LANES * LANES; i < n + LANES && i < COUNTED; i++) each[i] = -INFINITY;
  memcpy(each, x, n * sizeof *x);
  gn_eight found = (gn_eight){0} - INFINITY, behind = found;
  for (size_t i = 0; i < n; i += LANES) {
    const gn_eight some = *(const gn_eight *)(each + i);
    marks below = {0};
    for (size_t j = 0; j < n; j++) below -= (marks)(each[j] < some);
    keep_larger(&below, k, &some, &found);
    keep_larger(&below, k + 1, &some, &behind);
  }
  *next = largest_of(&behind);
  return largest_of(&found);
}

// Where the quantile lies among n in their order: behind the k-th by a part of the way to the next.
typedef struct rank { size_t k; double part; } rank;

static rank rank_of(size_t n, double q) {
  const double at = q <= 0 ? 0 : q >= 1 ? (double)(n - 1) : q * (double)(n - 1);
  return (rank){(size_t)at, at - (double)(size_t)at};
}

static float between(float found, float next, double part) { return part > 0 ? (float)((double)found + part * ((double)next - (double)found)) : found; }

float gn_quantile_f(float *x, size_t n, double q) {
  if (n == 0) return NAN;
  const rank r = rank_of(n, q);
  float next;
  const float found = n >= COUNTED ? count_out(x, n, r.k, &next) : rank_out(x, n, (int)r.k, &next);
  return between(found, next, r.part);
}

// The smallest numbers of some neighbouring columns, in their order: each number goes down until a smaller one stands there, and takes its place.
enum { COLUMNS = 32 };

GN_WIDE static void keep_smallest(const float *const *rows, size_t n_rows, size_t column, size_t n_kept, float kept[][COLUMNS]) {
  for (size_t k = 0; k < n_kept; k++)
    for (size_t c = 0; c < COLUMNS; c++) kept[k][c] = INFINITY;
  for (size_t j = 0; j < n_rows; j++) {
    float v[COLUMNS];
    memcpy(v, rows[j] + column, sizeof v);
    for (size_t k = 0; k < n_kept; k++)
      for (size_t c = 0; c < COLUMNS; c++) {
        const float larger = v[c] > kept[k][c] ? v[c] : kept[k][c];
        kept[k][c] = v[c] < kept[k][c] ? v[c] : kept[k][c];
        v[c] = larger;
      }
  }
}

void gn_quantiles_across(const float *const *rows, size_t n_rows, size_t n, double q, float *out) {
  const rank r = rank_of(n_rows, q);
  const size_t next = r.k + 1 < n_rows ? r.k + 1 : r.k;
  float kept[GN_ROWS_MOST][COLUMNS], column[GN_ROWS_MOST];
  size_t i = 0;
  for (; i + COLUMNS <= n; i += COLUMNS) {
    keep_smallest(rows, n_rows, i, next + 1, kept);
    for (size_t c = 0; c < COLUMNS; c++) out[i + c] = between(kept[r.k][c], kept[next][c], r.part);
  }
  for (; i < n; i++) {
    for (size_t j = 0; j < n_rows; j++) column[j] = rows[j][i];
    out[i] = gn_quantile_f(column, n_rows, q);
  }
}

float gn_quantile_sorted_f(const float *x, size_t n, double q) {
  if (n == 0) return NAN;
  const rank r = rank_of(n, q);
  return r.k + 1 < n ? between(x[r.k], x[r.k + 1], r.part) : x[r.k];
}

double gn_median(double *x, size_t n) { return gn_quantile(x, n, 0.5); }

double gn_robust_sd(double *x, size_t n, double middle) {
  for (size_t i = 0; i < n; i++) x[i] = fabs(x[i] - middle);
  return 1.4826 * gn_median(x, n);
}

double gn_mean(const double *x, size_t n) {
  if (n == 0) return NAN;
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += x[i];
  return sum / (double)n;
}

double gn_sd(const double *x, size_t n) {
  if (n < 2) return NAN;
  const double mean = gn_mean(x, n);
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += (x[i] - mean) * (x[i] - mean);
  return sqrt(sum / (double)(n - 1));
}

double gn_variance_of_mean(double sum, double squares, double n) { return fmax(0, squares - sum * sum / n) / (n * (n - 1)); }
