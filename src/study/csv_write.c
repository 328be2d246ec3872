// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/csv.h"

#include <math.h>
#include <string.h>

#include "report/utf8.h"

// What a spreadsheet takes for the start of a formula; where full-width signs are at home, these too.
static bool starts_formula(const char *text) {
  static const char *const WIDE[] = {"\uFF1D", "\uFF0B", "\uFF0D", "\uFF20"};
  bool starts = *text && strchr("=+-@\t\r", *text);
  for (size_t i = 0; i < sizeof WIDE / sizeof *WIDE; i++) starts |= !strncmp(text, WIDE[i], strlen(WIDE[i]));
  return starts;
}

static bool is_plain(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || (c && strchr("-._~/", c)); }

// A line a record whatever the name, also for a reader that ends lines at more than a line feed; nothing that turns the
// direction of writing; and a semicolon parts fields where a comma is the decimal sign.
static bool needs_percent(const char *text) {
  for (const char *c = text; *c;) {
    uint32_t code;
    bool ok;
    if (*c == ';' && (starts_formula(c + 1) || c[1] == '"')) return true;
    c += gn_utf8_next(c, &code, &ok);
    if (!ok || gn_utf8_acts(code)) return true;
  }
  return false;
}

static void put_percent(gn_buffer *out, const char *text) {
  gn_buffer_puts(out, "'%");
  for (const char *c = text; *c; c++) gn_buffer_printf(out, is_plain(*c) ? "%c" : "%%%02X", (unsigned char)*c);
}

static void put_quoted(gn_buffer *out, const char *text) {
  const char *const mark = starts_formula(text) || strchr("' ", *text) ? "'" : ""; // a blank may be cut off
  if (!strpbrk(text, ",\";\n\r") && text[strlen(text) - 1] != ' ') {
    gn_buffer_puts(out, mark);
    gn_buffer_puts(out, text);
    return;
  }
  gn_buffer_puts(out, "\"");
  gn_buffer_puts(out, mark);
  for (const char *c = text; *c; c++) gn_buffer_add(out, *c == '"' ? "\"\"" : c, *c == '"' ? 2 : 1);
  gn_buffer_puts(out, "\"");
}

void gn_csv_text(gn_buffer *out, const char *text, bool first) {
  if (!first) gn_buffer_puts(out, ",");
  if (!text || !*text) return;
  if (needs_percent(text))
    put_percent(out, text);
  else
    put_quoted(out, text);
}

void gn_csv_number(gn_buffer *out, double value, int decimals) {
  gn_buffer_puts(out, ",");
  if (isfinite(value)) gn_buffer_number(out, value, decimals);
}

void gn_csv_whole(gn_buffer *out, long long value) { gn_buffer_printf(out, ",%lld", value); }

static int digit(char c) { return c >= '0' && c <= '9' ? c - '0' : c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1; }

void gn_csv_restore(char *field) {
  if (*field != '\'') return;
  const bool percent = field[1] == '%';
  char *to = field;
  for (const char *from = field + 1 + percent; *from; from++) {
    const bool code = percent && *from == '%' && digit(from[1]) >= 0 && digit(from[2]) >= 0;
    *to++ = code ? (char)(digit(from[1]) * 16 + digit(from[2])) : *from;
    if (code) from += 2;
  }
  *to = 0;
}
