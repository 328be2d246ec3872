// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/journal.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define XXH_INLINE_ALL
#include <xxhash.h>

#include "base/error.h"
#include "base/memory.h"

#define STAGE "batch"
#define START_LINE "girthline journal 1\n"
#define RECORD_MOST ((size_t)4 << 30) // a day of beats is a hundredth of it

// Each record: the hash of all after the first line, the length of the head and that of the pieces; the head; the pieces.
#define PREFIX_BYTES 56
#define PREFIX_FORMAT "R %016llx %016llx %016llx   \n"

static girthline_status cannot(const gn_journal *j, girthline_error *error) {
  return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s cannot be written: %s; free some room and start the same command again: what is done is kept",
                      j->path, strerror(errno));
}

static int read_all(int fd, void *to, size_t n, off_t at) {
  char *data = to;
  while (n) {
    const ssize_t got = pread(fd, data, n, at);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return -1;
    data += got;
    at += got;
    n -= (size_t)got;
  }
  return 0;
}

static int write_all(int fd, const char *data, size_t n, off_t at) {
  while (n) {
    const ssize_t done = pwrite(fd, data, n, at);
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return -1;
    data += done;
    at += done;
    n -= (size_t)done;
  }
  return 0;
}

static bool is_in_pages(const char *page) { return !strncmp(page, "pages/", 6) && !strchr(page + 6, '/'); }

static bool lengths_fit(const gn_journal_entry *e, size_t parts_n) {
  for (int i = 0; i < GN_N_PARTS; i++) {
    if (e->part_n[i] > parts_n) return false;
    parts_n -= e->part_n[i];
  }
  return !parts_n;
}

// The head is text: numbers, then words that are never empty ("-" for none), then the file's name to its end. Its hash holds off accidents
// alone: nothing it says is used before it is looked at.
static bool parse_head(const char *head, size_t parts_n, gn_journal_entry *e, const char **file) {
  int used = 0, status, grade, page;
  char bpm[32];
  const int n = sscanf(head, "%d %d %31s %zu %zu %zu %zu %47s %47s %d%n", &status, &grade, bpm, &e->part_n[0], &e->part_n[1], &e->part_n[2], &e->part_n[3],
                       e->key, e->content_hash, &page, &used);
  if (n != 10 || sscanf(head + used, " %95s%n", e->page, &page) != 1 || head[used + page] != ' ') return false;
  if (status < GIRTHLINE_OK || status > GIRTHLINE_REFUSED || grade < GIRTHLINE_GOOD || grade > GIRTHLINE_UNUSABLE || !lengths_fit(e, parts_n)) return false;
  e->status = (girthline_status)status;
  e->grade = (girthline_grade)grade;
  e->bpm = strcmp(bpm, "-") ? strtod(bpm, NULL) : (double)NAN;
  e->has_page = strcmp(e->page, "-") != 0;
  if ((e->has_page && !is_in_pages(e->page)) || isinf(e->bpm)) return false;
  if (!e->has_page) e->page[0] = 0;
  if (!strcmp(e->content_hash, "-")) e->content_hash[0] = 0;
  *file = head + used + page + 1;
  return true;
}

#define REFUSED ((size_t)-1)

// One record at `at`; returns its length, 0 when it is torn, foreign or behind the end, REFUSED without memory.
static size_t read_record(const gn_journal *j, off_t at, off_t end, gn_journal_entry *e, char **head, const char **file) {
  char prefix[PREFIX_BYTES + 1] = {0};
  unsigned long long hash, head_n, parts_n;
  if (end - at < PREFIX_BYTES || read_all(j->fd, prefix, PREFIX_BYTES, at)) return 0;
  if (sscanf(prefix, "R %16llx %16llx %16llx", &hash, &head_n, &parts_n) != 3 || prefix[PREFIX_BYTES - 1] != '\n') return 0;
  if (head_n > RECORD_MOST || parts_n > RECORD_MOST || (unsigned long long)(end - at - PREFIX_BYTES) < head_n + parts_n) return 0;
  const size_t n = (size_t)(head_n + parts_n);
  char *body = gn_new(n + 1, 1);
  if (!body) return REFUSED;
  const bool whole = !read_all(j->fd, body, n, at + PREFIX_BYTES) && XXH3_64bits(body, n) == hash;
  body[head_n] = 0;
  *e = (gn_journal_entry){.at = at + PREFIX_BYTES + (off_t)head_n};
  if (!whole || !parse_head(body, (size_t)parts_n, e, file)) {
    gn_free(body);
    return 0;
  }
  *head = body;
  return PREFIX_BYTES + n;
}

static girthline_status read_records(gn_journal *j, off_t end, gn_journal_listener listener, void *user) {
  girthline_status status = GIRTHLINE_OK;
  while (!status) {
    gn_journal_entry entry;
    char *head = NULL;
    const char *file = NULL;
    const size_t n = read_record(j, j->end, end, &entry, &head, &file);
    if (n == REFUSED) return GIRTHLINE_NO_MEMORY;
    if (!n) break;
    status = listener(user, file, &entry);
    gn_free(head);
    j->end += (off_t)n;
  }
  return status;
}

