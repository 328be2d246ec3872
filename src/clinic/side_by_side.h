// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The areas beside one another: each place's average cycle, all on the same two scales.
#ifndef GN_CLINIC_SIDE_BY_SIDE_H
#define GN_CLINIC_SIDE_BY_SIDE_H

#include "clinic/examined.h"
#include "report/figures_area.h"
#include "report/html.h"

/// One for each recording, in the examination's order.
typedef struct gn_exam_area {
  gn_area_panel panel; ///< its result is NULL where there is no cycle to draw
  char *title, *caption;
} gn_exam_area;

typedef struct gn_exam_areas {
  gn_exam_area *items;
  size_t n;
} gn_exam_areas;

girthline_status gn_exam_areas_read(const gn_examined *x, gn_exam_areas *out, girthline_error *error); ///< *out is to be cleared
void gn_exam_areas_clear(gn_exam_areas *areas);

extern const char gn_exam_areas_words[]; ///< how to read the pictures

/// The page's section.
girthline_status gn_exam_side_by_side(gn_html *html, const gn_examined *x, girthline_error *error);

#endif
