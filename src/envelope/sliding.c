// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "envelope/sliding.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/wide.h"

enum { SIDE = 8 }; // numbers side by side: a row is filled up to so many with what is larger than any. What is smaller lies ahead of it

int gn_sliding_init(gn_sliding *s, size_t most_n) {
  *s = (gn_sliding){.row_n = most_n / SIDE * SIDE + SIDE};
  for (int k = 0; k < 2; k++) s->rows[k] = gn_room(s->row_n + 2, sizeof(float));
  return s->rows[0] && s->rows[1] ? 0 : -1;
}

void gn_sliding_clear(gn_sliding *s) {
  for (int k = 0; k < 2; k++) gn_free(s->rows[k]);
}

void gn_sliding_begin(gn_sliding *s) {
  for (int k = 0; k < 2; k++)
    for (size_t i = 0; i < s->row_n + 2; i++) s->rows[k][i] = i ? INFINITY : -INFINITY;
  s->sorted = s->rows[0] + 1;
  s->n = s->from = s->to = 0;
}

static size_t place_of(const gn_sliding *s, float x) {
  size_t at = 0;
  while (s->sorted[at] < x) at++;
  return at;
}

static void put_in(gn_sliding *s, float x) {
  float *const here = s->rows[0] + 1 + place_of(s, x);
  memmove(here + 1, here, (size_t)(s->sorted + s->n++ - here) * sizeof x);
  *here = x;
}

static void take_out(gn_sliding *s, float x) {
  float *const here = s->rows[0] + 1 + place_of(s, x);
  memmove(here, here + 1, (size_t)(s->sorted + s->n-- - here) * sizeof x);
}

// One out, another in: what lies between the two moves by one place. Each place tells by its neighbour alone what comes there, and waits for no other.
GN_WIDE_PART void exchange(gn_sliding *s, float out, float in) {
  const size_t n = s->row_n;
  const float *restrict x = s->rows[0] + 1;
  float *restrict y = s->rows[1] + 1;
  for (size_t i = 0; i < n && out < in; i++) {
    const float less = x[i + 1] < in ? x[i + 1] : in, next = x[i] > less ? x[i] : less;
    y[i] = x[i] < out ? x[i] : next;
  }
  for (size_t i = 0; i < n && !(out < in); i++) {
    const float more = (x - 1)[i] > in ? (x - 1)[i] : in, next = x[i] < more ? x[i] : more;
    y[i] = x[i] > out ? x[i] : next;
  }
  s->rows[1] = s->rows[0];
  s->rows[0] = y - 1;
  s->sorted = y;
}

GN_WIDE void gn_sliding_move(gn_sliding *s, const float *x, const unsigned char *left_out, size_t from, size_t to) {
  for (; s->to < to; s->to++) {
    if (left_out[s->to]) continue;
    while (s->from < from && s->from < s->to && left_out[s->from]) s->from++;
    if (s->from < from && s->from < s->to) exchange(s, x[s->from++], x[s->to]);
    else put_in(s, x[s->to]);
  }
  for (; s->from < from; s->from++)
    if (!left_out[s->from]) take_out(s, x[s->from]);
}
