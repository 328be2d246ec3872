// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_area.h"

#include <math.h>

#include "report/figures.h"
#include "report/figures_plot.h"

#define STEP_DB 10.0 ///< the level axis ends on a multiple

const gn_area_panel GN_AREA_AXES = {NULL, {0, 0.1}, {0, STEP_DB}};

static double bin_s(const girthline_pictures *p, int i) { return p->cycle_start_s + (i + 0.5) * p->cycle_step_s; }

bool gn_area_widen(gn_area_panel *axes, const girthline_result *result) {
  const girthline_pictures *p = &result->pictures;
  if (!p->n_cycle_beats) return false;
  axes->time_s[0] = fmin(axes->time_s[0], p->cycle_start_s);
  axes->time_s[1] = fmax(axes->time_s[1], p->cycle_start_s + GIRTHLINE_CYCLE_BINS * p->cycle_step_s);
  for (int b = 0; b < GIRTHLINE_CYCLE_BANDS; b++)
    for (int k = 0; k < GIRTHLINE_CYCLE_BINS; k++) {
      if (!isfinite(p->cycle_db[b][k])) continue;
      axes->level_db[0] = fmin(axes->level_db[0], STEP_DB * floor((double)p->cycle_db[b][k] / STEP_DB));
      axes->level_db[1] = fmax(axes->level_db[1], STEP_DB * ceil((double)p->cycle_db[b][k] / STEP_DB));
    }
  return true;
}

// The loudest of the bands from 90 Hz on: where a murmur shows and the heart sounds have all but ended.
static double upper_db(const girthline_pictures *p, int i) {
  double most = (double)NAN;
  for (int b = 1; b < GIRTHLINE_CYCLE_BANDS; b++) most = fmax(most, (double)p->cycle_db[b][i]);
  return most;
}

static void curve(gn_plot *plot, const girthline_pictures *p, bool upper) {
  gn_plot_colour(plot, upper ? GN_SECOND : GN_FIRST);
  cairo_set_line_width(plot->cr, upper ? 1.8 : 1.0);
  cairo_new_path(plot->cr);
  for (int i = 0; i < GIRTHLINE_CYCLE_BINS; i++) {
    const double db = upper ? upper_db(p, i) : (double)p->cycle_db[0][i];
    if (isfinite(db)) cairo_line_to(plot->cr, gn_plot_x(plot, bin_s(p, i)), gn_plot_y(plot, db));
    else cairo_new_sub_path(plot->cr);
  }
  cairo_stroke(plot->cr);
}

static void murmur_bar(gn_plot *plot, const girthline_result *r, const girthline_murmur_phase *m) {
  const double systole = r->pictures.cycle_systole_s, rest = r->pictures.cycle_interval_s - systole;
  const double a = isfinite(m->start_fraction) ? m->start_fraction : 0, b = isfinite(m->end_fraction) ? m->end_fraction : 1;
  const double from = m->phase == GIRTHLINE_DIASTOLE ? systole + a * rest : m->phase == GIRTHLINE_SYSTOLE ? a * systole : 0;
  const double to = m->phase == GIRTHLINE_DIASTOLE ? systole + b * rest : m->phase == GIRTHLINE_SYSTOLE ? b * systole : r->pictures.cycle_interval_s;
  if (!isfinite(from) || !isfinite(to)) return;
  const double x0 = gn_plot_x(plot, from), x1 = gn_plot_x(plot, fmin(to, plot->x1)), y = plot->y - 5;
  gn_plot_colour(plot, GN_NOTE);
  cairo_set_line_width(plot->cr, 3);
  cairo_move_to(plot->cr, x0, y);
  cairo_line_to(plot->cr, x1, y);
  cairo_stroke(plot->cr);
  gn_plot_text(plot, (x0 + x1) / 2, y - 10, 0.5, "murmur");
}

static void draw(gn_plot *plot, const void *user) {
  const gn_area_panel *panel = user;
  plot->x = 32; // "−10" and what parts it from the axis
  plot->y = 24;
  plot->w = plot->width - plot->x - 4;
  plot->h = GN_AREA_HEIGHT - plot->y - 24;
  plot->x0 = panel->time_s[0];
  plot->x1 = panel->time_s[1];
  plot->y0 = panel->level_db[0];
  plot->y1 = panel->level_db[1];
  gn_plot_axis_y(plot, "dB");
  gn_plot_axis_x(plot, "s");
  curve(plot, &panel->result->pictures, false);
  curve(plot, &panel->result->pictures, true);
  for (size_t i = 0; i < panel->result->murmur.n_phases && i < 4; i++) murmur_bar(plot, panel->result, &panel->result->murmur.phases[i]);
}

girthline_status gn_area_drawer(void *user, cairo_t *cr, double width, girthline_error *error) {
  gn_plot plot;
  return gn_plot_run(&plot, cr, width, draw, user, error);
}

girthline_status gn_area_svg(const gn_area_panel *panel, const char *prefix, gn_html *out, girthline_error *error) {
  gn_area_panel copy = *panel;
  return gn_figure_svg_of(gn_area_drawer, &copy, (double[]){GN_AREA_WIDTH, GN_AREA_HEIGHT}, prefix, out, error);
}
