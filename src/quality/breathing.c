// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

// ---- marks: where breath noise stands between the sounds ----
static const double SPAN_S = 0.4; // longer than a sound, shorter than a breath

enum { SPAN_MOST_N = 64 };

// What falls between the sounds in the i-th stretch of span_n frames; the next begins a quarter of one behind it.
static float low_level(const gn_quality_view *v, size_t span_n, size_t i) {
  float x[SPAN_MOST_N];
  for (size_t k = 0; k < span_n; k++) x[k] = v->frames->rows[i * (span_n / 4) + k][GN_BAND_WIDE];
  return gn_quantile_f(x, span_n, v->limits->breathing_low_share);
}

// The same of all n of them in the band of breath: what a stretch has, the next one has a quarter of it ahead. work: room for the frames and a stretch.
static void low_levels(const gn_quality_view *v, size_t span_n, size_t n, float *work, float *out) {
  const size_t hop_n = span_n / 4, n_each = v->frames->n / hop_n + 1;
  const float *row[SPAN_MOST_N];
  for (size_t i = 0; i < v->frames->n; i++) work[i % hop_n * n_each + i / hop_n] = v->frames->rows[i][GN_BAND_BREATH];
  for (size_t k = 0; k < span_n; k++) row[k] = work + k % hop_n * n_each + k / hop_n;
  gn_quantiles_across(row, span_n, n, v->limits->breathing_low_share, out);
}

static int mark_where_loud(const gn_quality_view *v, size_t span_n, float *scratch, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  const size_t n = (f->n - span_n) / (span_n / 4) + 1;
  float *quiet = gn_room(f->n + span_n, sizeof *quiet);
  int refused = quiet ? 0 : -1;
  if (!refused) {
    low_levels(v, span_n, n, quiet, scratch);
    memcpy(quiet, scratch, n * sizeof *quiet);
    const double rise = (double)gn_quantile_f(quiet, n, 0.1) * gn_from_db(v->limits->breathing_rise_db);
    const double loud = v->levels->peak[GN_BAND_WIDE] * gn_from_db(v->limits->breathing_near_heart_db);
    for (size_t i = 0; i < n && !refused; i++) {
      size_t end = i;
      while (end < n && (double)scratch[end] > rise && (double)low_level(v, span_n, end) > loud) end++;
      if (end == i) continue;
      const double start_s = gn_quality_frames_time(f, i * (span_n / 4)), end_s = gn_quality_frames_time(f, (end - 1) * (span_n / 4) + span_n - 1);
      if (end_s - start_s >= v->limits->breathing_shortest_s + SPAN_S)
        refused = gn_quality_spans_add(list, GIRTHLINE_BREATHING, start_s + SPAN_S / 2, end_s - SPAN_S / 2);
      i = end;
    }
  }
  gn_free(quiet);
  return refused;
}

int gn_quality_breathing_mark(const gn_quality_view *v, gn_quality_spans *list) {
  size_t span_n = (size_t)(SPAN_S / gn_quality_frames_step(v->frames) + 0.5);
  if (span_n < 4) span_n = 4;
  if (span_n > SPAN_MOST_N) span_n = SPAN_MOST_N;
  if (v->frames->n < span_n) return 0;
  float *scratch = gn_new(v->frames->n / (span_n / 4) + 1, sizeof *scratch);
  const int refused = scratch ? mark_where_loud(v, span_n, scratch, list) : -1;
  gn_free(scratch);
  return refused;
}
