// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The recovery after exercise, shown.
#ifndef GN_CLINIC_RECOVERY_H
#define GN_CLINIC_RECOVERY_H

#include "clinic/examined.h"
#include "report/figures_recovery.h"

/// A curve with the dots it is drawn from; not to be copied.
typedef struct gn_exam_curve {
  gn_recovery_curve curve;
  gn_recovery_dot dots[GN_EXAM_MOST_RECORDINGS];
} gn_exam_curve;

/// False where no recording was made after exercise.
bool gn_exam_curve_of(const gn_examined *x, gn_exam_curve *out);

/// What the curve shows, in words: for under the picture.
const char *gn_exam_curve_words(const gn_examined *x);

/// "+23 % against rest; regular", "regular": a recording's row beside its rate. Returns store.
const char *gn_exam_recovery_words(const gn_examined *x, const gn_recovery_point *point, char *store, size_t n_store);

/// The page's section: the picture and its numbers. Nothing where no recording was made after exercise.
girthline_status gn_exam_recovery_section(gn_html *h, const gn_examined *x, girthline_error *error);

#endif
