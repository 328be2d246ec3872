// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

// Beats stand out from what lies between them: the 98 % quantile of a frame's power (three bands, each against its own
// peak, mean of three frames) against the 20 % quantile. White and pink noise reach 3.9 dB in a minute; simulated hearts at
// 2 dB over the noise of breath and gut keep 5.8 and more.
static const double HIGH_QUANTILE = 0.98; // a slow heart sounds in 5 % of the time or less
static const double LOW_QUANTILE = 0.2;
static const double LEAST_CONTRAST_DB = 4.3;
static const double LEAST_KEPT_SHARE = 0.5; // of a stretch: the rest is a dropout and marked as one
static const double STRETCH_S = 4;         // at least, and two of the longest expected intervals (choices)
static const double STRETCH_INTERVALS = 2;
static const double FAR_UNDER_DB = -14;    // the loudest of the stretch against the usual beats: the sensor was off
static const double NOISE_OVER_DB = -8;    // the quiet of the stretch against the usual beats: noise covers them
static const double STEP_S = 1;

static double whitened(const gn_quality_view *v, size_t i) {
  const size_t last = v->frames->n - 1;
  return (gn_quality_loudness(v->frames, v->levels, i ? i - 1 : 0) + gn_quality_loudness(v->frames, v->levels, i) +
          gn_quality_loudness(v->frames, v->levels, i < last ? i + 1 : last)) /
         3;
}

// The kind a stretch is, or -1 when it holds beats.
static int judge(double *x, size_t n) {
  const double high = gn_quantile(x, n, HIGH_QUANTILE), low = gn_quantile(x, n, LOW_QUANTILE);
  if (!(high > 0) || high < gn_from_db(FAR_UNDER_DB)) return GIRTHLINE_NO_HEART_SOUND;
  if (low > 0 && gn_db(high / low) < LEAST_CONTRAST_DB)
    return gn_db(low) > NOISE_OVER_DB ? GIRTHLINE_NOISE : GIRTHLINE_NO_HEART_SOUND;
  return -1;
}

int gn_quality_absence_mark(const gn_quality_view *v, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  const double step_s = gn_quality_frames_step(f), half_s = 0.5 * (double)f->n_fft / f->fs_hz;
  size_t n = (size_t)(fmax(STRETCH_S, STRETCH_INTERVALS * 60 / v->profile->possible_bpm[0]) / step_s);
  const size_t hop = (size_t)(STEP_S / step_s);
  if (n > f->n) n = f->n;
  if (!n) return 0;
  const double least = gn_quality_dropout_level(v->levels);
  double *x = gn_new(n, sizeof *x);
  int refused = x ? 0 : -1;
  for (size_t at = 0; at < f->n - n + hop && !refused; at += hop) {
    const size_t start = at + n <= f->n ? at : f->n - n; // the last stretch ends with the window
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
      if ((double)f->rows[start + i][GN_BAND_WIDE] >= least) x[kept++] = whitened(v, start + i);
    const int kind = (double)kept >= LEAST_KEPT_SHARE * (double)n || !(least > 0) ? judge(x, kept) : -1;
    const double from_s = start ? gn_quality_frames_time(f, start) - half_s : v->start_s;
    const double to_s = start + n < f->n ? gn_quality_frames_time(f, start + n - 1) + half_s : v->end_s;
    if (kind >= 0) refused = gn_quality_spans_add(list, (girthline_problem_kind)kind, from_s, to_s);
  }
  gn_free(x);
  return refused;
}
