// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// One place's average cycle in small, to stand beside those of other places on the same two scales.
#ifndef GN_REPORT_FIGURES_AREA_H
#define GN_REPORT_FIGURES_AREA_H

#include <stdbool.h>

#include <cairo.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "report/html.h"

typedef struct gn_area_panel {
  const girthline_result *result;
  double time_s[2], level_db[2]; ///< what the axes cover
} gn_area_panel;

#define GN_AREA_WIDTH 250.0
#define GN_AREA_HEIGHT 150.0

/// Widen the panel's axes so that they hold this result's cycle too; false where it has none. Start from GN_AREA_AXES.
bool gn_area_widen(gn_area_panel *axes, const girthline_result *result);
extern const gn_area_panel GN_AREA_AXES;

/// A gn_figure_drawer; user is a gn_area_panel.
girthline_status gn_area_drawer(void *user, cairo_t *cr, double width, girthline_error *error);

/// As the inside of an <svg> element of GN_AREA_WIDTH by GN_AREA_HEIGHT (as gn_figure_svg).
girthline_status gn_area_svg(const gn_area_panel *panel, const char *prefix, gn_html *out, girthline_error *error);

#endif
