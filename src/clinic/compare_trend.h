// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The course of the rate and of each murmur over all visits of an animal.
#ifndef GN_CLINIC_COMPARE_TREND_H
#define GN_CLINIC_COMPARE_TREND_H

#include "clinic/store.h"
#include "report/figures_trend.h"
#include "report/html.h"

/// One picture: its points, what it is called, and what its signs mean.
typedef struct gn_course {
  gn_trend trend;
  gn_trend_point *points; ///< what trend points to
  char *title, *caption;
} gn_course;

typedef struct gn_courses {
  gn_course *items;
  size_t n, capacity;
} gn_courses;

/// None where fewer than two visits have a date. Undated visits are left out. On any status *out is to be cleared.
girthline_status gn_courses_read(gn_store *store, long long animal_id, gn_courses *out, girthline_error *error);
void gn_courses_clear(gn_courses *courses);

/// The pictures as a section of a page, each with its numbers; nothing where there are none.
girthline_status gn_courses_section(const gn_courses *courses, gn_html *html, girthline_error *error);

#endif
