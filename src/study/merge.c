// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Complete shards joined: where each row's lines lie is looked up once, and they are copied in input order.
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <jansson.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"
#include "report/json_memory.h"
#include "study/batch_index.h"
#include "study/batch_job.h"
#include "study/csv.h"
#include "study/merge.h"
#include "study/shard.h"

#define STAGE "batch"

static girthline_status broken(const char *path, const char *what, girthline_error *error) {
  return gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "%s %s: run that shard again", path, what);
}

// How many shards there are, told by the names in the folder; two numbers are two sets.
static girthline_status count_shards(gn_merge *m, girthline_error *error) {
  DIR *folder = opendir(m->batch->out);
  if (!folder) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s", m->batch->out, strerror(errno));
  girthline_status status = GIRTHLINE_OK;
  const struct dirent *entry;
  while (!status && (entry = readdir(folder))) {
    unsigned shard, n;
    int used = 0;
    if (sscanf(entry->d_name, "recordings.%u-of-%u.csv%n", &shard, &n, &used) != 2 || !used || entry->d_name[used]) continue;
    if (m->n_shards && m->n_shards != n)
      status =
          gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "%s holds shards of %u and shards of %u: move the older ones away", m->batch->out, m->n_shards, n);
    m->n_shards = n;
  }
  closedir(folder);
  if (status || (m->n_shards && m->n_shards <= GN_BATCH_SHARDS_MOST)) return status;
  return gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "%s holds no shard: make them with --shard I/N", m->batch->out);
}

static girthline_status compare(gn_merge *m, const char *path, const json_t *summary, girthline_error *error) {
  const char *version = json_string_value(json_object_get(json_object_get(summary, "tool"), "version"));
  const char *settings = json_string_value(json_object_get(json_object_get(summary, "tool"), "settings_hash"));
  const size_t n_inputs = (size_t)json_integer_value(json_object_get(summary, "inputs"));
  if (!version || !settings || strlen(settings) >= sizeof m->settings_hash) return broken(path, "is no summary of a shard", error);
  if (!m->settings_hash[0]) {
    snprintf(m->version, sizeof m->version, "%s", version);
    strcpy(m->settings_hash, settings);
    m->totals.n_inputs = n_inputs;
  }
  if (strcmp(m->version, version)) return broken(path, "was written by another version than the first shard", error);
  if (m->totals.n_inputs != n_inputs) return broken(path, "was made from another set than the first shard", error); // which gives another hash, too
  if (strcmp(m->settings_hash, settings)) return broken(path, "was made with other settings than the first shard", error);
  m->totals.n_rows += (size_t)json_integer_value(json_object_get(summary, "rows"));
  m->totals.n_analysed += (size_t)json_integer_value(json_object_get(summary, "analysed"));
  m->totals.n_unusable += (size_t)json_integer_value(json_object_get(summary, "unusable"));
  m->totals.n_failed += (size_t)json_integer_value(json_object_get(summary, "failed"));
  return GIRTHLINE_OK;
}

static girthline_status read_summary(gn_merge *m, unsigned shard, girthline_error *error) {
  char *path = gn_shard_table(m->batch->out, GN_TABLE_SUMMARY, shard, m->n_shards);
  if (!path) return gn_error_memory(error, STAGE);
  girthline_status status;
  gn_json_begin();
  json_t *summary = access(path, F_OK) ? NULL : json_load_file(path, 0, NULL);
  if (gn_json_refused())
    status = gn_error_memory(error, STAGE);
  else if (summary)
    status = compare(m, path, summary, error);
  else if (access(path, F_OK))
    status = gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "shard %u-of-%u is missing or not complete (there is no %s): run it with --shard %u/%u", shard,
                          m->n_shards, path, shard, m->n_shards);
  else
    status = broken(path, "cannot be read", error);
  json_decref(summary);
  gn_free(path);
  return status;
}

static girthline_status read_summaries(gn_merge *m, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (unsigned s = 1; s <= m->n_shards && !status; s++) status = read_summary(m, s, error);
  if (status || m->totals.n_rows == m->totals.n_inputs) return status;
  return gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "the shards in %s hold %zu rows for %zu inputs: run them again", m->batch->out, m->totals.n_rows,
                      m->totals.n_inputs);
}

