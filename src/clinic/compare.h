// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Two visits of one animal set side by side: girthline.comparison.v1. What a difference is held against, and where the
/// numbers come from, stands in docs/repeatability.md.
#ifndef GN_CLINIC_COMPARE_H
#define GN_CLINIC_COMPARE_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

#include <girthline/status.h>

#include "clinic/store.h"

typedef enum gn_verdict {
  GN_INCREASED = 0,
  GN_DECREASED,
  GN_CHANGED,
  GN_WITHIN_REPEATABILITY,
  GN_NEW,
  GN_GONE,
  GN_UNDETERMINED,
  GN_NOT_COMPARABLE,
  GN_N_VERDICTS
} gn_verdict;

typedef enum gn_side_kind { GN_VALUE_UNKNOWN = 0, GN_VALUE_NUMBER, GN_VALUE_WORD, GN_VALUE_ABSENT } gn_side_kind;

/// One visit's value: not determined, a number, a word, or nothing there.
typedef struct gn_value {
  gn_side_kind kind;
  double number;
  const char *word; ///< a constant, or owned by the comparison's examinations
} gn_value;

typedef struct gn_change {
  char what[40];           ///< "rate", "murmur-systole", ...
  const char *label;       ///< the same for people
  const char *side, *area; ///< NULL: not stated; both NULL in the rows of the whole visit
  bool whole_visit;
  double minutes_after_exercise; ///< NaN: at rest
  const char *unit;        ///< of the values; "" for words
  int decimals;
  gn_value values[2];      ///< first, second
  double change;           ///< second minus first; NaN: none
  double repeatability;    ///< in the same unit; NaN: none
  gn_verdict verdict;
  char *reason;            ///< a sentence
} gn_change;

typedef struct gn_comparison {
  gn_store_animal animal;
  long long ids[2];
  json_t *exams[2];
  gn_change *changes;
  size_t n_changes, capacity;
  bool refused; ///< memory was
} gn_comparison;

/// Compare two visits of an animal in the order given. The comparison keeps copies of everything. A visit that is not this
/// animal's is REFUSED.
girthline_status gn_compare_run(gn_store *store, const gn_store_animal *animal, const long long ids[2], gn_comparison *out, girthline_error *error);

/// The same from two examinations (borrowed until the end of the call); what gn_compare_run does once it has them.
girthline_status gn_compare_exams(json_t *first, json_t *second, gn_comparison *out, girthline_error *error);

void gn_comparison_clear(gn_comparison *comparison);

/// The last two visits by date. REFUSED where there are fewer.
girthline_status gn_compare_last_two(gn_store *store, long long animal_id, long long ids[2], girthline_error *error);

/// Second minus first as both are shown with so many decimals, so that whoever subtracts finds the same; NaN: none.
double gn_compare_change(const gn_change *change, int decimals);

const char *gn_verdict_name(gn_verdict verdict);  ///< "within-repeatability", ...
const char *gn_verdict_words(gn_verdict verdict); ///< the same for people
extern const char gn_compare_note[];              ///< what a verdict rests on, and what it does not

/// Each ends in a newline and is freed with gn_free; NULL where memory was refused.
char *gn_compare_json(const gn_comparison *comparison);
char *gn_compare_text(const gn_comparison *comparison, int width);
/// One page; the store gives the course over all visits of the animal (NULL: without it).
/// The same as a document to print, freed with girthline_data_free.
girthline_status gn_compare_pdf(const gn_comparison *comparison, gn_store *store, void **data, size_t *n_bytes, girthline_error *error);
char *gn_compare_page(const gn_comparison *comparison, gn_store *store, girthline_error *error);

#endif
