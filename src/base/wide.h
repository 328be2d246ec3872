// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Loops over neighbouring numbers, compiled twice: for any processor of the family and for those with wider registers.
#ifndef GN_BASE_WIDE_H
#define GN_BASE_WIDE_H

#include <features.h>
#ifdef __SSE__
#include <xmmintrin.h>
#endif

/// Before a function whose loops a compiler puts into vector registers. Which of the two is run is settled when the program is loaded; both
/// give the same bits: the operations and their order are those that are written (no product and sum in one, see -ffp-contract in
/// meson.build), only more of them at once. Needs the GNU C library, whose loader chooses, and gcc (clang 14 gives what it makes of this another name).
#if defined __x86_64__ && defined __GLIBC__ && defined __GNUC__ && !defined __clang__
#define GN_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define GN_WIDE
#endif

/// Before a static function that such a one calls: it becomes part of it, else it would be compiled once.
#define GN_WIDE_PART static inline __attribute__((always_inline))

/// Four of the eight numbers in two vectors of four floats, by their places; and the same of either half of two vectors of eight.
#define GN_SHUFFLE(X, Y, A, B, C, D) __builtin_shufflevector(X, Y, A, B, C, D)
#define GN_SHUFFLE_HALVES(X, Y, A, B, C, D) \
  __builtin_shufflevector(X, Y, GN_OF(A), GN_OF(B), GN_OF(C), GN_OF(D), GN_OF(A) + 4, GN_OF(B) + 4, GN_OF(C) + 4, GN_OF(D) + 4)
#define GN_OF(PLACE) ((PLACE) < 4 ? (PLACE) : (PLACE) + 4)

/// Two vectors of four, one behind the other.
#define GN_JOINED(X, Y) __builtin_shufflevector(X, Y, 0, 1, 2, 3, 4, 5, 6, 7)

typedef float gn_row __attribute__((vector_size(4 * sizeof(float)), aligned(sizeof(float)), may_alias));
typedef float gn_eight __attribute__((vector_size(8 * sizeof(float)), aligned(sizeof(float)), may_alias));

/// Each the larger one of two: x where it is over y, else y. (gcc makes no register's maximum of vectors compared and picked from.)
GN_WIDE_PART gn_row gn_larger(gn_row x, gn_row y) {
#ifdef __SSE__
  return (gn_row)_mm_max_ps((__m128)x, (__m128)y);
#else
  for (int k = 0; k < 4; k++) x[k] = x[k] > y[k] ? x[k] : y[k];
  return x;
#endif
}

/// The first four on the last four.
GN_WIDE_PART gn_row gn_halves_added(const gn_eight *x) { return *(const gn_row *)x + *((const gn_row *)x + 1); }

/// Four rows of four become their columns.
GN_WIDE_PART void gn_turn_over(gn_row x[4]) {
  const gn_row a = GN_SHUFFLE(x[0], x[1], 0, 4, 1, 5), b = GN_SHUFFLE(x[2], x[3], 0, 4, 1, 5), c = GN_SHUFFLE(x[0], x[1], 2, 6, 3, 7),
               d = GN_SHUFFLE(x[2], x[3], 2, 6, 3, 7);
  x[0] = GN_SHUFFLE(a, b, 0, 1, 4, 5), x[1] = GN_SHUFFLE(a, b, 2, 3, 6, 7), x[2] = GN_SHUFFLE(c, d, 0, 1, 4, 5), x[3] = GN_SHUFFLE(c, d, 2, 3, 6, 7);
}

#endif