typedef struct writing {
  gn_merge *m;
  int which;
  girthline_status status;
  girthline_error *error;
} writing;

static int put_buffer(writing *w, int fd, gn_buffer *b) {
  int code = b->refused ? 1 : b->n ? gn_file_put(fd, b->text, b->n) : 0;
  if (b->refused) w->status = gn_error_memory(w->error, STAGE);
  gn_buffer_clear(b);
  return code;
}

static void head_of(const gn_merge *m, int which, gn_buffer *b) {
  if (which == GN_TABLE_RECORDINGS) gn_buffer_puts(b, GN_BATCH_ROW_HEADER);
  if (which == GN_TABLE_BEATS) gn_buffer_puts(b, GN_BATCH_BEATS_HEADER);
  if (which == GN_TABLE_INDEX) gn_index_head(b, &m->counts);
  if (which == GN_TABLE_SUMMARY) gn_batch_summary(b, m->batch, &m->totals, m->settings_hash);
}

static int fill(int fd, void *user) {
  writing *w = user;
  gn_buffer b = {0};
  head_of(w->m, w->which, &b);
  int code = put_buffer(w, fd, &b);
  for (size_t i = 0; i < w->m->totals.n_inputs && !code && w->which != GN_TABLE_SUMMARY; i++) {
    char *text = NULL;
    size_t n = 0;
    w->status = gn_merge_lines(w->m, w->which, i, &text, &n, w->error);
    code = w->status ? 1 : gn_file_put(fd, text, n);
    gn_free(text);
  }
  if (code || w->which != GN_TABLE_INDEX) return code;
  gn_index_foot(&b);
  return put_buffer(w, fd, &b);
}

static girthline_status write_table(gn_merge *m, int which, gn_batch_outcome *outcome, girthline_error *error) {
  char *path = gn_shard_table(m->batch->out, which, 0, 0);
  writing w = {.m = m, .which = which, .error = error};
  if (!path) return gn_error_memory(error, STAGE);
  girthline_status status = gn_shard_may_replace(m->batch, which, error);
  const int code = status ? 0 : m->batch->host.stream(path, fill, &w);
  if (code && !w.status) outcome->said = code;
  if (code) status = w.status ? w.status : GIRTHLINE_CANNOT_WRITE;
  gn_free(path);
  return status;
}

static girthline_status merge_locked(gn_merge *m, gn_batch_outcome *outcome, girthline_error *error) {
  girthline_status status = count_shards(m, error);
  if (!status) status = read_summaries(m, error);
  if (!status) status = gn_merge_look_up(m, error);
  for (int which = 0; which < GN_N_TABLES && !status; which++) status = gn_shard_may_replace(m->batch, which, error);
  char *summary = gn_shard_table(m->batch->out, GN_TABLE_SUMMARY, 0, 0);
  if (!status && !summary) status = gn_error_memory(error, STAGE);
  if (!status) unlink(summary); // its presence says that the tables belong together
  gn_free(summary);
  for (int which = 0; which < GN_N_TABLES && !status; which++) status = write_table(m, which, outcome, error);
  *outcome = (gn_batch_outcome){.n_rows = m->totals.n_rows,
                                .n_analysed = m->totals.n_analysed,
                                .n_unusable = m->totals.n_unusable,
                                .n_failed = m->totals.n_failed,
                                .worst = m->totals.n_failed ? GIRTHLINE_CANNOT_READ : GIRTHLINE_OK,
                                .said = outcome->said};
  return status;
}

girthline_status gn_batch_merge(const gn_batch *batch, gn_batch_outcome *outcome, girthline_error *error) {
  gn_merge m = {.batch = batch, .fd = -1};
  gn_shard_lock lock;
  struct stat st;
  *outcome = (gn_batch_outcome){0};
  if (stat(batch->out, &st) || !S_ISDIR(st.st_mode)) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is no folder that can be opened: name the one that the shards were written to", batch->out);
  girthline_status status = gn_shard_lock_take(&lock, batch, error);
  if (status) return status;
  status = merge_locked(&m, outcome, error);
  gn_shard_lock_release(&lock);
  gn_merge_clear(&m);
  return status;
}
