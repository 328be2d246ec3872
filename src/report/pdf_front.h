// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A document to print with pages of its own before the recordings': lines of text, rows of a table, pictures, and small ones
/// side by side.
#ifndef GN_REPORT_PDF_FRONT_H
#define GN_REPORT_PDF_FRONT_H

#include <girthline/report.h>

#include "report/figures.h"

typedef enum gn_front_kind {
  GN_FRONT_TITLE = 0,
  GN_FRONT_HEADING,
  GN_FRONT_SAID, ///< an answer
  GN_FRONT_STRONG,
  GN_FRONT_BODY,
  GN_FRONT_SMALL,
  GN_FRONT_FACT,     ///< as a line of text; two that are short stand beside one another
  GN_FRONT_ANSWER,   ///< label, answer and why, parted by tabs
  GN_FRONT_FINDING,  ///< urgency, finding, advice and evidence, parted by tabs; any but the first may be empty
  GN_FRONT_PANELS,   ///< front's panels, three beside one another; its text stands under them
  GN_FRONT_PICTURE,  ///< a drawing over the whole width; its text stands under it
  GN_FRONT_HEAD,     ///< a table's head: cells parted by tabs, written again at the top of a page the table goes on on
  GN_FRONT_GROUP,    ///< a heading within a table
  GN_FRONT_ROW,      ///< cells parted by tabs
  GN_FRONT_ROW_TOLD, ///< the same with its first cell strong
} gn_front_kind;

#define GN_FRONT_COLUMNS 6

typedef struct gn_front_line {
  gn_front_kind kind;
  const char *text;
  gn_figure_drawer draw; ///< of a picture, with what it is called with and its height in the picture's units
  void *user;
  double height;
} gn_front_line;

/// A small picture with its title over it and words under it.
typedef struct gn_front_panel {
  const char *title, *caption;
  gn_figure_drawer draw; ///< NULL: no picture
  void *user;
  double width, height; ///< the picture's units
} gn_front_panel;

typedef struct gn_front {
  const gn_front_line *lines; ///< a line taller than a page loses its end
  size_t n_lines;
  const char *name;          ///< in the footer
  const gn_front_panel *panels;
  size_t n_panels;
  const char *const *titles; ///< of the recordings, which then have one page each
  const char *title;         ///< of the document, for who searches; not from outside
  const char *date;          ///< ISO 8601; NULL: that of the first recording, or a fixed one
  double columns[GN_FRONT_COLUMNS]; ///< of a table: shares of the width
} gn_front;

/// As girthline_report_pdf, with front's pages first; front may be NULL, and with one there may be no recordings.
girthline_status gn_pdf_write(const gn_front *front, const girthline_report_input *inputs, size_t n, const girthline_report_options *options, void **data,
                              size_t *n_bytes, girthline_error *error);

#endif
