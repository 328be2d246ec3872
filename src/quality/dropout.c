// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

// The method's rule is 18 dB under the 20 % quantile for 0.4 s. In simulated recordings the loudest frame of any 0.4 s is
// never under that quantile where the signal comes through, but a lost connection flickers by 10 dB about the last bit:
// so all frames have to lie a good way under, and their median well under.

double gn_quality_dropout_level(const gn_quality_view *v) { return v->levels->low_wide * gn_from_db(v->limits->dropout_under_db); }

static int judge(const gn_quality_view *v, size_t start, size_t end, float *scratch, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  const double step_s = gn_quality_frames_step(f), half_s = 0.5 * (double)f->n_fft / f->fs_hz;
  // A frame is quiet only when all of it is: the silence reaches half a frame beyond its middle.
  const double start_s = fmax(v->start_s, gn_quality_frames_time(f, start) - half_s);
  const double end_s = fmin(v->end_s, gn_quality_frames_time(f, end - 1) + half_s);
  if (end_s - start_s < v->limits->dropout_s - step_s) return 0;
  for (size_t i = start; i < end; i++) scratch[i - start] = f->rows[i][GN_BAND_WIDE];
  if ((double)gn_quantile_f(scratch, end - start, 0.5) >= v->levels->low_wide * gn_from_db(v->limits->dropout_median_db)) return 0;
  return gn_quality_spans_add(list, GIRTHLINE_DROPOUT, start_s, end_s);
}

int gn_quality_dropout_mark(const gn_quality_view *v, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  const double level = gn_quality_dropout_level(v);
  float *scratch = gn_new(f->n, sizeof *scratch);
  int refused = scratch ? 0 : -1;
  for (size_t i = 0; i < f->n && !refused; i++) {
    if ((double)f->rows[i][GN_BAND_WIDE] >= level) continue;
    size_t end = i;
    while (end < f->n && (double)f->rows[end][GN_BAND_WIDE] < level) end++;
    refused = judge(v, i, end, scratch, list);
    i = end;
  }
  gn_free(scratch);
  return refused;
}
