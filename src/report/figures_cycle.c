// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_plot.h"

#include <math.h>

#define BAND_GAP 8.0
#define NAME_LEAST 22.0 ///< left of the first sound's line, for its name
#define NAME_ROOM 92.0 ///< for a band's name, right of the field

static double bin_s(const girthline_pictures *p, int i) { return p->cycle_start_s + (i + 0.5) * p->cycle_step_s; }

static void level_range(gn_plot *plot, const gn_figure_source *source) {
  double range[2];
  gn_plot_levels(&source->result->pictures, range);
  const double *use = source->scale && source->scale->cycle_db[1] > source->scale->cycle_db[0] ? source->scale->cycle_db : range;
  plot->y0 = use[0];
  plot->y1 = use[1];
}

// One run of bins without a gap: there along the upper edge, back along the lower.
static void area(gn_plot *plot, const girthline_pictures *p, int band, int first, int end) {
  cairo_new_sub_path(plot->cr);
  for (int i = first; i < end; i++) cairo_line_to(plot->cr, gn_plot_x(plot, bin_s(p, i)), gn_plot_y(plot, (double)p->cycle_hi_db[band][i]));
  for (int i = end - 1; i >= first; i--) cairo_line_to(plot->cr, gn_plot_x(plot, bin_s(p, i)), gn_plot_y(plot, (double)p->cycle_lo_db[band][i]));
  cairo_close_path(plot->cr);
}

static void draw_band(gn_plot *plot, const girthline_pictures *p, int band) {
  const float *level = p->cycle_db[band], *low = p->cycle_lo_db[band], *high = p->cycle_hi_db[band];
  gn_plot_colour(plot, GN_SPREAD);
  for (int i = 0, end; i < GIRTHLINE_CYCLE_BINS; i = end + 1) {
    for (end = i; end < GIRTHLINE_CYCLE_BINS && isfinite(low[end]) && isfinite(high[end]);) end++;
    if (end > i) area(plot, p, band, i, end);
  }
  cairo_fill(plot->cr);
  gn_plot_colour(plot, GN_INK);
  cairo_set_line_width(plot->cr, 1.4);
  cairo_new_path(plot->cr);
  for (int i = 0; i < GIRTHLINE_CYCLE_BINS; i++) {
    if (!isfinite(level[i]))
      cairo_new_sub_path(plot->cr);
    else
      cairo_line_to(plot->cr, gn_plot_x(plot, bin_s(p, i)), gn_plot_y(plot, (double)level[i]));
  }
  cairo_stroke(plot->cr);
}

// Where a murmur phase lies in the average cycle, seconds after the first sound.
static girthline_span murmur_span(const girthline_pictures *p, const girthline_murmur_phase *m) {
  const double start = isfinite(m->start_fraction) ? m->start_fraction : 0, end = isfinite(m->end_fraction) ? m->end_fraction : 1;
  const double systole = p->cycle_systole_s, rest = p->cycle_interval_s - systole;
  if (m->phase == GIRTHLINE_SYSTOLE) return (girthline_span){start * systole, end * systole};
  if (m->phase == GIRTHLINE_DIASTOLE) return (girthline_span){systole + start * rest, systole + end * rest};
  return (girthline_span){0, p->cycle_interval_s};
}

static void draw_murmur(gn_plot *plot, const girthline_result *result, double bottom) {
  const girthline_murmur *m = &result->murmur;
  if (m->present != GIRTHLINE_YES) return;
  gn_plot_colour(plot, GN_NOTE);
  for (size_t i = 0; i < m->n_phases && i < 4; i++) {
    const girthline_span span = murmur_span(&result->pictures, &m->phases[i]);
    const double x0 = fmax(gn_plot_x(plot, span.start_s), plot->x), x1 = fmin(gn_plot_x(plot, span.end_s), plot->x + plot->w);
    if (!(x1 > x0)) continue;
    cairo_set_line_width(plot->cr, 3);
    cairo_move_to(plot->cr, x0, plot->y - 7);
    cairo_line_to(plot->cr, x1, plot->y - 7);
    cairo_stroke(plot->cr);
    cairo_set_dash(plot->cr, (const double[]){2, 3}, 2, 0);
    gn_plot_rule(plot, x0, plot->y - 7, x0, bottom);
    gn_plot_rule(plot, x1, plot->y - 7, x1, bottom);
    cairo_set_dash(plot->cr, NULL, 0, 0);
    gn_plot_text(plot, (x0 + x1) / 2, plot->y - 17, 0.5, "murmur");
  }
}

// The first sound's name stands before its line, the second's behind it: a murmur lies between them.
static void draw_sound_line(gn_plot *plot, double time_s, double bottom, bool first) {
  if (!(time_s >= plot->x0 && time_s <= plot->x1)) return;
  const double x = gn_plot_x(plot, time_s);
  const double high = first && x - plot->x < NAME_LEAST ? 8 : 0; // over the axis' own numbers
  gn_plot_rule(plot, x, plot->y - 7 - high, x, bottom);
  gn_plot_text(plot, first ? x - 3 : x + 4, plot->y - 4 - high, first ? 1 : 0, first ? "S1" : "S2");
}

void gn_draw_cycle(gn_plot *plot, const gn_figure_source *source) {
  const girthline_pictures *p = &source->result->pictures;
  plot->x = 34;
  plot->y = 48;
  plot->w = plot->width - plot->x - NAME_ROOM;
  plot->x0 = p->cycle_start_s;
  plot->x1 = p->cycle_start_s + GIRTHLINE_CYCLE_BINS * p->cycle_step_s;
  level_range(plot, source);
  const double top = plot->y, height = (360 - 24 - top) / GIRTHLINE_CYCLE_BANDS;
  plot->h = height - BAND_GAP;
  for (int b = 0; b < GIRTHLINE_CYCLE_BANDS; b++) {
    // The highest band on top, as pitch is read.
    plot->y = top + (GIRTHLINE_CYCLE_BANDS - 1 - b) * height;
    gn_plot_axis_y(plot, b ? "" : "level above the quiet, dB");
    draw_band(plot, p, b);
    gn_plot_colour(plot, GN_INK);
    gn_plot_label(plot, plot->width, plot->y + plot->h - 10, 1, "%.0f to %.0f Hz", p->cycle_band_hz[b][0], p->cycle_band_hz[b][1]);
  }
  plot->y = top + (GIRTHLINE_CYCLE_BANDS - 1) * height;
  gn_plot_axis_x(plot, "after S1, s");
  const double bottom = plot->y + plot->h;
  plot->y = top;
  gn_plot_colour(plot, GN_FIRST);
  draw_sound_line(plot, 0, bottom, true);
  draw_sound_line(plot, p->cycle_interval_s, bottom, true);
  gn_plot_colour(plot, GN_SECOND);
  draw_sound_line(plot, p->cycle_systole_s, bottom, false);
  draw_murmur(plot, source->result, bottom);
  plot->h = bottom - top;
}
