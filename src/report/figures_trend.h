// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// One measure over the visits of an animal, against their dates.
#ifndef GN_REPORT_FIGURES_TREND_H
#define GN_REPORT_FIGURES_TREND_H

#include <stdbool.h>
#include <stddef.h>

#include <cairo.h>

#include <girthline/status.h>

#include "report/html.h"

typedef struct gn_trend_point {
  double day;       ///< days since 1970-01-01
  char date[11];    ///< YYYY-MM-DD
  double value;     ///< NaN: not drawn
  double spread[2]; ///< a bar through the point; NaN: none
  bool below;       ///< nothing was found: value is the least that could have shown
} gn_trend_point;

typedef struct gn_trend {
  const char *axis; ///< name and unit of the value
  const gn_trend_point *points;
  size_t n;
  double least_range; ///< the value axis covers at least this much, so that little does not look like much
} gn_trend;

#define GN_TREND_HEIGHT 200.0

girthline_status gn_trend_draw(const gn_trend *trend, cairo_t *cr, double width, girthline_error *error);

/// The same as a gn_figure_drawer; user is a gn_trend.
girthline_status gn_trend_drawer(void *user, cairo_t *cr, double width, girthline_error *error);

/// As the inside of an <svg> element of `width` by GN_TREND_HEIGHT (as gn_figure_svg).
girthline_status gn_trend_svg(const gn_trend *trend, double width, const char *prefix, gn_html *out, girthline_error *error);

#endif
