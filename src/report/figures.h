// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The pictures of a report, drawn once with cairo so that the same functions serve the page, the PDF, SVG and PNG.
#ifndef GN_REPORT_FIGURES_H
#define GN_REPORT_FIGURES_H

#include <stdbool.h>
#include <stddef.h>

#include <cairo.h>

#include <girthline/report.h>
#include <girthline/result.h>
#include <girthline/status.h>

#include "report/html.h"
#include "report/sound.h"

#define GN_MOST_MARKED_BEATS 200 ///< in the picture of the whole; more would be a solid bar

typedef enum gn_figure_kind {
  GN_FIGURE_SOUND = 0, ///< the whole recording with its beats and spoilt spans
  GN_FIGURE_DETAIL,    ///< the best stretch with its named sounds
  GN_FIGURE_SPECTRUM,  ///< the best stretch by time and frequency
  GN_FIGURE_CYCLE,     ///< the average cycle by frequency
  GN_FIGURE_INTERVALS, ///< intervals against time
  GN_FIGURE_NEXT,      ///< each interval against the next
  GN_FIGURE_RATE,      ///< rate over time
  GN_N_FIGURES
} gn_figure_kind;

/// Where a picture's time axis lies, for a cursor and for touching a beat. time_end_s <= time_start_s: no time axis.
typedef struct gn_figure_area {
  double x, y, width, height; ///< of the plotted field, in the picture's own units
  double time_start_s, time_end_s;
} gn_figure_area;

/// Axes that several recordings' pictures share; a range whose end is not above its start (or 0) leaves a picture its own.
typedef struct gn_figure_scale {
  double amplitude, interval_s;                ///< from minus to plus this; from 0 to this
  double rate_bpm[2], cycle_db[2], next_s[2];
} gn_figure_scale;

/// Axes that hold all of these. False when memory is refused.
bool gn_figure_scale_of(const girthline_report_input *inputs, size_t n, gn_figure_scale *scale);

/// What a picture is drawn from. stretch may be NULL or empty: the detail is then drawn from the overview, and there is no
/// picture of time and frequency.
typedef struct gn_figure_source {
  const girthline_result *result;
  const gn_sound *stretch; ///< the best stretch as recorded
  const gn_figure_scale *scale; ///< NULL: each picture has its own axes
} gn_figure_source;

/// Short fixed word of a picture ("sound", "detail", ...), for file names and ids. Never NULL.
const char *gn_figure_name(gn_figure_kind kind);

/// False when the result holds nothing this picture could show.
bool gn_figure_has(gn_figure_kind kind, const gn_figure_source *source);

/// The height a picture needs at a width (units are CSS pixels or points; text is 12 units high).
double gn_figure_height(gn_figure_kind kind, double width);

/// Draw on cr from (0, 0). area may be NULL. NO_MEMORY when cairo was refused memory; INTERNAL when no font has the
/// letters of the labels.
girthline_status gn_figure_draw(gn_figure_kind kind, const gn_figure_source *source, cairo_t *cr, double width, gn_figure_area *area, girthline_error *error);

/// The picture as the inside of an <svg> element: every id starts with `prefix`, no style attribute, each of the
/// palette's colours also as a class (f-NAME for filling, s-NAME for strokes).
girthline_status gn_figure_svg(gn_figure_kind kind, const gn_figure_source *source, double width, const char *prefix, gn_html *out, gn_figure_area *area,
                               girthline_error *error);

/// A part of the recording drawn as the best stretch is; source->stretch is the sound of that part.
girthline_status gn_figure_part_svg(const gn_figure_source *source, girthline_span part, double width, const char *prefix, gn_html *out, gn_figure_area *area,
                                    girthline_error *error);

/// The same for any drawing of `width` by `height`: what the two calls above and below are made of.
typedef girthline_status (*gn_figure_drawer)(void *user, cairo_t *cr, double width, girthline_error *error);
girthline_status gn_figure_svg_of(gn_figure_drawer draw, void *user, const double size[2], const char *prefix, gn_html *out, girthline_error *error);

/// One of the report's own pictures as such a drawing: user points to one of these. area may be NULL.
typedef struct gn_figure_one {
  gn_figure_kind kind;
  const gn_figure_source *source;
  gn_figure_area *area;
} gn_figure_one;
girthline_status gn_figure_draw_one(void *user, cairo_t *cr, double width, girthline_error *error);

#define GN_FIGURE_FILE_WIDTH 912.0 ///< units: as wide as on the page

/// Any drawing as a file of its own, SVG or PNG, freed with girthline_data_free.
typedef struct gn_figure_drawing {
  gn_figure_drawer draw;
  void *user;
  double width, height;
} gn_figure_drawing;
girthline_status gn_figure_file(const gn_figure_drawing *drawing, girthline_figure_form form, void **data, size_t *n_bytes, girthline_error *error);

#endif