static girthline_status begin(gn_journal *j, girthline_error *error) {
  j->end = sizeof START_LINE - 1;
  return ftruncate(j->fd, 0) || write_all(j->fd, START_LINE, sizeof START_LINE - 1, 0) ? cannot(j, error) : GIRTHLINE_OK;
}

girthline_status gn_journal_open(gn_journal *j, const char *path, bool fresh, gn_journal_listener listener, void *user, girthline_error *error) {
  char start[sizeof START_LINE] = {0};
  struct stat st;
  *j = (gn_journal){.fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666), .path = path};
  if (j->fd < 0 || fstat(j->fd, &st)) return cannot(j, error);
  if (!S_ISREG(st.st_mode)) return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s is no plain file: name another folder", path);
  const size_t n = sizeof START_LINE - 1;
  const bool whole = st.st_size >= (off_t)n && !read_all(j->fd, start, n, 0) && !strcmp(start, START_LINE);
  if (st.st_size >= (off_t)n && !whole)
    return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s exists and was not written by this version of girthline: name another folder, or remove it",
                        path);
  if (fresh || !whole) return begin(j, error);
  j->end = (off_t)n;
  const girthline_status status = read_records(j, st.st_size, listener, user);
  if (status) return status == GIRTHLINE_NO_MEMORY ? gn_error_memory(error, STAGE) : status;
  return j->end < st.st_size && ftruncate(j->fd, j->end) ? cannot(j, error) : GIRTHLINE_OK;
}

void gn_journal_close(gn_journal *j) {
  if (j->fd >= 0) close(j->fd);
  j->fd = -1;
}

static void fill_entry(gn_journal_entry *e, const char *key, const gn_batch_row *row) {
  *e = (gn_journal_entry){.status = row->status, .grade = row->grade, .bpm = row->bpm, .has_page = *row->page != 0};
  for (int i = 0; i < GN_N_PARTS; i++) e->part_n[i] = row->part[i].n;
  snprintf(e->key, sizeof e->key, "%s", key);
  snprintf(e->content_hash, sizeof e->content_hash, "%s", row->content_hash);
  snprintf(e->page, sizeof e->page, "%s", row->page);
}

static const char *or_dash(const char *text) { return *text ? text : "-"; }

girthline_status gn_journal_append(gn_journal *j, const char *file, const char *key, const gn_batch_row *row, gn_journal_entry *e, girthline_error *error) {
  gn_buffer b = {0};
  char bpm[32] = "-", prefix[PREFIX_BYTES + 1];
  fill_entry(e, key, row);
  if (isfinite(row->bpm)) snprintf(bpm, sizeof bpm, "%.17g", row->bpm);
  for (int i = 0; i < PREFIX_BYTES; i++) gn_buffer_puts(&b, " ");
  gn_buffer_printf(&b, "%d %d %s %zu %zu %zu %zu %s %s 0 %s ", (int)e->status, (int)e->grade, bpm, e->part_n[0], e->part_n[1], e->part_n[2], e->part_n[3],
                   or_dash(key), or_dash(e->content_hash), or_dash(e->page));
  gn_buffer_puts(&b, file);
  const size_t head_n = b.n - PREFIX_BYTES;
  for (int i = 0; i < GN_N_PARTS; i++) {
    if (row->part[i].refused)
      b.refused = true;
    else if (row->part[i].n)
      gn_buffer_add(&b, row->part[i].text, row->part[i].n);
  }
  if (b.refused) {
    gn_buffer_clear(&b);
    return gn_error_memory(error, STAGE);
  }
  const unsigned long long hash = XXH3_64bits(b.text + PREFIX_BYTES, b.n - PREFIX_BYTES);
  snprintf(prefix, sizeof prefix, PREFIX_FORMAT, hash, (unsigned long long)head_n, (unsigned long long)(b.n - PREFIX_BYTES - head_n));
  memcpy(b.text, prefix, PREFIX_BYTES);
  e->at = j->end + PREFIX_BYTES + (off_t)head_n;
  girthline_status status = GIRTHLINE_OK;
  if (write_all(j->fd, b.text, b.n, j->end)) {
    status = cannot(j, error);
    if (ftruncate(j->fd, j->end)) errno = 0; // a torn record is cut off at the next start as well
  } else {
    j->end += (off_t)b.n;
  }
  gn_buffer_clear(&b);
  return status;
}

char *gn_journal_part(const gn_journal *j, const gn_journal_entry *e, int part, girthline_error *error) {
  off_t at = e->at;
  for (int i = 0; i < part; i++) at += (off_t)e->part_n[i];
  char *text = gn_new(e->part_n[part] + 1, 1);
  if (!text) {
    gn_error_memory(error, STAGE);
    return NULL;
  }
  if (!read_all(j->fd, text, e->part_n[part], at)) return text;
  gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s cannot be read back: start the command again", j->path);
  gn_free(text);
  return NULL;
}
