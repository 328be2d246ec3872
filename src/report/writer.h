// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// JSON written as it goes (RFC 8259), never built up as a tree: a day of beats costs its text and nothing else.
/// The writer knows the JSON pointer of what it writes and tells a listener of each value, null or not.
#ifndef GN_REPORT_WRITER_H
#define GN_REPORT_WRITER_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>

#include "report/buffer.h"
#include "report/sink.h"

#define GN_WRITER_DEPTH 16
#define GN_WRITER_PATH 256

typedef struct gn_writer_level {
  char bracket;    ///< '{' or '['
  bool one_line;
  size_t n_items;
  size_t path_n;   ///< length of the path outside this level
} gn_writer_level;

typedef struct gn_writer {
  gn_buffer out;
  gn_writer_level level[GN_WRITER_DEPTH];
  size_t depth;
  char path[GN_WRITER_PATH]; ///< JSON pointer of the innermost open container
  size_t path_n, path_base;  ///< the listener is given the path from path_base on
  void (*listen)(void *user, const char *pointer, bool is_null); ///< called for each number, string, truth value and null; may be NULL
  void *user;
  gn_sink sink; ///< where the text goes piece by piece; put is NULL: it stays in out
  bool stopped; ///< the sink took no more; what comes after is dropped
} gn_writer;

/// In each call below `key` is the member's name in an object and NULL in an array.
void gn_writer_open(gn_writer *w, const char *key, char bracket, bool one_line);
void gn_writer_close(gn_writer *w);
void gn_writer_restart_path(gn_writer *w); ///< pointers from here on are relative to the innermost open container

void gn_writer_number(gn_writer *w, const char *key, double value, int decimals); ///< not finite: null
void gn_writer_probability(gn_writer *w, const char *key, double p); ///< to seven digits, however small it is; NaN: null
void gn_writer_whole(gn_writer *w, const char *key, long long value);
void gn_writer_text(gn_writer *w, const char *key, const char *text);             ///< NULL: null; ill-formed bytes: U+FFFD
void gn_writer_bool(gn_writer *w, const char *key, bool value);
void gn_writer_tristate(gn_writer *w, const char *key, girthline_tristate value); ///< unknown: null
void gn_writer_null(gn_writer *w, const char *key);
void gn_writer_pair(gn_writer *w, const char *key, const double value[2], int decimals);   ///< [a, b]; null when either is not finite
void gn_writer_span(gn_writer *w, const char *key, girthline_span span, int decimals);     ///< {start_s, end_s}; null likewise

void gn_writer_flush(gn_writer *w); ///< hand what there is to the sink

/// A quoted JSON string.
void gn_writer_quote(gn_buffer *out, const char *text);

#endif
