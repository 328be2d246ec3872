// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Why a value is not determined: the stage's own sentence, else the nearest one, else a general one that is true.
#ifndef GN_REPORT_REASONS_H
#define GN_REPORT_REASONS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>

/// Whether a pointer leads to a part of what the outer one leads to.
bool gn_reason_inside(const char *pointer, const char *outer);

/// The index of the entry of result->undetermined for exactly this pointer, or for a part of it; -1: none.
int gn_reason_entry(const girthline_result *result, const char *pointer);

/// A sentence for a null at this pointer. Never NULL; may be written to store (n_store bytes).
const char *gn_reason_of(const girthline_result *result, const char *pointer, char *store, size_t n_store);

#endif
