// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/maths.h"
#include "quality/parts.h"

// Method: more than 18 dB under the 20 % quantile for 0.4 s. A pause between beats is never that far under the quiet of
// the other beats.
static const double UNDER_DB = -18;
static const double LEAST_S = 0.4;

double gn_quality_dropout_level(const gn_quality_levels *levels) { return levels->low_wide * gn_from_db(UNDER_DB); }

int gn_quality_dropout_mark(const gn_quality_view *v, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  const double level = gn_quality_dropout_level(v->levels), step_s = gn_quality_frames_step(f);
  const double half_s = 0.5 * (double)f->n_fft / f->fs_hz;
  for (size_t i = 0; i < f->n; i++) {
    if ((double)f->rows[i][GN_BAND_WIDE] >= level) continue;
    size_t end = i;
    while (end < f->n && (double)f->rows[end][GN_BAND_WIDE] < level) end++;
    // A frame is quiet only when all of it is: the silence reaches half a frame beyond its middle.
    const double start_s = fmax(v->start_s, gn_quality_frames_time(f, i) - half_s);
    const double end_s = fmin(v->end_s, gn_quality_frames_time(f, end - 1) + half_s);
    if (end_s - start_s >= LEAST_S - step_s && gn_quality_spans_add(list, GIRTHLINE_DROPOUT, start_s, end_s)) return -1;
    i = end;
  }
  return 0;
}
