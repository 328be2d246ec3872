// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/wrap.h"

#include <string.h>

#include "report/units.h"
#include "report/utf8.h"

// ECMA-48: bold; bold and yellow; bold and red.
static const char *const STYLES[] = {"", "\033[1m", "\033[1;33m", "\033[1;31m"};

static void put_spaces(gn_wrap *w, int n) {
  for (int i = 0; i < n; i++) gn_buffer_puts(&w->out, " ");
}

// One character as it may be shown; returns its columns.
static int shown(const char *at, size_t *n_bytes, const char **form, size_t *n_form) {
  uint32_t code;
  bool ok;
  *n_bytes = gn_utf8_next(at, &code, &ok);
  const bool calm = ok && !gn_utf8_acts(code);
  *form = ok ? calm ? at : "?" : "\xEF\xBF\xBD";
  *n_form = ok ? calm ? *n_bytes : 1 : 3;
  return calm ? gn_utf8_columns(code) : 1;
}

static int columns_of(const char *text, size_t n) {
  int columns = 0;
  for (size_t i = 0, used, n_form; i < n; i += used) {
    const char *form;
    columns += shown(text + i, &used, &form, &n_form);
  }
  return columns;
}

int gn_wrap_columns(const char *text) { return columns_of(text, strlen(text)); }

static void break_line(gn_wrap *w, int column, int *at) {
  gn_buffer_puts(&w->out, "\n");
  put_spaces(w, column);
  *at = column;
}

// A word longer than a line (a long file name) is broken where the line ends.
static void put_word(gn_wrap *w, const char *word, size_t n, int column, int *at) {
  for (size_t i = 0, used, n_form; i < n; i += used) {
    const char *form;
    const int columns = shown(word + i, &used, &form, &n_form);
    if (*at + columns > w->width && *at > column) break_line(w, column, at);
    gn_buffer_add(&w->out, form, n_form);
    *at += columns;
  }
}

// Up to the next space, and over the one between a number and its unit.
static size_t word_of(const char *text) {
  size_t n = strcspn(text, " ");
  while (gn_unit_space(text, n)) n += 1 + strcspn(text + n + 1, " ");
  return n;
}

// Words from column `at` on; returns where they end.
static int put_text(gn_wrap *w, const char *text, int column, int at) {
  bool first = true;
  while (*text) {
    text += strspn(text, " ");
    const size_t n = word_of(text);
    if (!n) break;
    const int columns = columns_of(text, n);
    if (!first && at + 1 + columns > w->width) {
      break_line(w, column, &at);
    } else if (!first) {
      put_spaces(w, 1);
      at++;
    }
    put_word(w, text, n, column, &at);
    text += n;
    first = false;
  }
  return at;
}

#define NARROW_COLUMNS 30 // less room than this beside a label: the text goes under it
#define NARROW_INDENT 4   // and so does a text without a label that would stand in that column

void gn_wrap_paragraph(gn_wrap *w, gn_style style, const char *label, int indent, int column, const char *text) {
  const bool narrow = w->width - column < NARROW_COLUMNS, under = *label && *text && (narrow || indent + gn_wrap_columns(label) >= column);
  if (narrow && !*label && indent > NARROW_INDENT) indent = column = NARROW_INDENT;
  else if (narrow) column = indent + 2;
  put_spaces(w, indent);
  if (w->colour && style != GN_PLAIN && *label) gn_buffer_puts(&w->out, STYLES[style]);
  int at = put_text(w, label, indent + 2, indent);
  if (w->colour && style != GN_PLAIN && *label) gn_buffer_puts(&w->out, "\033[0m");
  if (under) break_line(w, column, &at);
  if (*label && at < column) {
    put_spaces(w, column - at);
    at = column;
  }
  put_text(w, text, column, at);
  gn_buffer_puts(&w->out, "\n");
}

// The bytes of a cell's next line: up to the last place to break within `width` columns, else as many as fit.
static size_t line_of(const char *text, int width) {
  size_t at = 0, fit = 0, last = 0;
  for (int columns = 0; text[at];) {
    size_t used, n_form;
    const char *form;
    const bool space = text[at] == ' ', hyphen = text[at] == '-' && at;
    if (space) last = at;
    columns += shown(text + at, &used, &form, &n_form);
    if (columns > width) return space ? at : last ? last : fit ? fit : used;
    at += used;
    fit = at;
    if (hyphen) last = at;
  }
  return at;
}

static void put_shown(gn_wrap *w, const char *text, size_t n) {
  for (size_t i = 0, used, n_form; i < n; i += used) {
    const char *form;
    shown(text + i, &used, &form, &n_form);
    gn_buffer_add(&w->out, form, n_form);
  }
}

#define CELL_GAP 2

void gn_wrap_row(gn_wrap *w, int indent, const char *const *cells, const int *widths, size_t n_cells) {
  const char *rest[GN_WRAP_CELLS_MOST];
  for (size_t i = 0; i < n_cells; i++) rest[i] = cells[i];
  for (bool more = true; more;) {
    more = false;
    int at = 0, owed = indent; // spaces are put only before something
    for (size_t i = 0; i < n_cells; i++) {
      rest[i] += strspn(rest[i], " ");
      const size_t n = line_of(rest[i], widths[i]);
      if (n) put_spaces(w, owed - at);
      at = n ? owed + columns_of(rest[i], n) : at;
      put_shown(w, rest[i], n);
      rest[i] += n;
      more = more || rest[i][strspn(rest[i], " ")];
      owed += widths[i] + CELL_GAP;
    }
    gn_buffer_puts(&w->out, "\n");
  }
}

void gn_wrap_heading(gn_wrap *w, const char *heading) {
  gn_buffer_puts(&w->out, "\n");
  gn_wrap_paragraph(w, GN_STRONG, heading, 0, 0, "");
}
