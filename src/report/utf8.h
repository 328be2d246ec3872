// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// UTF-8 as RFC 3629 has it: a name or a tag may hold any bytes, a report may not.
#ifndef GN_REPORT_UTF8_H
#define GN_REPORT_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define GN_UTF8_REPLACEMENT 0xFFFDu

/// Decode the character at text (ended by a zero byte, not at its end). Returns the bytes taken, at least 1. An
/// ill-formed byte gives *ok false and GN_UTF8_REPLACEMENT, and takes 1.
size_t gn_utf8_next(const char *text, uint32_t *code, bool *ok);

bool gn_utf8_valid(const char *text);

/// Characters that act on a terminal or turn the reading direction instead of showing: C0, DEL, C1, line and
/// paragraph separators, bidirectional marks, the byte-order mark.
bool gn_utf8_acts(uint32_t code);

/// Columns a character takes on a terminal (0 for combining marks, 2 for wide scripts, else 1); close enough to wrap by.
int gn_utf8_columns(uint32_t code);

#endif
