// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/writer.h"

#include <math.h>
#include <string.h>

#include "report/utf8.h"

static void escape(gn_buffer *out, uint32_t c) {
  const char *const named = "\"\\\b\f\n\r\t", *const letter = "\"\\bfnrt";
  const char *const at = c && c < 0x80 ? strchr(named, (int)c) : NULL;
  if (at) gn_buffer_printf(out, "\\%c", letter[at - named]);
  else gn_buffer_printf(out, "\\u%04x", (unsigned)c);
}

// How many bytes stand in quotes as they are: printable ASCII.
static size_t plain_n(const char *text) {
  size_t n = 0;
  while (text[n] >= ' ' && text[n] <= '~' && text[n] != '"' && text[n] != '\\') n++;
  return n;
}

void gn_writer_quote(gn_buffer *out, const char *text) {
  gn_buffer_puts(out, "\"");
  for (;;) {
    const size_t plain = plain_n(text);
    if (plain) gn_buffer_add(out, text, plain);
    text += plain;
    if (!*text) break;
    uint32_t c;
    bool ok;
    const size_t n = gn_utf8_next(text, &c, &ok);
    if (!ok) gn_buffer_puts(out, "\xEF\xBF\xBD");
    else if (c == '"' || c == '\\' || (c < 0x10000 && gn_utf8_acts(c))) escape(out, c);
    else gn_buffer_add(out, text, n);
    text += n;
  }
  gn_buffer_puts(out, "\"");
}

static void new_line(gn_writer *w) {
  static const char LINE[2 + 2 * GN_WRITER_DEPTH] = "\n                                "; // two spaces for each level
  gn_buffer_add(&w->out, LINE, 1 + 2 * w->depth);
}

// Comma, line and key of the next item; the path grows by it. Returns the path's length before.
static size_t begin_item(gn_writer *w, const char *key) {
  const size_t before = w->path_n;
  if (!w->depth) return before;
  gn_writer_level *level = &w->level[w->depth - 1];
  if (level->n_items) gn_buffer_puts(&w->out, level->one_line ? ", " : ",");
  if (!level->one_line) new_line(w);
  char digits[GN_BUFFER_DIGITS];
  const char *const step = key ? key : digits;
  const size_t n = key ? strlen(key) : gn_buffer_digits(digits, level->n_items, 1);
  if (n + 1 < sizeof w->path - w->path_n) {
    w->path[w->path_n++] = '/';
    memcpy(w->path + w->path_n, step, n);
    w->path_n += n;
    w->path[w->path_n] = 0;
  }
  level->n_items++;
  if (key) {
    gn_writer_quote(&w->out, key);
    gn_buffer_puts(&w->out, ": ");
  }
  return before;
}

#define PIECE_BYTES 65536 // handed to the sink at a time, at least: a choice

void gn_writer_flush(gn_writer *w) {
  if (!w->stopped && w->out.n) w->stopped = w->sink.put(w->sink.user, w->out.text, w->out.n) != 0;
  w->out.n = 0;
}

static void pass_on(gn_writer *w) {
  if (w->sink.put && w->out.n >= PIECE_BYTES) gn_writer_flush(w);
}

static void end_item(gn_writer *w, size_t path_n, bool is_null) {
  if (w->listen) w->listen(w->user, w->path + w->path_base, is_null);
  w->path_n = path_n;
  w->path[path_n] = 0;
  pass_on(w);
}

void gn_writer_open(gn_writer *w, const char *key, char bracket, bool one_line) {
  const bool inside = w->depth && w->level[w->depth - 1].one_line;
  const size_t path_n = begin_item(w, key);
  w->level[w->depth++] = (gn_writer_level){.bracket = bracket, .one_line = one_line || inside, .path_n = path_n};
  gn_buffer_add(&w->out, &bracket, 1);
}

void gn_writer_close(gn_writer *w) {
  const gn_writer_level level = w->level[--w->depth];
  if (level.n_items && !level.one_line) new_line(w);
  gn_buffer_puts(&w->out, level.bracket == '{' ? "}" : "]");
  w->path_n = level.path_n;
  w->path[w->path_n] = 0;
}

void gn_writer_restart_path(gn_writer *w) { w->path_base = w->path_n; }

void gn_writer_null(gn_writer *w, const char *key) {
  const size_t path_n = begin_item(w, key);
  gn_buffer_puts(&w->out, "null");
  end_item(w, path_n, true);
}

void gn_writer_number(gn_writer *w, const char *key, double value, int decimals) {
  if (!isfinite(value)) {
    gn_writer_null(w, key);
    return;
  }
  const size_t path_n = begin_item(w, key);
  gn_buffer_number(&w->out, value, decimals);
  end_item(w, path_n, false);
}

void gn_writer_probability(gn_writer *w, const char *key, double p) {
  if (!isfinite(p)) {
    gn_writer_null(w, key);
    return;
  }
  const size_t path_n = begin_item(w, key);
  gn_buffer_printf(&w->out, "%.7g", p);
  end_item(w, path_n, false);
}

void gn_writer_whole(gn_writer *w, const char *key, long long value) {
  const size_t path_n = begin_item(w, key);
  gn_buffer_printf(&w->out, "%lld", value);
  end_item(w, path_n, false);
}

void gn_writer_text(gn_writer *w, const char *key, const char *text) {
  if (!text) {
    gn_writer_null(w, key);
    return;
  }
  const size_t path_n = begin_item(w, key);
  gn_writer_quote(&w->out, text);
  end_item(w, path_n, false);
}

void gn_writer_bool(gn_writer *w, const char *key, bool value) {
  const size_t path_n = begin_item(w, key);
  gn_buffer_puts(&w->out, value ? "true" : "false");
  end_item(w, path_n, false);
}

void gn_writer_tristate(gn_writer *w, const char *key, girthline_tristate value) {
  if (value == GIRTHLINE_UNKNOWN) gn_writer_null(w, key);
  else gn_writer_bool(w, key, value == GIRTHLINE_YES);
}

void gn_writer_pair(gn_writer *w, const char *key, const double value[2], int decimals) {
  if (!isfinite(value[0]) || !isfinite(value[1])) {
    gn_writer_null(w, key);
    return;
  }
  gn_writer_open(w, key, '[', true);
  gn_writer_number(w, NULL, value[0], decimals);
  gn_writer_number(w, NULL, value[1], decimals);
  gn_writer_close(w);
}

void gn_writer_span(gn_writer *w, const char *key, girthline_span span, int decimals) {
  if (!isfinite(span.start_s) || !isfinite(span.end_s)) {
    gn_writer_null(w, key);
    return;
  }
  gn_writer_open(w, key, '{', true);
  gn_writer_number(w, "start_s", span.start_s, decimals);
  gn_writer_number(w, "end_s", span.end_s, decimals);
  gn_writer_close(w);
}
