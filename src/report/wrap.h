// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Paragraphs for a terminal: a label, a column, and text wrapped beside it. What acts on a terminal shows as '?'.
#ifndef GN_REPORT_WRAP_H
#define GN_REPORT_WRAP_H

#include <stdbool.h>
#include <stddef.h>

#include "report/buffer.h"

typedef struct gn_wrap {
  gn_buffer out;
  int width;   ///< columns
  bool colour; ///< terminal sequences allowed
} gn_wrap;

typedef enum gn_style { GN_PLAIN = 0, GN_STRONG, GN_WARN, GN_ALARM } gn_style;

/// `label` from column `indent`, then text wrapped from column `column`; on a narrow terminal, and beside a label that
/// reaches into that column, the text starts on the next line. Without a label ("") the text starts at `indent`. Ends in a newline.
void gn_wrap_paragraph(gn_wrap *wrap, gn_style style, const char *label, int indent, int column, const char *text);

/// One row of a table: cells in columns of `widths`, two spaces between them, each wrapped at spaces and behind hyphens
/// within its column; the row is as high as its highest cell. A longer word is broken. At most GN_WRAP_CELLS_MOST.
#define GN_WRAP_CELLS_MOST 8
void gn_wrap_row(gn_wrap *wrap, int indent, const char *const *cells, const int *widths, size_t n_cells);

int gn_wrap_columns(const char *text); ///< that a text takes where it is not wrapped

/// An empty line and a heading.
void gn_wrap_heading(gn_wrap *wrap, const char *heading);

#endif
