// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The bytes of a recording: a file or memory, seen as a row of pieces so that a damaged header can be mended on the
/// fly without touching the file. Positions and lengths in bytes.
#ifndef GN_AUDIO_SOURCE_H
#define GN_AUDIO_SOURCE_H

#include <stddef.h>
#include <stdint.h>

#include <girthline/status.h>

#include "base/file.h"

#define GN_SOURCE_PIECES 16
#define GN_SOURCE_PATCH 8 ///< longest stretch of bytes of our own

/// Either a range of the file (own == 0) or up to GN_SOURCE_PATCH bytes of our own.
typedef struct gn_piece {
  int64_t from, length;
  int own;
  unsigned char bytes[GN_SOURCE_PATCH];
} gn_piece;

typedef struct gn_source {
  int fd;                      ///< -1: memory
  const unsigned char *memory; ///< NULL: file
  int64_t file_length;         ///< as it was at opening; what is appended later is not seen
  gn_piece pieces[GN_SOURCE_PIECES];
  size_t n_pieces;
  int64_t length, at;          ///< of the row of pieces
  int io_errno;                ///< errno of the last failed read; 0: none
  const gn_file_taker *taker;  ///< sees the file's own bytes, each once and in order; NULL: nobody does
  int64_t taken;               ///< those before this were seen
} gn_source;

/// Open a regular file; nothing else is opened, so that no pipe or device can block. shown: the name for messages.
girthline_status gn_source_open_path(gn_source *source, const char *path, const char *shown, girthline_error *error);
void gn_source_open_memory(gn_source *source, const void *data, size_t n_bytes);
void gn_source_close(gn_source *source); ///< accepts a source that never opened (fd -1)

/// Bytes of the row of pieces; returns how many were read, fewer only at the end or on a read error.
int64_t gn_source_read_at(gn_source *source, int64_t at, void *bytes, int64_t n);

/// What was not read yet goes to the taker too, to the end of the file as it is now. 0, or an errno.
int gn_source_show_rest(gn_source *source);

/// Put bytes of our own over n bytes at a position (n <= GN_SOURCE_PATCH), or between bytes with `insert`; or leave out
/// the first n bytes. 0 on success, -1 where the pieces are used up.
int gn_source_patch(gn_source *source, int64_t at, const void *bytes, size_t n);
int gn_source_insert(gn_source *source, int64_t at, const void *bytes, size_t n);
int gn_source_skip(gn_source *source, int64_t n);
void gn_source_cut(gn_source *source, int64_t length); ///< leave out all behind a position; nothing where it lies beyond the end

#endif
