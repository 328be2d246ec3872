// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_plot.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

// Chosen so that the first and second sound differ in lightness as well as in hue, and none is the red or green of an
// alarm: the pictures state, they do not judge.
const gn_rgb gn_palette[GN_N_COLOURS] = {{31, 41, 51, "ink"},     {196, 202, 208, "faint"}, {94, 107, 120, "wave"},    {11, 83, 102, "first"},
                                         {156, 87, 12, "second"}, {122, 31, 92, "note"},    {222, 229, 233, "spread"}, {255, 255, 255, "paper"}};

#define TICK_LENGTH 4.0
#define MOST_TICKS 40
#define TICK_ROOM 17.0   // of height a number
static const char MINUS[] = "\xE2\x88\x92";
#define LONG_S 600.0     // a longer time is written in minutes
#define SMALL 0.2        // a recording that reaches less of full scale needs two decimals on its axis, and there is room for one

static const cairo_user_data_key_t LETTERS;

void gn_plot_letters(cairo_t *cr, gn_html *letters) { cairo_set_user_data(cr, &LETTERS, letters, NULL); }

gn_html *gn_plot_letters_of(cairo_t *cr) { return cairo_get_user_data(cr, &LETTERS); }

void gn_plot_colour(gn_plot *plot, gn_colour colour) {
  plot->colour = colour;
  const gn_rgb *c = &gn_palette[colour];
  cairo_set_source_rgb(plot->cr, c->red / 255.0, c->green / 255.0, c->blue / 255.0);
}

double gn_plot_x(const gn_plot *plot, double value) { return plot->x + (value - plot->x0) / (plot->x1 - plot->x0) * plot->w; }

double gn_plot_y(const gn_plot *plot, double value) { return plot->y + plot->h - (value - plot->y0) / (plot->y1 - plot->y0) * plot->h; }

static void set_text(gn_plot *plot, const char *text, int *width, int *height) {
  pango_layout_set_text(plot->layout, text, -1);
  pango_layout_get_pixel_size(plot->layout, width, height);
  if (pango_layout_get_unknown_glyphs_count(plot->layout)) plot->missing_glyph = true;
}

// At its edge or its middle, so that another font's widths shift nothing.
static void write_letters(gn_plot *plot, double x, double y, double align, const char *text) {
  const gn_rgb *c = &gn_palette[plot->colour];
  if (!*text) return;
  gn_html_raw(plot->letters, "<text x=\"");
  gn_html_number(plot->letters, x, 1);
  gn_html_raw(plot->letters, "\" y=\"");
  gn_html_number(plot->letters, y, 1);
  gn_html_format(plot->letters, "\" fill=\"#%02x%02x%02x\" class=\"f-%s\"%s>", c->red, c->green, c->blue, c->name,
                 align > 0.75 ? " text-anchor=\"end\"" : align > 0.25 ? " text-anchor=\"middle\"" : "");
  gn_html_text(plot->letters, text);
  gn_html_raw(plot->letters, "</text>\n");
}

double gn_plot_text(gn_plot *plot, double x, double y, double align, const char *text) {
  int width = 0, height = 0;
  set_text(plot, text, &width, &height);
  const double top = round(y - height / 2.0);
  if (plot->letters) {
    const double anchor_x = align > 0 ? x : round(x);
    write_letters(plot, anchor_x, top + (double)pango_layout_get_baseline(plot->layout) / PANGO_SCALE, align, text);
    return width;
  }
  cairo_move_to(plot->cr, round(x - align * width), top);
  pango_cairo_show_layout(plot->cr, plot->layout);
  return width;
}

double gn_plot_text_width(gn_plot *plot, const char *text) {
  int width = 0, height = 0;
  set_text(plot, text, &width, &height);
  return width;
}

