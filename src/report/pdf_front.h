// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A document to print with pages of its own before the recordings': lines of text, and the average cycles side by side.
#ifndef GN_REPORT_PDF_FRONT_H
#define GN_REPORT_PDF_FRONT_H

#include <girthline/report.h>

typedef enum gn_front_kind {
  GN_FRONT_TITLE = 0,
  GN_FRONT_HEADING,
  GN_FRONT_SAID, ///< an answer
  GN_FRONT_STRONG,
  GN_FRONT_BODY,
  GN_FRONT_SMALL,
  GN_FRONT_AREAS ///< the recordings' average cycles, two beside one another, on one scale; its text is not shown
} gn_front_kind;

typedef struct gn_front_line {
  gn_front_kind kind;
  const char *text;
} gn_front_line;

typedef struct gn_front {
  const gn_front_line *lines; ///< a line taller than a page loses its end
  size_t n_lines;
  const char *name;          ///< in the footer
  const char *const *titles; ///< over each input's average cycle
} gn_front;

/// As girthline_report_pdf, with front's pages first; front may be NULL, and with one there may be no recordings.
girthline_status gn_pdf_write(const gn_front *front, const girthline_report_input *inputs, size_t n, const girthline_report_options *options, void **data,
                              size_t *n_bytes, girthline_error *error);

#endif
