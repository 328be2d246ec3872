// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What an enumeration is called on the page, in the document and in the text.
#ifndef GN_REPORT_PAGE_WORDS_H
#define GN_REPORT_PAGE_WORDS_H

#include <girthline/result.h>

const char *gn_page_pattern(girthline_pattern pattern); ///< "Regular", "Regular with pauses", ...
const char *gn_page_grade(girthline_grade grade);       ///< "Good", ...
const char *gn_page_phase(girthline_phase phase);       ///< "systole", ...
const char *gn_page_timing(girthline_timing timing);    ///< "early in", ..., "through the whole of"
const char *gn_page_shape(girthline_shape shape);
const char *gn_page_loudness(girthline_loudness loudness); ///< "softer than S1", ...
const char *gn_page_urgency(girthline_urgency urgency);
const char *gn_page_extra(girthline_extra_kind kind); ///< "Third sound (S3)", ...
const char *gn_page_problem(girthline_problem_kind kind);
const char *gn_page_rate_source(girthline_species species); ///< one sentence: where the usual rate comes from
const char *gn_page_standing(girthline_standing standing, double bpm, const double range_bpm[2]); ///< "Below", "Just below", "Within", ...; known
const char *gn_page_animal(girthline_species species);      ///< "a horse", ...

#endif
