// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/overview.h"

#include <math.h>

gn_overview gn_overview_of(girthline_pictures *pictures, double fs_hz, double expected_s) {
  const double per = expected_s * fs_hz / GIRTHLINE_OVERVIEW_N;
  pictures->n_overview = 0;
  gn_overview o = {pictures, fs_hz, per >= 1 ? (size_t)ceil(per) : 1, 0};
  pictures->overview_step_s = (double)o.per_column_n / fs_hz;
  return o;
}

static void halve(gn_overview *o) {
  girthline_pictures *p = o->pictures;
  for (size_t i = 0; i < GIRTHLINE_OVERVIEW_N / 2; i++) {
    p->overview_min[i] = fminf(p->overview_min[2 * i], p->overview_min[2 * i + 1]);
    p->overview_max[i] = fmaxf(p->overview_max[2 * i], p->overview_max[2 * i + 1]);
  }
  p->n_overview = GIRTHLINE_OVERVIEW_N / 2;
  o->per_column_n *= 2;
  p->overview_step_s = (double)o->per_column_n / o->fs_hz;
}

void gn_overview_push(gn_overview *o, const float *samples, size_t n, gn_swing swing) {
  girthline_pictures *p = o->pictures;
  for (size_t i = 0; i < n;) {
    if (o->in_column_n == 0) {
      if (p->n_overview == GIRTHLINE_OVERVIEW_N) halve(o);
      p->overview_min[p->n_overview] = p->overview_max[p->n_overview] = samples[i];
      p->n_overview++;
    }
    const size_t c = p->n_overview - 1, left = o->per_column_n - o->in_column_n, some = left < n - i ? left : n - i;
    if (some == n) gn_extremes((const float[]){swing.low, swing.high}, 2, &p->overview_min[c], &p->overview_max[c]);
    else gn_extremes(samples + i, some, &p->overview_min[c], &p->overview_max[c]);
    i += some;
    o->in_column_n += some;
    if (o->in_column_n == o->per_column_n) o->in_column_n = 0;
  }
}
