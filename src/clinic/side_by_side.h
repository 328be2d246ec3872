// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The areas beside one another: each place's average cycle, all on the same two scales.
#ifndef GN_CLINIC_SIDE_BY_SIDE_H
#define GN_CLINIC_SIDE_BY_SIDE_H

#include "clinic/examined.h"
#include "report/html.h"

void gn_exam_side_by_side(gn_html *html, const gn_examined *x);

#endif
