// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Text that grows. A refused allocation is remembered, so that a caller checks once, at the end.
#ifndef GN_REPORT_BUFFER_H
#define GN_REPORT_BUFFER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

typedef struct gn_buffer {
  char *text;
  size_t n, capacity; ///< bytes
  bool refused;       ///< memory was refused once; everything after is dropped
} gn_buffer;

void gn_buffer_add(gn_buffer *buffer, const char *text, size_t n_bytes);
static inline void gn_buffer_puts(gn_buffer *buffer, const char *text) { gn_buffer_add(buffer, text, strlen(text)); }
void gn_buffer_printf(gn_buffer *buffer, const char *format, ...) __attribute__((format(printf, 2, 3)));

#define GN_BUFFER_DIGITS 20 ///< of the largest number of 64 bits

/// Put a whole number's digits, at least so many (up to GN_BUFFER_DIGITS), at `to`; returns how many, no zero behind them.
size_t gn_buffer_digits(char *to, uint64_t value, size_t least);

/// A number rounded to `decimals` places (0..9) in the C locale's form, without trailing zeros ("38", "0.1", "-2.25").
/// The value must be finite.
void gn_buffer_number(gn_buffer *buffer, double value, int decimals);

/// The same with the trailing zeros ("38.00"): for people, who read them as precision.
void gn_buffer_fixed(gn_buffer *buffer, double value, int decimals);

void gn_buffer_signed(gn_buffer *buffer, double value, int decimals); ///< so too, with a true minus (U+2212)

/// The text, ended by a zero; the caller frees it with gn_free. NULL when memory was refused. The buffer is empty then.
char *gn_buffer_take(gn_buffer *buffer);

void gn_buffer_clear(gn_buffer *buffer);

#endif