void gn_plot_label(gn_plot *plot, double x, double y, double align, const char *format, ...) {
  char text[120];
  va_list args;
  va_start(args, format);
  vsnprintf(text, sizeof text, format, args);
  va_end(args);
  for (char *c = text; *c; c++)
    if (*c == ',' && c[1] >= '0' && c[1] <= '9') *c = '.'; // a decimal point whatever the locale
  char with_minus[sizeof text + sizeof MINUS];
  const bool minus = *text == '-' && text[1] >= '0' && text[1] <= '9';
  snprintf(with_minus, sizeof with_minus, "%s%s", minus ? MINUS : "", text + minus);
  gn_plot_text(plot, x, y, align, with_minus);
}

void gn_plot_rule(gn_plot *plot, double x0, double y0, double x1, double y1) {
  cairo_set_line_width(plot->cr, 1);
  cairo_move_to(plot->cr, floor(x0) + 0.5, floor(y0) + 0.5);
  cairo_line_to(plot->cr, floor(x1) + 0.5, floor(y1) + 0.5);
  cairo_stroke(plot->cr);
}

// A round step (1, 2 or 5 times a power of ten) that gives at most `most` steps over `range`.
static double tick_step(double range, double most) {
  const double raw = range / fmax(most, 1);
  double power = 1e-6;
  while (power * 10 <= raw && power < 1e9) power *= 10;
  for (int i = 0; i < 4; i++) {
    const double step = power * (i == 0 ? 1 : i == 1 ? 2 : i == 2 ? 5 : 10);
    if (step >= raw) return step;
  }
  return power * 10;
}

static int decimals_of(double step) {
  int decimals = 0;
  for (double s = step; s < 0.999 && decimals < 4; s *= 10) decimals++;
  return decimals;
}

static void axis_x(gn_plot *plot, const char *name, double unit) {
  const double bottom = plot->y + plot->h, step = unit * tick_step((plot->x1 - plot->x0) / unit, plot->w / 45);
  const bool below = plot->name_below;
  const double first = ceil(plot->x0 / step - 1e-9), name_width = below ? -14 : gn_plot_text_width(plot, name);
  gn_plot_colour(plot, GN_INK);
  gn_plot_rule(plot, plot->x, bottom, plot->x + plot->w, bottom);
  for (int i = 0; i < MOST_TICKS && (first + i) * step <= plot->x1 + step * 1e-6; i++) {
    const double value = (first + i) * step + 0.0, x = gn_plot_x(plot, value);
    gn_plot_rule(plot, x, bottom, x, bottom + TICK_LENGTH);
    if (x < plot->x + plot->w - name_width - 14) gn_plot_label(plot, x, bottom + 13, 0.5, "%.*f", decimals_of(step / unit), value / unit);
  }
  gn_plot_text(plot, plot->x + plot->w, bottom + (below ? 26 : 13), 1, name);
}

void gn_plot_axis_x(gn_plot *plot, const char *name) { axis_x(plot, name, 1); }

void gn_plot_axis_time(gn_plot *plot) {
  const bool minutes = plot->x1 - plot->x0 > LONG_S;
  axis_x(plot, minutes ? "time, min" : "time, s", minutes ? 60 : 1);
}

static void axis_y(gn_plot *plot, const char *name, double unit) {
  const double step = unit * tick_step((plot->y1 - plot->y0) / unit, plot->h / TICK_ROOM);
  const double first = ceil(plot->y0 / step - 1e-9);
  for (int i = 0; i < MOST_TICKS && (first + i) * step <= plot->y1 + step * 1e-6; i++) {
    const double value = (first + i) * step + 0.0, y = gn_plot_y(plot, value);
    gn_plot_colour(plot, GN_FAINT);
    gn_plot_rule(plot, plot->x, y, plot->x + plot->w, y);
    gn_plot_colour(plot, GN_INK);
    gn_plot_label(plot, plot->x - 6, y, 1, "%.*f", decimals_of(step / unit), value / unit);
  }
  gn_plot_colour(plot, GN_INK);
  gn_plot_rule(plot, plot->x, plot->y, plot->x, plot->y + plot->h);
  gn_plot_text(plot, 0, 8, 0, name);
}

