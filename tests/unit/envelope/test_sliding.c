// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>

#include "base/memory.h"
#include "base/random.h"
#include "envelope/sliding.h"

enum { N = 3000, MOST = 90 };

static int by_size(const void *a, const void *b) {
  const float x = *(const float *)a, y = *(const float *)b;
  return (x > y) - (x < y);
}

// Levels to half a dB, so that many are alike; a fifth of them left out, one stretch longer than any window.
static void some_levels(float *x, unsigned char *left_out) {
  gn_random r = gn_random_of(11);
  for (size_t i = 0; i < N; i++) {
    x[i] = (float)(0.5 * floor(6 * gn_random_normal(&r)));
    left_out[i] = gn_random_below(&r, 5) == 0 || (i >= 1000 && i < 1200);
  }
}

static void assert_sorted_out(const gn_sliding *s, const float *x, const unsigned char *left_out, size_t from, size_t to) {
  float expected[MOST];
  size_t n = 0;
  for (size_t i = from; i < to; i++)
    if (!left_out[i]) expected[n++] = x[i];
  qsort(expected, n, sizeof *expected, by_size);
  assert_int_equal(s->n, n);
  for (size_t i = 0; i < n; i++) assert_true(s->sorted[i] == expected[i]);
}

// Windows of every length up to the most, that grow at the beginning and shrink at the end.
static void a_window_holds_what_sorting_it_gives(void **state) {
  (void)state;
  static float x[N];
  static unsigned char left_out[N];
  gn_sliding s = {0};
  some_levels(x, left_out);
  for (size_t most = 1; most <= MOST; most++) {
    assert_int_equal(gn_sliding_init(&s, most), 0);
    for (int again = 0; again < 2; again++) {
      gn_sliding_begin(&s);
      for (size_t end = 0; end < N + most; end += 1 + most / 7) {
        const size_t from = end > most ? end - most : 0, to = end < N ? end : N;
        gn_sliding_move(&s, x, left_out, from, to);
        assert_sorted_out(&s, x, left_out, from, to);
      }
    }
    gn_sliding_clear(&s);
  }
}

static void refused_memory_is_told(void **state) {
  (void)state;
  for (size_t at = 1; at <= 2; at++) {
    gn_sliding s = {0};
    gn_memory_refuse(at);
    const int refused = gn_sliding_init(&s, MOST);
    gn_memory_refuse(0);
    assert_int_equal(refused, -1);
    gn_sliding_clear(&s);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_window_holds_what_sorting_it_gives),
      cmocka_unit_test(refused_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
