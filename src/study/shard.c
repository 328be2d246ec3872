// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/shard.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define XXH_INLINE_ALL
#include <xxhash.h>

#include "base/error.h"
#include "base/memory.h"
#include "study/batch_row.h"

#define STAGE "batch"

static const struct {
  const char *stem, *ending, *start; // start: what a file of this program begins with; NULL: it is asked of the host
} TABLES[GN_N_TABLES] = {
    {"recordings", "csv", "number,file,status,reason,"},
    {"beats", "csv", "number,file,beat,"},
    {"reports", "ndjson", "{\"schema\": \"girthline.report.v1\""},
    {"index", "html", NULL},
    {"batch", "json", NULL},
};

char *gn_shard_table(const char *folder, int table, unsigned shard, unsigned n) {
  if (!n) return gn_strprintf("%s/%s.%s", folder, TABLES[table].stem, TABLES[table].ending);
  return gn_strprintf("%s/%s.%u-of-%u.%s", folder, TABLES[table].stem, shard, n, TABLES[table].ending);
}

char *gn_shard_hidden(const char *folder, const char *ending, unsigned shard, unsigned n) {
  if (!n) return gn_strprintf("%s/.girthline-batch.%s", folder, ending);
  return gn_strprintf("%s/.girthline-batch.%u-of-%u.%s", folder, shard, n, ending);
}

bool gn_shard_takes(const gn_batch *b, const char *file) { return !b->n_shards || XXH3_64bits(file, strlen(file)) % b->n_shards == b->shard - 1; }

// The lock file stays: removing it would let a third run lock a file that no name leads to.
static girthline_status take(int *fd, const gn_batch *b, unsigned shard, unsigned n, bool shared, girthline_error *error) {
  char *path = gn_shard_hidden(b->out, "lock", shard, n);
  girthline_status status = GIRTHLINE_OK;
  if (!path) return gn_error_memory(error, STAGE);
  *fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0666);
  if (*fd < 0)
    status = gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s cannot be written: %s; name another folder", path, strerror(errno));
  else if (flock(*fd, (shared ? LOCK_SH : LOCK_EX) | LOCK_NB)) {
    if (errno == EWOULDBLOCK)
      status = gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "another run is at work in %s: wait for it, or name another folder", b->out);
    else
      status = gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "%s cannot be locked: %s; name a folder on another disk", path, strerror(errno));
  }
  gn_free(path);
  return status;
}

girthline_status gn_shard_lock_take(gn_shard_lock *lock, const gn_batch *b, girthline_error *error) {
  *lock = (gn_shard_lock){-1, -1};
  girthline_status status = take(&lock->whole_fd, b, 0, 0, b->n_shards != 0, error);
  if (!status && b->n_shards) status = take(&lock->own_fd, b, b->shard, b->n_shards, false, error);
  if (status) gn_shard_lock_release(lock);
  return status;
}

void gn_shard_lock_release(gn_shard_lock *lock) {
  if (lock->own_fd >= 0) close(lock->own_fd);
  if (lock->whole_fd >= 0) close(lock->whole_fd);
  *lock = (gn_shard_lock){-1, -1};
}

static bool begins_with(const char *path, const char *start) {
  char text[64] = {0};
  const size_t n = strlen(start);
  FILE *file = fopen(path, "rbe");
  if (!file) return false;
  const size_t got = fread(text, 1, n, file);
  fclose(file);
  return got == n && !memcmp(text, start, n);
}

girthline_status gn_shard_may_replace(const gn_batch *b, int table, girthline_error *error) {
  char *path = gn_shard_table(b->out, table, b->shard, b->n_shards);
  struct stat st;
  if (!path) return gn_error_memory(error, STAGE);
  girthline_status status = GIRTHLINE_OK;
  const char *start = TABLES[table].start;
  if (!lstat(path, &st) && !(S_ISREG(st.st_mode) && (!st.st_size || (start ? begins_with(path, start) : b->host.is_ours(path)))))
    status = gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s exists and was not written by girthline batch: name another folder", path);
  gn_free(path);
  return status;
}
