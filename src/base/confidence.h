// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// How sure the beats of a result are, all together.
#ifndef GN_BASE_CONFIDENCE_H
#define GN_BASE_CONFIDENCE_H

#include <girthline/result.h>

/// Mean confidence of the beats, or of their sounds' names; NaN without beats, or where they were given by hand.
double gn_confidence(const girthline_result *result, bool of_names);

/// true where S1 and S2 may be exchanged, and with them systole and diastole.
bool gn_confidence_names_doubted(const girthline_result *result);

#endif
