// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/buffer.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"

void gn_buffer_add(gn_buffer *b, const char *text, size_t n) {
  if (b->refused) return;
  void *items = b->text;
  if (n > SIZE_MAX - b->n - 1 || gn_grow(&items, &b->capacity, b->n + n + 1, 1)) {
    b->refused = true;
    return;
  }
  b->text = items;
  memcpy(b->text + b->n, n ? text : "", n); // memcpy takes no null pointer, not even for nothing
  b->n += n;
  b->text[b->n] = 0;
}

void gn_buffer_printf(gn_buffer *b, const char *format, ...) {
  char small[512];
  va_list args;
  va_start(args, format);
  const int n = vsnprintf(small, sizeof small, format, args);
  va_end(args);
  if (n >= 0 && (size_t)n < sizeof small) {
    gn_buffer_add(b, small, (size_t)n);
    return;
  }
  char *text = n < 0 ? NULL : gn_new((size_t)n + 1, 1);
  if (!text) {
    b->refused = true;
    return;
  }
  va_start(args, format);
  vsnprintf(text, (size_t)n + 1, format, args);
  va_end(args);
  gn_buffer_add(b, text, (size_t)n);
  gn_free(text);
}

// Whole numbers up to here are exact in a double (2^53).
#define EXACT_UP_TO 9.007199254740992e15

static void put_big(gn_buffer *b, double value) {
  char text[40];
  const int n = snprintf(text, sizeof text, "%.16e", value);
  for (int i = 0; i < n; i++)
    if (text[i] == ',') text[i] = '.'; // whatever the caller's locale
  gn_buffer_add(b, text, (size_t)n);
}

size_t gn_buffer_digits(char *to, uint64_t value, size_t least) {
  char digits[GN_BUFFER_DIGITS];
  size_t n = 0;
  do digits[n++] = (char)('0' + value % 10);
  while ((value /= 10) || n < least);
  for (size_t i = 0; i < n; i++) to[i] = digits[n - 1 - i];
  return n;
}

static void put_decimal(gn_buffer *b, double value, int decimals, bool trim) {
  uint64_t unit = 1;
  for (int i = 0; i < decimals; i++) unit *= 10;
  const double scaled = round(value * (double)unit);
  if (!(fabs(scaled) < EXACT_UP_TO)) {
    put_big(b, value);
    return;
  }
  const uint64_t whole = (uint64_t)fabs(scaled);
  char text[2 * GN_BUFFER_DIGITS + 2] = "-";
  size_t n = scaled < 0 ? 1 : 0;
  n += gn_buffer_digits(text + n, whole / unit, 1);
  if (decimals && (whole % unit || !trim)) {
    text[n++] = '.';
    n += gn_buffer_digits(text + n, whole % unit, (size_t)decimals);
    while (trim && text[n - 1] == '0') n--;
  }
  gn_buffer_add(b, text, n);
}

void gn_buffer_number(gn_buffer *b, double value, int decimals) { put_decimal(b, value, decimals, true); }

void gn_buffer_fixed(gn_buffer *b, double value, int decimals) { put_decimal(b, value, decimals, false); }

void gn_buffer_signed(gn_buffer *b, double value, int decimals) {
  const size_t at = b->n;
  put_decimal(b, value, decimals, false);
  if (b->refused || b->text[at] != '-') return;
  b->n = at;
  gn_buffer_puts(b, "\xE2\x88\x92");
  put_decimal(b, fabs(value), decimals, false);
}

char *gn_buffer_take(gn_buffer *b) {
  gn_buffer_add(b, "", 0);
  char *text = b->refused ? NULL : b->text;
  if (b->refused) gn_free(b->text);
  *b = (gn_buffer){0};
  return text;
}

void gn_buffer_clear(gn_buffer *b) {
  gn_free(b->text);
  *b = (gn_buffer){0};
}
