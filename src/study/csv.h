// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Comma-separated values as RFC 4180 has them: a reader that takes one record at a time, and a writer whose texts no
/// spreadsheet takes for a formula. Lines are written with a line feed; both endings are read.
#ifndef GN_STUDY_CSV_H
#define GN_STUDY_CSV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "report/buffer.h"

#define GN_CSV_RECORD_BYTES ((size_t)1 << 20) ///< a longer record is a fault: some quote was never closed

typedef struct gn_csv {
  FILE *file;
  size_t line;       ///< where the record at hand began, from 1
  size_t next_line;
  gn_buffer text;    ///< its fields, each ended by a zero
  size_t *starts;    ///< where each begins in text
  size_t n_fields, capacity;
  const char *fault; ///< a sentence, after GN_CSV_FAULT
  bool refused;      ///< the fault is no fault of the file: memory was refused
} gn_csv;

typedef enum gn_csv_got { GN_CSV_FAULT = -1, GN_CSV_END = 0, GN_CSV_RECORD = 1 } gn_csv_got;

gn_csv gn_csv_reader(FILE *file);
gn_csv_got gn_csv_next(gn_csv *csv);                     ///< the next record; an empty line has one empty field
const char *gn_csv_field(const gn_csv *csv, size_t i);   ///< "" beyond the last; valid until the next record
bool gn_csv_blank(const gn_csv *csv);                    ///< one field of nothing but blanks
void gn_csv_clear(gn_csv *csv);                          ///< does not close the file

/// A text from outside as a field, with a comma before it unless `first`. The form is reversible: a text that begins
/// with = + - @ (their full-width forms too), ' or a blank gets ' in front; one that is not UTF-8, or holds a control
/// character, a mark that turns the writing direction or has no width, or a semicolon before such a sign, is written as '% and its bytes, each outside A-Z a-z 0-9 - . _ ~ / as % and two hexadecimal digits. NULL is empty.
void gn_csv_text(gn_buffer *out, const char *text, bool first);
void gn_csv_number(gn_buffer *out, double value, int decimals); ///< ",12.5"; not finite: empty
void gn_csv_whole(gn_buffer *out, long long value);

/// The text back from its reversible form, in place.
void gn_csv_restore(char *field);

#endif
