// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The cells of a comparison's table, shared by the text and the page.
#ifndef GN_CLINIC_COMPARE_WORDS_H
#define GN_CLINIC_COMPARE_WORDS_H

#include "clinic/compare.h"
#include "report/buffer.h"

void gn_compare_place_words(gn_buffer *out, const gn_change *change); ///< "whole visit", "left mitral, 5 min after exercise"
bool gn_compare_same_place(const gn_change *a, const gn_change *b);
void gn_compare_value_words(gn_buffer *out, const gn_change *change, int visit);
void gn_compare_change_words(gn_buffer *out, const gn_change *change);        ///< "+8.0", "" where there is none
void gn_compare_repeatability_words(gn_buffer *out, const gn_change *change); ///< "2.1", "not measured"
void gn_compare_visit_words(gn_buffer *out, const gn_comparison *comparison, int visit); ///< "visit 3, 2026-03-14, Dr ..."

/// One answer: a place, what is said of it ("Murmur in systole: new") and what that rests on, in sentences. Whoever tells it empties all three.
enum { GN_ANSWER_PLACE, GN_ANSWER_SAID, GN_ANSWER_WHY, GN_N_ANSWER };
typedef void (*gn_compare_tell)(void *user, gn_buffer answer[GN_N_ANSWER]);

/// Tell each change; where nothing is called one, once of all places that nothing differs, or that none could be compared, and why.
/// Then each murmur that was heard and of which nothing can be told.
void gn_compare_answers(const gn_comparison *comparison, gn_compare_tell tell, void *user);

bool gn_compare_is_change(gn_verdict verdict);
/// What to know where the visits were named against the order of their dates; NULL: they were not.
const char *gn_compare_order(const gn_comparison *comparison);
/// How many of the comparisons could not be made or decided, and what a verdict rests on.
void gn_compare_open_words(gn_buffer *out, const gn_comparison *comparison);
void gn_compare_capital(gn_buffer *words); ///< the first letter large

#endif
