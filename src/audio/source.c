// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/source.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/error.h"

static void one_piece(gn_source *source) {
  source->pieces[0] = (gn_piece){.from = 0, .length = source->file_length};
  source->n_pieces = 1;
  source->length = source->file_length;
  source->at = 0;
}

static girthline_status cannot(girthline_error *error, const char *shown, int code) {
  switch (code) {
  case ENOENT: return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s: there is no such file; check the name and the folder", shown);
  case ENOTDIR:
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s: a part of this path is a file, not a folder; check the path", shown);
  case EACCES:
  case EPERM:
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s: permission to read it is missing; ask its owner for it, or copy it to a folder of your own",
                        shown);
  default: return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s: it could not be read (%s); copy it to another disk and try the copy", shown, strerrordesc_np(code));
  }
}

static girthline_status not_a_file(girthline_error *error, const char *shown, mode_t mode) {
  if (S_ISDIR(mode))
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s: this is a folder; name one recording in it", shown);
  return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s: this is a pipe or a device, not a file; save the recording to a file first", shown);
}

girthline_status gn_source_open_path(gn_source *source, const char *path, const char *shown, girthline_error *error) {
  *source = (gn_source){.fd = -1};
  struct stat info;
  if (stat(path, &info)) return cannot(error, shown, errno);
  if (!S_ISREG(info.st_mode)) return not_a_file(error, shown, info.st_mode);
  // O_NONBLOCK: should the file be exchanged for a pipe just now, opening still does not wait.
  const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
  if (fd < 0) return cannot(error, shown, errno);
  if (fstat(fd, &info) || !S_ISREG(info.st_mode)) {
    close(fd);
    return not_a_file(error, shown, info.st_mode);
  }
  source->fd = fd;
  source->file_length = info.st_size;
  one_piece(source);
  return GIRTHLINE_OK;
}

void gn_source_open_memory(gn_source *source, const void *data, size_t n_bytes) {
  *source = (gn_source){.fd = -1, .memory = data, .file_length = (int64_t)n_bytes};
  one_piece(source);
}

void gn_source_close(gn_source *source) {
  if (source->fd >= 0) close(source->fd);
  source->fd = -1;
}

static int64_t fetch(const gn_source *source, int64_t at, unsigned char *bytes, int64_t n, int *failed) {
  int64_t got = 0;
  while (got < n) {
    const ssize_t k = pread(source->fd, bytes + got, (size_t)(n - got), at + got);
    if (k < 0 && errno == EINTR) continue;
    if (k < 0) *failed = errno;
    if (k <= 0) break;
    got += k;
  }
  return got;
}

// The bytes from `at` on were read: what of them comes next is the taker's.
static void show(gn_source *source, int64_t at, const unsigned char *bytes, int64_t n) {
  if (!source->taker || at > source->taken || at + n <= source->taken) return;
  const int64_t seen = source->taken - at;
  source->taker->take(source->taker->user, bytes + seen, (size_t)(n - seen));
  source->taken = at + n;
}

// What lies before a place and was not read.
static int show_up_to(gn_source *source, int64_t to) {
  unsigned char bytes[1 << 16];
  int failed = 0;
  for (int64_t got = 1; got > 0 && source->taken < to;) {
    const int64_t left = to - source->taken;
    got = fetch(source, source->taken, bytes, left < (int64_t)sizeof bytes ? left : (int64_t)sizeof bytes, &failed);
    show(source, source->taken, bytes, got);
  }
  return failed;
}

int gn_source_show_rest(gn_source *source) { return source->taker ? show_up_to(source, INT64_MAX) : 0; }

static int64_t read_file(gn_source *source, int64_t at, unsigned char *bytes, int64_t n) {
  if (source->memory) {
    memcpy(bytes, source->memory + at, (size_t)n);
    return n;
  }
  if (source->taker && at > source->taken) show_up_to(source, at);
  const int64_t got = fetch(source, at, bytes, n, &source->io_errno);
  show(source, at, bytes, got);
  return got;
}

static int64_t read_piece(gn_source *source, const gn_piece *piece, int64_t skip, unsigned char *bytes, int64_t n) {
  if (n > piece->length - skip) n = piece->length - skip;
  if (!piece->own) return read_file(source, piece->from + skip, bytes, n);
  memcpy(bytes, piece->bytes + skip, (size_t)n);
  return n;
}

int64_t gn_source_read_at(gn_source *source, int64_t at, void *bytes, int64_t n) {
  int64_t start = 0, got = 0;
  if (at < 0 || n <= 0) return 0;
  for (size_t i = 0; i < source->n_pieces && got < n; i++) {
    const gn_piece *piece = &source->pieces[i];
    const int64_t skip = at + got - start;
    start += piece->length;
    if (skip >= piece->length) continue;
    const int64_t k = read_piece(source, piece, skip, (unsigned char *)bytes + got, n - got);
    got += k;
    if (at + got < start) break;
  }
  return got;
}

// Make a piece begin at a position; returns its index, or -1.
static int split_at(gn_source *source, int64_t at) {
  int64_t start = 0;
  size_t i = 0;
  for (; i < source->n_pieces && start + source->pieces[i].length <= at; i++) start += source->pieces[i].length;
  if (i == source->n_pieces || start == at) return (int)i;
  if (source->n_pieces == GN_SOURCE_PIECES || source->pieces[i].own) return -1;
  memmove(&source->pieces[i + 1], &source->pieces[i], (source->n_pieces - i) * sizeof *source->pieces);
  source->n_pieces++;
  source->pieces[i].length = at - start;
  source->pieces[i + 1].from += at - start;
  source->pieces[i + 1].length -= at - start;
  return (int)i + 1;
}

int gn_source_insert(gn_source *source, int64_t at, const void *bytes, size_t n) {
  const int i = split_at(source, at);
  if (i < 0 || n > GN_SOURCE_PATCH || source->n_pieces == GN_SOURCE_PIECES) return -1;
  memmove(&source->pieces[i + 1], &source->pieces[i], (source->n_pieces - (size_t)i) * sizeof *source->pieces);
  source->n_pieces++;
  source->pieces[i] = (gn_piece){.length = (int64_t)n, .own = 1};
  memcpy(source->pieces[i].bytes, bytes, n);
  source->length += (int64_t)n;
  return 0;
}

int gn_source_patch(gn_source *source, int64_t at, const void *bytes, size_t n) {
  // Only over the file's own bytes and within one piece: nothing else is ever asked for.
  const int i = split_at(source, at);
  if (i < 0 || (size_t)i >= source->n_pieces || source->pieces[i].own || source->pieces[i].length < (int64_t)n) return -1;
  source->pieces[i].from += (int64_t)n;
  source->pieces[i].length -= (int64_t)n;
  source->length -= (int64_t)n;
  return gn_source_insert(source, at, bytes, n);
}

int gn_source_skip(gn_source *source, int64_t n) {
  const int i = split_at(source, n);
  if (i < 0) return -1;
  source->n_pieces -= (size_t)i;
  memmove(source->pieces, source->pieces + i, source->n_pieces * sizeof *source->pieces);
  source->length -= n;
  return 0;
}

void gn_source_cut(gn_source *source, int64_t length) {
  const int i = length < source->length ? split_at(source, length) : -1;
  if (i < 0) return;
  source->n_pieces = (size_t)i;
  source->length = length;
}
