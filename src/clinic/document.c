// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/document.h"

#include <stdint.h>
#include <string.h>

#include "base/memory.h"
#include "report/buffer.h"

#define MOST_LINE_BYTES 600 ///< a longer text is set as several lines, so that a page can end between them

static void add(gn_document *d, gn_front_line line) {
  void *items = d->lines;
  if (!line.text || gn_grow(&items, &d->capacity, d->n + 1, sizeof *d->lines)) {
    gn_free((void *)(uintptr_t)line.text);
    d->refused = true;
    return;
  }
  d->lines = items;
  d->lines[d->n++] = line;
}

void gn_document_push(gn_document *d, gn_front_kind kind, char *text) { add(d, (gn_front_line){.kind = kind, .text = text}); }

void gn_document_say(gn_document *d, gn_front_kind kind, const char *text) {
  if (text && *text) gn_document_push(d, kind, gn_strdup(text));
}

void gn_document_picture(gn_document *d, gn_front_line picture) {
  picture.text = gn_strdup(picture.text);
  add(d, picture);
}

void gn_document_clear(gn_document *d) {
  for (size_t i = 0; i < d->n; i++) gn_free((void *)(uintptr_t)d->lines[i].text);
  gn_free(d->lines);
  *d = (gn_document){0};
}

// Where a long text may be parted: at a line's end, else at the last space, else between two characters.
static size_t piece(const char *text) {
  const size_t line = strcspn(text, "\n");
  if (line <= MOST_LINE_BYTES) return line;
  size_t n = MOST_LINE_BYTES;
  while (n > MOST_LINE_BYTES / 2 && text[n] != ' ') n--;
  if (text[n] == ' ') return n;
  for (n = MOST_LINE_BYTES; n && ((unsigned char)text[n] & 0xC0) == 0x80;) n--;
  return n ? n : MOST_LINE_BYTES;
}

void gn_document_labelled(gn_document *d, const char *label, const char *text) {
  bool first = true;
  while (*text) {
    const size_t n = piece(text);
    const gn_front_kind kind = first && !text[n] ? GN_FRONT_FACT : GN_FRONT_BODY;
    if (n) gn_document_push(d, kind, gn_strprintf("%s%s%.*s", first ? label : "    ", first ? ": " : "", (int)n, text));
    first = first && !n;
    text += n;
    if (*text == '\n' || *text == ' ') text++;
  }
}

void gn_document_cells(gn_document *d, gn_front_kind kind, const char *const *texts) {
  gn_buffer line = {0};
  for (size_t i = 0; texts[i]; i++) {
    if (i) gn_buffer_puts(&line, "\t");
    const size_t from = line.n;
    gn_buffer_puts(&line, texts[i]);
    for (size_t k = from; k < line.n; k++)
      if (line.text[k] == '\t') line.text[k] = ' ';
  }
  gn_document_push(d, kind, gn_buffer_take(&line));
}
