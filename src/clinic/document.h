// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A document to print, written line by line. A refused allocation is remembered in `refused`.
#ifndef GN_CLINIC_DOCUMENT_H
#define GN_CLINIC_DOCUMENT_H

#include <stdbool.h>
#include <stddef.h>

#include "report/pdf_front.h"

typedef struct gn_document {
  gn_front_line *lines;
  size_t n, capacity;
  bool refused;
} gn_document;

void gn_document_push(gn_document *d, gn_front_kind kind, char *text); ///< takes the text; NULL: memory was refused
void gn_document_say(gn_document *d, gn_front_kind kind, const char *text); ///< a copy; nothing for NULL and ""
void gn_document_picture(gn_document *d, gn_front_line picture);            ///< its text is copied
void gn_document_clear(gn_document *d);

/// "label: text" as a fact, or as lines that a page can end between where it is long.
void gn_document_labelled(gn_document *d, const char *label, const char *text);

/// Texts parted by tabs, as the answer and the rows of a table are; tabs within them become spaces. NULL ends the list.
void gn_document_cells(gn_document *d, gn_front_kind kind, const char *const *texts);

#endif
