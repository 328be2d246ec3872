// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A growing text for markup, with the one escaper every text from outside goes through. A refused allocation is
/// remembered in `failed` and makes every later call do nothing, so that a page is written without a check a line.
#ifndef GN_REPORT_HTML_H
#define GN_REPORT_HTML_H

#include <stdbool.h>
#include <stddef.h>

typedef struct gn_html {
  char *text;
  size_t n, capacity;
  bool failed;
} gn_html;

void gn_html_clear(gn_html *html);                               ///< frees the text; accepts NULL
void gn_html_reserve(gn_html *html, size_t n);                  ///< room for n more bytes, so that growing copies nothing
void gn_html_raw(gn_html *html, const char *markup);             ///< markup of this program's own
void gn_html_bytes(gn_html *html, const char *markup, size_t n); ///< the same, n bytes

/// printf of markup of this program's own: every %s must be a constant of the program, never a text from outside.
void gn_html_format(gn_html *html, const char *format, ...) __attribute__((format(printf, 2, 3)));

/// Text from anywhere, safe in an element and in a quoted attribute: the five signs as entities; bytes that are no
/// UTF-8, control characters and the marks that turn the writing direction as U+FFFD. Tab and newline are a space.
/// NULL writes nothing.
void gn_html_text(gn_html *html, const char *text);

/// The same for a sentence of the program's own, however it came by: a number and its unit stay on one line.
void gn_html_prose(gn_html *html, const char *text);

/// A number rounded to `decimals` (0..5) places, with a point whatever the locale.
void gn_html_number(gn_html *html, double value, int decimals);

void gn_html_signed(gn_html *html, double value, int decimals); ///< the same with a true minus

void gn_html_base64(gn_html *html, const void *data, size_t n); ///< RFC 4648, with padding

/// The text itself, owned by the caller (gn_free); NULL when something failed. The object is empty afterwards.
char *gn_html_take(gn_html *html);

#endif
