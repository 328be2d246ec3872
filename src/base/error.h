// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Filling the caller's error object.
#ifndef GN_BASE_ERROR_H
#define GN_BASE_ERROR_H

#include <girthline/status.h>

/// Set *error (may be NULL) unless it already holds an error; returns `status` so that a failing line reads
/// `return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s is ...", name);`. Control characters in the text
/// become '?'.
girthline_status gn_error_set(girthline_error *error, girthline_status status, const char *stage, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/// The usual words for a refused allocation. In the header, so that a checker that reads one file at a time sees that it never gives OK.
static inline girthline_status gn_error_memory(girthline_error *error, const char *stage) {
  (void)gn_error_set(error, GIRTHLINE_NO_MEMORY, stage, "memory was refused: close other programs, or analyse a shorter part (--from, --to)");
  return GIRTHLINE_NO_MEMORY;
}

#endif
