// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The words of the JSON report for each enumerated value. NULL for unknown or out of range.
#ifndef GN_REPORT_NAMES_H
#define GN_REPORT_NAMES_H

#include <girthline/result.h>

const char *gn_name_grade(girthline_grade grade);
const char *gn_name_problem(girthline_problem_kind kind);
const char *gn_name_extra(girthline_extra_kind kind);
const char *gn_name_standing(girthline_standing standing);
const char *gn_name_pattern(girthline_pattern pattern); ///< "undetermined" for undetermined
const char *gn_name_phase(girthline_phase phase);
const char *gn_name_timing(girthline_timing timing);
const char *gn_name_shape(girthline_shape shape);
const char *gn_name_loudness(girthline_loudness loudness);
const char *gn_name_urgency(girthline_urgency urgency);

#endif
