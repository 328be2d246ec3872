// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A field with axes: what every picture is drawn on.
#ifndef GN_REPORT_FIGURES_PLOT_H
#define GN_REPORT_FIGURES_PLOT_H

#include <stdbool.h>

#include <cairo.h>
#include <pango/pangocairo.h>

#include "report/figures.h"

typedef enum gn_colour {
  GN_INK = 0, ///< text and axes
  GN_FAINT,   ///< rules
  GN_WAVE,    ///< the sound itself
  GN_FIRST,   ///< first heart sound
  GN_SECOND,  ///< second heart sound
  GN_NOTE,    ///< what asks for a look: pauses, early beats, a murmur
  GN_SPREAD,  ///< areas: usual range, spread
  GN_PAPER,   ///< the ground
  GN_N_COLOURS
} gn_colour;

typedef struct gn_rgb {
  unsigned char red, green, blue;
  const char *name;
} gn_rgb;
extern const gn_rgb gn_palette[GN_N_COLOURS]; ///< all eight differ; on GN_PAPER text colours reach a contrast of 4.5 to 1

typedef struct gn_plot {
  cairo_t *cr;
  PangoLayout *layout;
  double width;          ///< of the whole picture
  bool narrow;           ///< a telephone's width
  bool name_below;       ///< the name of the axis below has a row of its own
  double x, y, w, h;     ///< the field
  double x0, x1, y0, y1; ///< what the field's edges mean
  gn_colour colour;      ///< as set last
  gn_html *letters;      ///< where texts are written as SVG; NULL: they are drawn
  bool missing_glyph, no_memory;
} gn_plot;

typedef struct gn_mark {
  double x, y, size;
} gn_mark;

/// Draw with a plot set up on cr (the one font, its size): `draw` sets the field. *out is the plot as it was left, without
/// its layout. NO_MEMORY when cairo was refused memory; INTERNAL when no font has the letters.
typedef void (*gn_plot_drawer)(gn_plot *plot, const void *user);
girthline_status gn_plot_run(gn_plot *out, cairo_t *cr, double width, gn_plot_drawer draw, const void *user, girthline_error *error);

/// From now on texts drawn on cr go into letters as <text> elements, which stay text: to be read out, searched and chosen.
void gn_plot_letters(cairo_t *cr, gn_html *letters);
gn_html *gn_plot_letters_of(cairo_t *cr); ///< NULL: they are drawn

void gn_plot_colour(gn_plot *plot, gn_colour colour);
double gn_plot_x(const gn_plot *plot, double value);
double gn_plot_y(const gn_plot *plot, double value);

/// Text with its left edge (align 0), middle (0.5) or right edge (1) at x and its vertical middle at y. Returns its width.
double gn_plot_text(gn_plot *plot, double x, double y, double align, const char *text);
double gn_plot_text_width(gn_plot *plot, const char *text);
/// Numbers for labels: value with `decimals` and a unit, written at x, y.
void gn_plot_label(gn_plot *plot, double x, double y, double align, const char *format, ...) __attribute__((format(printf, 5, 6)));

void gn_plot_rule(gn_plot *plot, double x0, double y0, double x1, double y1);  ///< a line 1 wide on whole pixels
void gn_plot_axis_x(gn_plot *plot, const char *name);                          ///< ticks, numbers, name with its unit
void gn_plot_axis_time(gn_plot *plot);                                         ///< the same for time in seconds; over ten minutes it is written in minutes
void gn_plot_axis_y(gn_plot *plot, const char *name);                          ///< the same on the left; the name stands at the picture's top left
void gn_plot_axis_amplitude(gn_plot *plot);                                    ///< the same for a share of full scale; a small one in thousandths or millionths
void gn_plot_hatch(gn_plot *plot, double x0, double x1, double y0, double y1); ///< slanted strokes over an area

void gn_plot_dot(gn_plot *plot, gn_mark mark, bool filled);
void gn_plot_square(gn_plot *plot, gn_mark mark);
void gn_plot_triangle(gn_plot *plot, gn_mark mark); ///< filled, pointing down
void gn_plot_dot_path(gn_plot *plot, gn_mark mark); ///< the same as paths: many marks in one stroke make a small picture
void gn_plot_triangle_path(gn_plot *plot, gn_mark mark);
void gn_plot_beats(gn_plot *plot, const girthline_result *result); ///< a row of marks above the field: S1 triangles, S2 circles

/// The pictures themselves; each sets the field and returns it in *plot.
void gn_draw_sound(gn_plot *plot, const gn_figure_source *source);
void gn_draw_detail(gn_plot *plot, const gn_figure_source *source);
void gn_draw_part(gn_plot *plot, const gn_figure_source *source, girthline_span part); ///< as the detail; stretch is that part's sound
void gn_draw_spectrum(gn_plot *plot, const gn_figure_source *source);
void gn_draw_cycle(gn_plot *plot, const gn_figure_source *source);
void gn_draw_intervals(gn_plot *plot, const gn_figure_source *source);
void gn_draw_next(gn_plot *plot, const gn_figure_source *source);
void gn_draw_rate(gn_plot *plot, const gn_figure_source *source);

/// What an axis must hold; gn_plot_amplitude sorts the columns' peaks it is given.
double gn_plot_amplitude(float *peaks, size_t n);
double gn_plot_longest_s(const girthline_rhythm *rhythm);
void gn_plot_rates(const girthline_rate *rate, double range[2]);
void gn_plot_levels(const girthline_pictures *pictures, double range[2]);
void gn_plot_next(const girthline_rhythm *rhythm, double range[2]);

/// The part of the recording the pictures' time axes cover.
girthline_span gn_figure_span(const girthline_result *result);

#endif
