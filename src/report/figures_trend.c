// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_trend.h"

#include <math.h>

#include "report/figures.h"
#include "report/figures_plot.h"

#define LEFT 44.0
#define RIGHT 40.0 ///< half of a date's width, for the last one
#define TOP 26.0
#define BOTTOM 26.0
#define MARGIN 0.08 ///< of the range, free above and below
#define DOT 4.0
#define CAP 4.0     ///< half of a spread bar's ends

static void widen(double range[2], double value) {
  if (isnan(value)) return;
  if (!(value >= range[0])) range[0] = value;
  if (!(value <= range[1])) range[1] = value;
}

static void set_field(gn_plot *plot, const gn_trend *t) {
  double values[2] = {NAN, NAN}, days[2] = {NAN, NAN};
  for (size_t i = 0; i < t->n; i++) {
    widen(days, t->points[i].day);
    widen(values, t->points[i].value);
    widen(values, t->points[i].spread[0]);
    widen(values, t->points[i].spread[1]);
  }
  if (isnan(days[0])) days[0] = days[1] = 0;
  if (isnan(values[0])) values[0] = values[1] = 0;
  const double short_of = (t->least_range - (values[1] - values[0])) / 2, more = (short_of > 0 ? short_of : 0) + MARGIN * fmax(values[1] - values[0], t->least_range);
  const double edge = days[1] > days[0] ? 0.03 * (days[1] - days[0]) : 1;
  plot->x = LEFT;
  plot->y = TOP;
  plot->w = plot->width - LEFT - RIGHT;
  plot->h = GN_TREND_HEIGHT - TOP - BOTTOM;
  plot->x0 = days[0] - edge;
  plot->x1 = days[1] + edge;
  plot->y0 = values[0] - more;
  plot->y1 = values[1] + more;
}

// A date under each visit, where it does not run into the one before.
static void dates(gn_plot *plot, const gn_trend *t) {
  const double bottom = plot->y + plot->h;
  double free_from = -1;
  gn_plot_colour(plot, GN_INK);
  gn_plot_rule(plot, plot->x, bottom, plot->x + plot->w, bottom);
  for (size_t i = 0; i < t->n; i++) {
    const double x = gn_plot_x(plot, t->points[i].day), half = gn_plot_text_width(plot, t->points[i].date) / 2;
    gn_plot_rule(plot, x, bottom, x, bottom + 4);
    if (x - half < free_from) continue;
    gn_plot_text(plot, x, bottom + 13, 0.5, t->points[i].date);
    free_from = x + half + 8;
  }
}

static void line(gn_plot *plot, const gn_trend *t) {
  bool begun = false;
  cairo_new_path(plot->cr);
  for (size_t i = 0; i < t->n; i++) {
    const gn_trend_point *p = &t->points[i];
    if (isnan(p->value)) continue;
    const double x = gn_plot_x(plot, p->day), y = gn_plot_y(plot, p->value);
    if (begun && !p->below) cairo_line_to(plot->cr, x, y);
    else cairo_move_to(plot->cr, x, y);
    begun = !p->below; // no line to what was not found
  }
  gn_plot_colour(plot, GN_WAVE);
  cairo_set_line_width(plot->cr, 1);
  cairo_stroke(plot->cr);
}

static void point(gn_plot *plot, const gn_trend_point *p) {
  const double x = gn_plot_x(plot, p->day), y = gn_plot_y(plot, p->value);
  gn_plot_colour(plot, p->below ? GN_NOTE : GN_FIRST);
  if (!isnan(p->spread[0]) && !isnan(p->spread[1])) {
    const double low = gn_plot_y(plot, p->spread[0]), high = gn_plot_y(plot, p->spread[1]);
    gn_plot_rule(plot, x, low, x, high);
    gn_plot_rule(plot, x - CAP, low, x + CAP, low);
    gn_plot_rule(plot, x - CAP, high, x + CAP, high);
  }
  if (p->below) gn_plot_triangle(plot, (gn_mark){x, y, DOT});
  else gn_plot_dot(plot, (gn_mark){x, y, DOT}, true);
}

static void draw(gn_plot *plot, const void *user) {
  const gn_trend *t = user;
  set_field(plot, t);
  gn_plot_axis_y(plot, t->axis);
  dates(plot, t);
  line(plot, t);
  for (size_t i = 0; i < t->n; i++)
    if (!isnan(t->points[i].value)) point(plot, &t->points[i]);
}

girthline_status gn_trend_draw(const gn_trend *trend, cairo_t *cr, double width, girthline_error *error) {
  gn_plot plot;
  return gn_plot_run(&plot, cr, width, draw, trend, error);
}

girthline_status gn_trend_drawer(void *user, cairo_t *cr, double width, girthline_error *error) { return gn_trend_draw(user, cr, width, error); }

girthline_status gn_trend_svg(const gn_trend *trend, double width, const char *prefix, gn_html *out, girthline_error *error) {
  gn_trend copy = *trend;
  return gn_figure_svg_of(gn_trend_drawer, &copy, (double[]){width, GN_TREND_HEIGHT}, prefix, out, error);
}
