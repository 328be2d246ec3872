// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_recovery.h"

#include <math.h>

#include "report/figures.h"
#include "report/figures_plot.h"

#define LEFT 40.0
#define RIGHT 14.0
#define TOP 46.0 ///< the axis' name, and over the field what the bounds are for
#define BOTTOM 40.0
#define ROOM 1.06  ///< of the last minute, so that its dot is not cut
#define LEAST_BPM 12.0 ///< the rate axis covers at least this much
#define SIGN 4.5

static bool has_bounds(const gn_recovery_curve *c) { return isfinite(c->resting_bpm) && isfinite(c->back_bpm); }

static void set_field(gn_plot *plot, const gn_recovery_curve *c) {
  double low = c->resting_bpm, high = has_bounds(c) ? c->back_bpm : c->resting_bpm, last = has_bounds(c) ? c->hard_min[1] : 1;
  for (size_t i = 0; i < c->n; i++) {
    low = fmin(low, c->dots[i].bpm); // fmin and fmax pass over NaN
    high = fmax(high, c->dots[i].bpm);
    last = fmax(last, c->dots[i].minutes);
  }
  if (!(high >= low)) low = high = 0;
  const double range = fmax(high - low, LEAST_BPM);
  plot->x = LEFT;
  plot->y = TOP;
  plot->w = plot->width - LEFT - RIGHT;
  plot->h = GN_RECOVERY_HEIGHT - TOP - BOTTOM;
  plot->x0 = 0;
  plot->x1 = last * ROOM;
  plot->y0 = fmax(0, floor((low - 0.15 * range) / 2) * 2);
  plot->y1 = ceil((high + 0.2 * range) / 2) * 2;
  plot->name_below = true;
}

// Recovered: from the rate at rest up to the published bound.
static void draw_back(gn_plot *plot, const gn_recovery_curve *c) {
  const double top = gn_plot_y(plot, c->back_bpm), bottom = gn_plot_y(plot, c->resting_bpm);
  gn_plot_colour(plot, GN_SPREAD);
  cairo_rectangle(plot->cr, plot->x, top, plot->w, bottom - top);
  cairo_fill(plot->cr);
}

static void dashed_rule(gn_plot *plot, double x, double from, double to) {
  cairo_set_dash(plot->cr, (const double[]){3, 3}, 2, 0);
  gn_plot_rule(plot, x, from, x, to);
  cairo_set_dash(plot->cr, NULL, 0, 0);
}

// When it is due after light and after hard work: a mark and a span over the field, and what they are for.
static void draw_due(gn_plot *plot, const gn_recovery_curve *c) {
  const double bottom = plot->y + plot->h, over = plot->y - 6;
  const double light = gn_plot_x(plot, c->light_min), from = gn_plot_x(plot, c->hard_min[0]), to = gn_plot_x(plot, c->hard_min[1]);
  gn_plot_colour(plot, GN_WAVE);
  dashed_rule(plot, light, over, bottom);
  dashed_rule(plot, from, over, bottom);
  dashed_rule(plot, to, over, bottom);
  cairo_set_line_width(plot->cr, 3);
  cairo_move_to(plot->cr, from, over);
  cairo_line_to(plot->cr, to, over);
  cairo_stroke(plot->cr);
  gn_plot_colour(plot, GN_INK);
  gn_plot_text(plot, light, over - 9, 0.5, plot->narrow ? "light" : "after light work");
  const char *hard = plot->narrow ? "hard" : "after hard work";
  const double half = gn_plot_text_width(plot, hard) / 2, middle = fmin((from + to) / 2, plot->width - half);
  gn_plot_text(plot, middle, over - 9, 0.5, hard);
}

static void draw_rest(gn_plot *plot, const gn_recovery_curve *c) {
  const double y = gn_plot_y(plot, c->resting_bpm);
  gn_plot_colour(plot, GN_FIRST);
  cairo_set_line_width(plot->cr, 1.6);
  cairo_move_to(plot->cr, plot->x, y);
  cairo_line_to(plot->cr, plot->x + plot->w, y);
  cairo_stroke(plot->cr);
  gn_plot_label(plot, plot->x + 6, y + 9, 0, "at rest %.0f", round(c->resting_bpm));
  if (!has_bounds(c)) return;
  gn_plot_colour(plot, GN_INK);
  gn_plot_label(plot, plot->x + 6, gn_plot_y(plot, c->back_bpm) - 8, 0, plot->narrow ? "back: %.0f" : "recovered: up to %.0f", c->back_bpm);
}

static void draw_line(gn_plot *plot, const gn_recovery_curve *c) {
  bool begun = false;
  cairo_new_path(plot->cr);
  for (size_t i = 0; i < c->n; i++) {
    if (isnan(c->dots[i].bpm)) continue;
    if (begun) cairo_line_to(plot->cr, gn_plot_x(plot, c->dots[i].minutes), gn_plot_y(plot, c->dots[i].bpm));
    else cairo_move_to(plot->cr, gn_plot_x(plot, c->dots[i].minutes), gn_plot_y(plot, c->dots[i].bpm));
    begun = true;
  }
  gn_plot_colour(plot, GN_INK);
  cairo_set_line_width(plot->cr, 1.2);
  cairo_stroke(plot->cr);
}

// The number stands over its dot, where the one before leaves it room. A rate not determined is a ring on the axis.
static void draw_dots(gn_plot *plot, const gn_recovery_curve *c) {
  double free_from = -1;
  for (size_t i = 0; i < c->n; i++) {
    const gn_recovery_dot *dot = &c->dots[i];
    const double x = gn_plot_x(plot, dot->minutes), y = isnan(dot->bpm) ? plot->y + plot->h : gn_plot_y(plot, dot->bpm);
    gn_plot_colour(plot, dot->uneven ? GN_NOTE : GN_INK);
    if (isnan(dot->bpm)) {
      gn_plot_dot(plot, (gn_mark){x, y, SIGN}, false);
      continue;
    }
    if (dot->uneven) gn_plot_triangle(plot, (gn_mark){x, y, SIGN + 1});
    else gn_plot_dot(plot, (gn_mark){x, y, SIGN}, true);
    if (x < free_from) continue;
    gn_plot_label(plot, x + 8, y - 9, 0, "%.0f", round(dot->bpm));
    free_from = x + 26;
  }
}

static void draw(gn_plot *plot, const void *user) {
  const gn_recovery_curve *c = user;
  set_field(plot, c);
  if (has_bounds(c)) draw_back(plot, c);
  gn_plot_axis_y(plot, "beats a minute");
  gn_plot_axis_x(plot, "since exercise ended, min");
  if (has_bounds(c)) draw_due(plot, c);
  if (isfinite(c->resting_bpm)) draw_rest(plot, c);
  draw_line(plot, c);
  draw_dots(plot, c);
}

girthline_status gn_recovery_draw(const gn_recovery_curve *curve, cairo_t *cr, double width, girthline_error *error) {
  gn_plot plot;
  return gn_plot_run(&plot, cr, width, draw, curve, error);
}

girthline_status gn_recovery_drawer(void *user, cairo_t *cr, double width, girthline_error *error) { return gn_recovery_draw(user, cr, width, error); }

girthline_status gn_recovery_svg(const gn_recovery_curve *curve, double width, const char *prefix, gn_html *out, girthline_error *error) {
  gn_recovery_curve copy = *curve;
  return gn_figure_svg_of(gn_recovery_drawer, &copy, (double[]){width, GN_RECOVERY_HEIGHT}, prefix, out, error);
}
