// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The numbers a report shows, with what each means and what is usual, for the page and the document.
#ifndef GN_REPORT_PAGE_TABLE_H
#define GN_REPORT_PAGE_TABLE_H

#include <stddef.h>

#include <girthline/result.h>

#define GN_PERCENT "share" ///< a row's unit: a number 0..1 that is shown in percent

typedef enum gn_page_row_kind {
  GN_ROW_PLAIN = 0,
  GN_ROW_BY_SPECIES, ///< usual is the rate's, by species
  GN_ROW_OF_HORSES,  ///< usual holds for horses
  GN_ROW_NONE_AT_0,  ///< a 0 is said in a word
} gn_page_row_kind;

typedef struct gn_page_row {
  const char *key, *name;       ///< JSON pointer; what it is called
  size_t at;                    ///< of the double in the result
  int decimals;                 ///< that its uncertainty allows
  const char *unit, *meaning;   ///< "" for none; one sentence
  const char *usual;            ///< what is usual, and where it was published; "" for nothing
  gn_page_row_kind kind;
} gn_page_row;

typedef enum { GN_ROWS_RATE = 0, GN_ROWS_RHYTHM, GN_ROWS_LIMITS, GN_ROWS_QUALITY, GN_N_ROWS } gn_page_row_group;

const gn_page_row *gn_page_rows(gn_page_row_group group, size_t *n);
double gn_page_row_value(const gn_page_row *row, const girthline_result *result);

/// Where the usual range of a row comes from, or its own words; "" for nothing. Never NULL.
const char *gn_page_row_source(const gn_page_row *row, const girthline_result *result);

#endif
