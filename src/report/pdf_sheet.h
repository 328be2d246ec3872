// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// One A4 page under way: text and pictures set one below the other. Lengths are points.
#ifndef GN_REPORT_PDF_SHEET_H
#define GN_REPORT_PDF_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include <cairo.h>
#include <pango/pangocairo.h>

#include <girthline/report.h>

#include "report/buffer.h"
#include "report/figures.h"
#include "report/figures_plot.h"

#define GN_SHEET_WIDTH 595.276 ///< A4, ISO 216: 210 mm
#define GN_SHEET_HEIGHT 841.89 ///< 297 mm
#define GN_SHEET_MARGIN 40.0

typedef enum gn_sheet_style {
  GN_SHEET_NAME = 0, ///< the recording's name
  GN_SHEET_HEADING,
  GN_SHEET_SAID, ///< the answer itself
  GN_SHEET_BODY,
  GN_SHEET_STRONG,
  GN_SHEET_SMALL, ///< captions, what numbers mean
  GN_SHEET_STRONG_SMALL,
  GN_SHEET_N_STYLES
} gn_sheet_style;

typedef struct gn_sheet {
  cairo_t *cr;
  PangoLayout *layout;
  bool dry;     ///< only measure: nothing is drawn
  double scale; ///< of letters and pictures, 1 or less
  double y;     ///< where the next thing goes
  girthline_status status;
  girthline_error *error;
} gn_sheet;

/// The place of a text: left edge, top, and the width it is wrapped to.
typedef struct gn_sheet_box {
  double x, y, width;
} gn_sheet_box;

/// A text in its place; bytes that are no UTF-8 and characters that act show as U+FFFD. Returns its height.
double gn_sheet_text(gn_sheet *sheet, gn_sheet_style style, gn_colour colour, gn_sheet_box box, const char *text);

/// The same over the whole width at y, one line when `one_line` (its middle is left out where it is too long); y moves on.
void gn_sheet_line(gn_sheet *sheet, gn_sheet_style style, gn_colour colour, const char *text);
void gn_sheet_title(gn_sheet *sheet, const char *text); ///< the recording's name, on one line

/// The same with what `words` holds, which is emptied.
void gn_sheet_words(gn_sheet *sheet, gn_sheet_style style, gn_colour colour, gn_buffer *words);

void gn_sheet_heading(gn_sheet *sheet, const char *text);
void gn_sheet_rule(gn_sheet *sheet);                ///< a faint line over the whole width
void gn_sheet_gap(gn_sheet *sheet, double height);  ///< scaled

/// A picture with its left edge at box.x, box.width wide; `unit` points to a unit of the picture. Returns its height.
double gn_sheet_figure(gn_sheet *sheet, gn_figure_kind kind, const gn_figure_source *source, gn_sheet_box box, double unit);

/// The same for any drawing: `height` is in its own units.
typedef struct gn_sheet_drawn {
  gn_sheet_box box;
  double unit, height;
} gn_sheet_drawn;
double gn_sheet_drawing(gn_sheet *sheet, gn_figure_drawer draw, void *user, gn_sheet_drawn where);

#endif