void gn_plot_axis_y(gn_plot *plot, const char *name) { axis_y(plot, name, 1); }

void gn_plot_axis_amplitude(gn_plot *plot) {
  if (plot->y1 >= SMALL) axis_y(plot, "amplitude, share of full scale", 1);
  else if (plot->y1 >= SMALL * 1e-3) axis_y(plot, "amplitude, thousandths of full scale", 1e-3);
  else axis_y(plot, "amplitude, millionths of full scale", 1e-6);
}

void gn_plot_hatch(gn_plot *plot, double x0, double x1, double y0, double y1) {
  const double gap = 5, height = y1 - y0;
  if (!(x1 > x0)) return;
  cairo_save(plot->cr);
  cairo_rectangle(plot->cr, x0, y0, x1 - x0, height);
  cairo_clip(plot->cr);
  cairo_set_line_width(plot->cr, 1);
  // On a grid of the picture, so that neighbouring areas run on.
  for (double x = floor((x0 - height) / gap) * gap; x < x1; x += gap) {
    cairo_move_to(plot->cr, x, y1);
    cairo_line_to(plot->cr, x + height, y0);
  }
  cairo_stroke(plot->cr);
  cairo_restore(plot->cr);
}

static double tenth(double x) { return round(x * 10) / 10; }

void gn_plot_dot_path(gn_plot *plot, gn_mark mark) {
  cairo_new_sub_path(plot->cr); // no line from where a text ended
  cairo_arc(plot->cr, tenth(mark.x), tenth(mark.y), mark.size, 0, 6.283185307179586);
  cairo_close_path(plot->cr);
}

void gn_plot_triangle_path(gn_plot *plot, gn_mark mark) {
  cairo_move_to(plot->cr, tenth(mark.x), tenth(mark.y + mark.size));
  cairo_line_to(plot->cr, tenth(mark.x + mark.size), tenth(mark.y - mark.size));
  cairo_line_to(plot->cr, tenth(mark.x - mark.size), tenth(mark.y - mark.size));
  cairo_close_path(plot->cr);
}

void gn_plot_dot(gn_plot *plot, gn_mark mark, bool filled) {
  cairo_new_path(plot->cr);
  gn_plot_dot_path(plot, mark);
  cairo_set_line_width(plot->cr, 1.2);
  if (filled)
    cairo_fill(plot->cr);
  else
    cairo_stroke(plot->cr);
}

void gn_plot_square(gn_plot *plot, gn_mark mark) {
  cairo_rectangle(plot->cr, tenth(mark.x - mark.size), tenth(mark.y - mark.size), 2 * mark.size, 2 * mark.size);
  cairo_fill(plot->cr);
}

void gn_plot_triangle(gn_plot *plot, gn_mark mark) {
  cairo_new_path(plot->cr);
  gn_plot_triangle_path(plot, mark);
  cairo_fill(plot->cr);
}

void gn_plot_beats(gn_plot *plot, const girthline_result *result) {
  const double y = plot->y - 6, size = plot->narrow ? 2.5 : 4;
  cairo_new_path(plot->cr);
  gn_plot_colour(plot, GN_FIRST);
  for (size_t i = 0; i < result->n_beats; i++) {
    const double time_s = result->beats[i].s1_onset_s;
    if (time_s >= plot->x0 && time_s <= plot->x1) gn_plot_triangle_path(plot, (gn_mark){gn_plot_x(plot, time_s), y, size});
  }
  cairo_fill(plot->cr);
  gn_plot_colour(plot, GN_SECOND);
  for (size_t i = 0; i < result->n_beats; i++) {
    const double time_s = result->beats[i].s2_onset_s;
    if (time_s >= plot->x0 && time_s <= plot->x1) gn_plot_dot_path(plot, (gn_mark){gn_plot_x(plot, time_s), y, size * 0.65});
  }
  cairo_set_line_width(plot->cr, 1.2);
  cairo_stroke(plot->cr);
}
