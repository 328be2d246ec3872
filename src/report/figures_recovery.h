// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The rate after exercise against the minutes since it ended, with the rate at rest and what is published of recovery.
#ifndef GN_REPORT_FIGURES_RECOVERY_H
#define GN_REPORT_FIGURES_RECOVERY_H

#include <stdbool.h>
#include <stddef.h>

#include <cairo.h>

#include <girthline/status.h>

#include "report/html.h"

typedef struct gn_recovery_dot {
  double minutes, bpm; ///< bpm NaN: not determined; said, not drawn as a rate
  bool uneven;         ///< pauses, early beats or an irregular rhythm were heard then
} gn_recovery_dot;

typedef struct gn_recovery_curve {
  const gn_recovery_dot *dots; ///< by minutes
  size_t n;
  double resting_bpm;      ///< NaN: not known; neither it nor the bounds are drawn
  double back_bpm;         ///< recovered from here down; NaN: nothing is published for this animal
  double light_min;        ///< by then after light work
  double hard_min[2];      ///< by then after hard work: from, to
} gn_recovery_curve;

#define GN_RECOVERY_HEIGHT 244.0

girthline_status gn_recovery_draw(const gn_recovery_curve *curve, cairo_t *cr, double width, girthline_error *error);

/// The same as a gn_figure_drawer; user is a gn_recovery_curve.
girthline_status gn_recovery_drawer(void *user, cairo_t *cr, double width, girthline_error *error);

/// As the inside of an <svg> element of `width` by GN_RECOVERY_HEIGHT (as gn_figure_svg).
girthline_status gn_recovery_svg(const gn_recovery_curve *curve, double width, const char *prefix, gn_html *out, girthline_error *error);

#endif
