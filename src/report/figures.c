// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures.h"

#include <math.h>

#include "base/error.h"
#include "report/figures_plot.h"

#define NARROW 480.0       ///< below this width a picture is drawn for a telephone
#define TEXT_SIZE 12.0     ///< CSS pixels or points
#define FONT "DejaVu Sans" ///< the one font the packages bring; the same letters everywhere

typedef struct figure {
  const char *name;
  void (*draw)(gn_plot *, const gn_figure_source *);
  double wide_height, narrow_height;
  bool has_time;
} figure;

static const figure FIGURES[GN_N_FIGURES] = {
    {"sound", gn_draw_sound, 196, 176, true},  {"detail", gn_draw_detail, 228, 228, true},       {"spectrum", gn_draw_spectrum, 200, 200, true},
    {"cycle", gn_draw_cycle, 360, 360, false}, {"intervals", gn_draw_intervals, 192, 192, true}, {"next", gn_draw_next, 268, 268, false},
    {"rate", gn_draw_rate, 182, 182, true}};

const char *gn_figure_name(gn_figure_kind kind) { return FIGURES[kind].name; }

double gn_figure_height(gn_figure_kind kind, double width) {
  return width < NARROW && kind != GN_FIGURE_NEXT ? FIGURES[kind].narrow_height : FIGURES[kind].wide_height;
}

bool gn_figure_has(gn_figure_kind kind, const gn_figure_source *source) {
  const girthline_result *r = source->result;
  const girthline_span best = r->quality.best_span;
  switch (kind) {
  case GN_FIGURE_SOUND: return r->pictures.n_overview > 0;
  case GN_FIGURE_DETAIL: return best.end_s > best.start_s && ((source->stretch && source->stretch->n) || r->pictures.n_overview > 0);
  case GN_FIGURE_SPECTRUM: return best.end_s > best.start_s && source->stretch && source->stretch->n;
  case GN_FIGURE_CYCLE: return r->pictures.n_cycle_beats > 0 && r->pictures.cycle_step_s > 0;
  case GN_FIGURE_INTERVALS: return r->rhythm.n_intervals > 0;
  case GN_FIGURE_NEXT: return r->rhythm.n_intervals > 1;
  case GN_FIGURE_RATE: return r->rate.n_counted > 0 || isfinite(r->rate.bpm);
  case GN_N_FIGURES: break;
  }
  return false;
}

girthline_status gn_plot_run(gn_plot *out, cairo_t *cr, double width, gn_plot_drawer draw, const void *user, girthline_error *error) {
  gn_plot plot = {.cr = cr, .width = width, .narrow = width < NARROW, .letters = gn_plot_letters_of(cr)};
  plot.layout = pango_cairo_create_layout(cr);
  PangoFontDescription *font = pango_font_description_from_string(FONT);
  if (!plot.layout || !font) return gn_error_memory(error, "report");
  pango_font_description_set_absolute_size(font, TEXT_SIZE * PANGO_SCALE);
  pango_layout_set_font_description(plot.layout, font);
  cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
  draw(&plot, user);
  pango_font_description_free(font);
  g_object_unref(plot.layout);
  plot.layout = NULL;
  *out = plot;
  if (plot.no_memory || cairo_status(cr) != CAIRO_STATUS_SUCCESS) return gn_error_memory(error, "report");
  if (plot.missing_glyph)
    return gn_error_set(error, GIRTHLINE_INTERNAL, "report", "no font on this machine has the letters of the pictures; install the DejaVu fonts and try again");
  return GIRTHLINE_OK;
}

typedef struct kind_source {
  gn_figure_kind kind;
  const gn_figure_source *source;
} kind_source;

static void draw_kind(gn_plot *plot, const void *user) {
  const kind_source *k = user;
  FIGURES[k->kind].draw(plot, k->source);
}

girthline_status gn_figure_draw(gn_figure_kind kind, const gn_figure_source *source, cairo_t *cr, double width, gn_figure_area *area, girthline_error *error) {
  gn_plot plot = {0};
  const kind_source k = {kind, source};
  const girthline_status status = gn_plot_run(&plot, cr, width, draw_kind, &k, error);
  if (area) *area = (gn_figure_area){plot.x, plot.y, plot.w, plot.h, plot.x0, FIGURES[kind].has_time ? plot.x1 : plot.x0};
  return status;
}

girthline_status gn_figure_draw_one(void *user, cairo_t *cr, double width, girthline_error *error) {
  const gn_figure_one *one = user;
  return gn_figure_draw(one->kind, one->source, cr, width, one->area, error);
}

typedef struct part_drawing {
  const gn_figure_source *source;
  girthline_span part;
  gn_figure_area *area;
} part_drawing;

static void draw_part(gn_plot *plot, const void *user) {
  const part_drawing *p = user;
  gn_draw_part(plot, p->source, p->part);
}

static girthline_status part_drawer(void *user, cairo_t *cr, double width, girthline_error *error) {
  gn_plot plot = {0};
  const part_drawing *p = user;
  const girthline_status status = gn_plot_run(&plot, cr, width, draw_part, p, error);
  if (p->area) *p->area = (gn_figure_area){plot.x, plot.y, plot.w, plot.h, plot.x0, plot.x1};
  return status;
}

girthline_status gn_figure_part_svg(const gn_figure_source *source, girthline_span part, double width, const char *prefix, gn_html *out, gn_figure_area *area,
                                    girthline_error *error) {
  part_drawing p = {source, part, area};
  return gn_figure_svg_of(part_drawer, &p, (double[]){width, gn_figure_height(GN_FIGURE_DETAIL, width)}, prefix, out, error);
}
