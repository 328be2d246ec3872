// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What the axes of several recordings' pictures must hold so that they can be compared by eye.
#include <math.h>

#include "base/memory.h"
#include "base/statistics.h"
#include "report/figures_plot.h"

// What 98 of 100 columns stay under, with a third of room above, so that one thump does not flatten the rest.
#define COLUMNS_UNDER 0.98f
#define ROOM_ABOVE 1.33

double gn_plot_amplitude(float *peaks, size_t n) {
  const double high = n ? (double)gn_quantile_f(peaks, n, COLUMNS_UNDER) * ROOM_ABOVE : 0;
  return high > 1e-6 ? high : 1;
}

double gn_plot_longest_s(const girthline_rhythm *y) {
  double most = 0;
  for (size_t i = 0; i < y->n_intervals; i++) most = fmax(most, y->intervals[i].span.end_s - y->intervals[i].span.start_s);
  return most > 0 ? most : 1;
}

void gn_plot_rates(const girthline_rate *r, double range[2]) {
  double low = r->usual_range_bpm[0] > 0 ? r->usual_range_bpm[0] : (double)INFINITY, high = r->usual_range_bpm[1] > 0 ? r->usual_range_bpm[1] : 0;
  const double more[] = {r->bpm, r->settled_bpm, r->min_bpm, r->max_bpm};
  for (size_t i = 0; i < r->n_counted; i++) {
    low = fmin(low, r->counted[i].bpm);
    high = fmax(high, r->counted[i].bpm);
  }
  for (int i = 0; i < 4; i++) {
    low = fmin(low, more[i]); // fmin and fmax pass over NaN
    high = fmax(high, more[i]);
  }
  if (!(high >= low)) low = 0, high = 100;
  range[0] = fmax(0, low - 0.2 * (high - low) - 2);
  range[1] = high + 0.2 * (high - low) + 2;
}

void gn_plot_levels(const girthline_pictures *p, double range[2]) {
  double low = 0, high = 10;
  for (int b = 0; b < GIRTHLINE_CYCLE_BANDS; b++)
    for (int i = 0; i < GIRTHLINE_CYCLE_BINS; i++) {
      if (isfinite(p->cycle_lo_db[b][i])) low = fmin(low, (double)p->cycle_lo_db[b][i]);
      if (isfinite(p->cycle_hi_db[b][i])) high = fmax(high, (double)p->cycle_hi_db[b][i]);
    }
  range[0] = floor(low / 5) * 5;
  range[1] = ceil(high / 5) * 5;
}

void gn_plot_next(const girthline_rhythm *y, double range[2]) {
  double low = INFINITY, high = 0;
  for (size_t i = 0; i < y->n_intervals; i++) {
    low = fmin(low, y->intervals[i].span.end_s - y->intervals[i].span.start_s);
    high = fmax(high, y->intervals[i].span.end_s - y->intervals[i].span.start_s);
  }
  // At least a fifth of the interval is shown, so that a steady heart looks steady.
  const double middle = (low + high) / 2, half = fmax((high - low) * 0.6, middle * 0.1);
  range[0] = fmax(0, middle - half);
  range[1] = middle + half;
}

static bool own_amplitude(const girthline_pictures *p, double *amplitude) {
  float *peaks = gn_new(GIRTHLINE_OVERVIEW_N, sizeof *peaks);
  size_t n = 0;
  if (!peaks) return false;
  for (size_t i = 0; i < p->n_overview && i < GIRTHLINE_OVERVIEW_N; i++)
    if (p->overview_min[i] <= p->overview_max[i]) peaks[n++] = fmaxf(fabsf(p->overview_min[i]), fabsf(p->overview_max[i]));
  *amplitude = gn_plot_amplitude(peaks, n);
  gn_free(peaks);
  return true;
}

static void widen(double range[2], const double by[2], bool first) {
  range[0] = first ? by[0] : fmin(range[0], by[0]);
  range[1] = first ? by[1] : fmax(range[1], by[1]);
}

bool gn_figure_scale_of(const girthline_report_input *inputs, size_t n, gn_figure_scale *scale) {
  bool rate = false, cycle = false, next = false;
  *scale = (gn_figure_scale){0};
  for (size_t i = 0; i < n; i++) {
    const girthline_result *r = inputs[i].result;
    double amplitude, range[2];
    if (!own_amplitude(&r->pictures, &amplitude)) return false;
    if (r->pictures.n_overview) scale->amplitude = fmax(scale->amplitude, amplitude);
    if (r->rhythm.n_intervals) {
      scale->interval_s = fmax(scale->interval_s, gn_plot_longest_s(&r->rhythm));
      gn_plot_next(&r->rhythm, range);
      widen(scale->next_s, range, !next);
      next = true;
    }
    if (r->rate.n_counted || isfinite(r->rate.bpm)) {
      gn_plot_rates(&r->rate, range);
      widen(scale->rate_bpm, range, !rate);
      rate = true;
    }
    if (r->pictures.n_cycle_beats) {
      gn_plot_levels(&r->pictures, range);
      widen(scale->cycle_db, range, !cycle);
      cycle = true;
    }
  }
  return true;
}
