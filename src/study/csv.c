// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/csv.h"

#include <string.h>

#include "base/memory.h"

gn_csv gn_csv_reader(FILE *file) { return (gn_csv){.file = file, .line = 1, .next_line = 1}; }

void gn_csv_clear(gn_csv *r) {
  gn_buffer_clear(&r->text);
  gn_free(r->starts);
  *r = (gn_csv){0};
}

const char *gn_csv_field(const gn_csv *r, size_t i) { return i < r->n_fields ? r->text.text + r->starts[i] : ""; }

bool gn_csv_blank(const gn_csv *r) {
  const char *only = gn_csv_field(r, 0);
  return r->n_fields == 1 && !only[strspn(only, " \t")];
}

static gn_csv_got fault(gn_csv *r, const char *what) {
  r->fault = what;
  return GN_CSV_FAULT;
}

static gn_csv_got refused(gn_csv *r) {
  r->refused = true;
  return fault(r, "memory was refused");
}

static int start_field(gn_csv *r) {
  void *items = r->starts;
  if (gn_grow(&items, &r->capacity, r->n_fields + 1, sizeof *r->starts)) return -1;
  r->starts = items;
  r->starts[r->n_fields++] = r->text.n;
  return 0;
}

static void add(gn_csv *r, int c) {
  const char byte = (char)c;
  gn_buffer_add(&r->text, &byte, 1);
  r->next_line += c == '\n';
}

// Behind the opening quote, up to the closing one.
static const char *read_quoted(gn_csv *r) {
  for (;;) {
    int c = getc(r->file);
    if (c == EOF) return ferror(r->file) ? "the file cannot be read to its end" : "a quote is opened and never closed";
    if (c == '"') {
      c = getc(r->file);
      if (c != '"') {
        if (c != EOF) ungetc(c, r->file);
        return NULL;
      }
    }
    if (!c) return "it holds a zero byte: it is not a text file";
    if (r->text.n > GN_CSV_RECORD_BYTES) return "the record is longer than a mebibyte: a quote was opened and never closed";
    add(r, c);
  }
}

// One field; *end tells what ended it: ',' '\n' or EOF.
static const char *read_field(gn_csv *r, int *end) {
  bool quoted = false;
  const size_t from = r->text.n;
  for (;;) {
    int c = getc(r->file);
    if (c == '\r') {
      c = getc(r->file);
      if (c != '\n' && c != EOF) {
        ungetc(c, r->file);
        c = '\n'; // a lone carriage return ends a line as well
      }
    }
    if (c == ',' || c == '\n' || c == EOF) {
      *end = c;
      return c == EOF && ferror(r->file) ? "the file cannot be read to its end" : NULL;
    }
    if (quoted) return "text follows a closing quote; a quote within a field is written twice";
    if (!c) return "it holds a zero byte: it is not a text file";
    if (c == '"' && r->text.n > from) return "a quote stands inside a field that does not begin with one";
    if (r->text.n > GN_CSV_RECORD_BYTES) return "the record is longer than a mebibyte";
    if (c != '"') {
      add(r, c);
      continue;
    }
    quoted = true;
    const char *what = read_quoted(r);
    if (what) return what;
  }
}

// The byte-order mark some spreadsheets write first.
static void skip_mark(gn_csv *r) {
  static const unsigned char MARK[3] = {0xEF, 0xBB, 0xBF};
  int mark[3];
  for (int i = 0; i < 3; i++) {
    mark[i] = getc(r->file);
    if (mark[i] == MARK[i]) continue;
    for (int k = i; k >= 0; k--)
      if (mark[k] != EOF) ungetc(mark[k], r->file); // glibc takes back what was just read
    return;
  }
}

gn_csv_got gn_csv_next(gn_csv *r) {
  if (r->fault) return GN_CSV_FAULT;
  if (r->next_line == 1) skip_mark(r);
  int end = getc(r->file);
  if (end == EOF) return ferror(r->file) ? fault(r, "the file cannot be read to its end") : GN_CSV_END;
  ungetc(end, r->file);
  r->line = r->next_line;
  r->n_fields = 0;
  r->text.n = 0;
  do {
    if (start_field(r)) return refused(r);
    const char *what = read_field(r, &end);
    if (what) return fault(r, what);
    gn_buffer_add(&r->text, "", 1);
  } while (end == ',');
  if (r->text.refused) return refused(r);
  r->next_line++;
  return GN_CSV_RECORD;
}
