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
static const double STEP_S = 1;

// The mean power of each frame and its neighbours, band by band against its peak.
static void whiten(const gn_quality_view *v, float *loudness, float *out) {
  const size_t n = v->frames->n, last = n - 1;
  for (size_t i = 0; i < n; i++) loudness[i] = (float)gn_quality_loudness(v->frames, v->levels, i);
  for (size_t i = 0; i < n; i++) out[i] = (loudness[i ? i - 1 : 0] + loudness[i] + loudness[i < last ? i + 1 : last]) / 3;
}

// The kind a stretch is, or -1 when it holds beats.
static int judge(const girthline_quality_limits *m, float *x, size_t n) {
  const double high = (double)gn_quantile_f(x, n, m->absence_high_quantile), low = (double)gn_quantile_f(x, n, m->absence_low_quantile);
  if (!(high > 0) || high < gn_from_db(m->absence_under_db)) return GIRTHLINE_NO_HEART_SOUND;
  if (low > 0 && gn_db(high / low) < m->absence_contrast_db)
    return gn_db(low) > m->absence_noise_db ? GIRTHLINE_NOISE : GIRTHLINE_NO_HEART_SOUND;
  return -1;
}

int gn_quality_absence_mark(const gn_quality_view *v, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  const double step_s = gn_quality_frames_step(f), half_s = 0.5 * (double)f->n_fft / f->fs_hz;
  size_t n = (size_t)(fmax(v->limits->absence_stretch_s, v->limits->absence_stretch_intervals * 60 / v->profile->possible_bpm[0]) / step_s);
  const size_t hop = (size_t)(STEP_S / step_s);
  if (n > f->n) n = f->n;
  if (!n) return 0;
  const double least = gn_quality_dropout_level(v);
  float *x = gn_room(2 * f->n, sizeof *x), *white = x ? x + f->n : NULL;
  int refused = x ? 0 : -1;
  if (x) whiten(v, x, white);
  for (size_t at = 0; at < f->n - n + hop && !refused; at += hop) {
    const size_t start = at + n <= f->n ? at : f->n - n; // the last stretch ends with the window
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
      if ((double)f->rows[start + i][GN_BAND_WIDE] >= least) x[kept++] = white[start + i];
    const int kind = (double)kept >= v->limits->absence_kept_share * (double)n || !(least > 0) ? judge(v->limits, x, kept) : -1;
    const double from_s = start ? gn_quality_frames_time(f, start) - half_s : v->start_s;
    const double to_s = start + n < f->n ? gn_quality_frames_time(f, start + n - 1) + half_s : v->end_s;
    if (kind >= 0) refused = gn_quality_spans_add(list, (girthline_problem_kind)kind, from_s, to_s);
  }
  gn_free(x);
  return refused;
}
