// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Sentences about an examination, shared by the list, one visit, and the comparison.
#ifndef GN_CLINIC_VISITS_WORDS_H
#define GN_CLINIC_VISITS_WORDS_H

#include <jansson.h>

#include "report/buffer.h"

/// "Marlow, horse, identifier 276...": any of them may be NULL.
void gn_visits_animal_words(gn_buffer *out, const char *identifier, const char *name, const char *species);
void gn_visits_place_words(gn_buffer *out, const json_t *recording); ///< "left mitral, 5 min after exercise"
void gn_visits_report_words(gn_buffer *out, const json_t *report);   ///< rate, rhythm, murmur, quality in a line

#endif
