// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/html.h"

#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "report/units.h"

#define REPLACEMENT "\xEF\xBF\xBD" // U+FFFD

void gn_html_clear(gn_html *html) {
  if (!html) return;
  gn_free(html->text);
  *html = (gn_html){0};
}

static char *room(gn_html *html, size_t n) {
  if (html->failed) return NULL;
  void *text = html->text;
  if (html->n + n + 1 < n || gn_grow(&text, &html->capacity, html->n + n + 1, 1)) {
    html->failed = true;
    return NULL;
  }
  html->text = text;
  return html->text + html->n;
}

void gn_html_bytes(gn_html *html, const char *markup, size_t n) {
  char *to = room(html, n);
  if (!to) return;
  memcpy(to, markup, n);
  html->n += n;
  html->text[html->n] = '\0';
}

void gn_html_reserve(gn_html *html, size_t n) { room(html, n); }

void gn_html_raw(gn_html *html, const char *markup) { gn_html_bytes(html, markup, strlen(markup)); }

void gn_html_format(gn_html *html, const char *format, ...) {
  char text[1024];
  va_list args;
  va_start(args, format);
  const int n = vsnprintf(text, sizeof text, format, args);
  va_end(args);
  // A constant of the program that is too long is a fault of the program; better no page than a cut one.
  if (n < 0 || (size_t)n >= sizeof text)
    html->failed = true;
  else
    gn_html_bytes(html, text, (size_t)n);
}

// Length of the well-formed UTF-8 sequence at s (Unicode 15, table 3-7), 0 when there is none; *code is its code point.
static size_t utf8_length(const unsigned char *s, uint32_t *code) {
  if (s[0] < 0x80) {
    *code = s[0];
    return 1;
  }
  const size_t n = s[0] >= 0xC2 && s[0] <= 0xDF ? 2 : s[0] >= 0xE0 && s[0] <= 0xEF ? 3 : s[0] >= 0xF0 && s[0] <= 0xF4 ? 4 : 0;
  if (!n) return 0;
  uint32_t c = s[0] & (0x7FU >> n);
  for (size_t i = 1; i < n; i++) {
    if ((s[i] & 0xC0) != 0x80) return 0;
    c = c << 6 | (s[i] & 0x3FU);
  }
  if ((n == 3 && c < 0x800) || (n == 4 && c < 0x10000) || (c >= 0xD800 && c <= 0xDFFF) || c > 0x10FFFF) return 0;
  *code = c;
  return n;
}

// What must not reach a reader's eye unseen: controls, marks of writing direction, separators, noncharacters, tags.
static bool is_hidden(uint32_t c) {
  return c < 0x20 || (c >= 0x7F && c <= 0x9F) || c == 0x061C || (c >= 0x200B && c <= 0x200F) || (c >= 0x2028 && c <= 0x202E) || (c >= 0x2060 && c <= 0x206F) ||
         c == 0xFEFF || (c & 0xFFFE) == 0xFFFE || (c >= 0xFDD0 && c <= 0xFDEF) || (c >= 0xE0000 && c <= 0xE0FFF);
}

static const char *entity(uint32_t c) {
  if (c == '&') return "&amp;";
  if (c == '<') return "&lt;";
  if (c == '>') return "&gt;";
  if (c == '"') return "&quot;";
  if (c == '\'') return "&#39;";
  if (c == '\t' || c == '\n') return " ";
  return is_hidden(c) ? REPLACEMENT : NULL;
}

static void put_text(gn_html *html, const char *text, bool prose) {
  const unsigned char *s = (const unsigned char *)text;
  while (s && *s) {
    uint32_t code = 0;
    const size_t n = utf8_length(s, &code);
    const bool keep = prose && *s == ' ' && gn_unit_space(text, (size_t)((const char *)s - text));
    const char *instead = keep ? GN_NO_BREAK : n ? entity(code) : REPLACEMENT;
    if (instead)
      gn_html_raw(html, instead);
    else
      gn_html_bytes(html, (const char *)s, n);
    s += n ? n : 1;
  }
}

void gn_html_text(gn_html *html, const char *text) { put_text(html, text, false); }
void gn_html_prose(gn_html *html, const char *text) { put_text(html, text, true); }

void gn_html_number(gn_html *html, double value, int decimals) {
  char text[400];
  double step = 1, rounded = value;
  for (int i = 0; i < decimals; i++) step *= 10;
  if (fabs(value) < 1e11) rounded = round(value * step) / step;
  if (rounded == 0) rounded = 0; // no minus before a zero
  snprintf(text, sizeof text, "%.*f", decimals, rounded);
  for (char *c = text; *c; c++)
    if (*c == ',') *c = '.';
  gn_html_raw(html, text);
}

void gn_html_signed(gn_html *h, double value, int decimals) {
  const size_t at = h->n;
  gn_html_number(h, value, decimals);
  if (h->failed || h->n == at || h->text[at] != '-') return;
  h->n = at;
  gn_html_raw(h, "\xE2\x88\x92");
  gn_html_number(h, fabs(value), decimals);
}

void gn_html_base64(gn_html *html, const void *data, size_t n) {
  static const char SIGNS[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  if (n > SIZE_MAX / 2) html->failed = true;
  char *to = room(html, (n / 3 + 1) * 4);
  if (!to) return;
  const unsigned char *s = data;
  for (size_t i = 0; i < n; i += 3) {
    const unsigned have = n - i < 3 ? (unsigned)(n - i) : 3;
    const uint32_t bits = (uint32_t)s[i] << 16 | (have > 1 ? (uint32_t)s[i + 1] << 8 : 0) | (have > 2 ? s[i + 2] : 0U);
    *to++ = SIGNS[bits >> 18];
    *to++ = SIGNS[bits >> 12 & 63];
    *to++ = have > 1 ? SIGNS[bits >> 6 & 63] : '=';
    *to++ = have > 2 ? SIGNS[bits & 63] : '=';
  }
  *to = '\0';
  html->n = (size_t)(to - html->text);
}

char *gn_html_take(gn_html *html) {
  char *text = html->failed ? NULL : html->text;
  if (html->failed) gn_free(html->text);
  *html = (gn_html){0};
  return text;
}
