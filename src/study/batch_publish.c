// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The tables, written from the journal in input order.
#include "study/batch_job.h"

#include <errno.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

#include <girthline/girthline.h>
#include <girthline/report.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"
#include "report/writer.h"
#include "study/batch_index.h"
#include "study/shard.h"

#define STAGE "batch"
#define FLUSH_BYTES ((size_t)1 << 20)

// A table being written, and what stopped it.
typedef struct table {
  gn_batch_job *job;
  int which, fd;
  gn_buffer out;
  girthline_status status;
} table;

static int flush(table *t, size_t above) {
  if (t->out.refused) {
    t->status = gn_error_memory(&t->job->error, STAGE);
    return 1;
  }
  if (t->out.n <= above) return 0;
  if (gn_file_put(t->fd, t->out.text, t->out.n)) return -1;
  t->out.n = 0;
  return 0;
}

// Each line of a part, the item's number before it; a report has none.
static void add_lines(table *t, const char *text, size_t number) {
  while (*text) {
    const size_t n = strcspn(text, "\n") + 1;
    if (t->which == GN_TABLE_INDEX) gn_buffer_puts(&t->out, GN_INDEX_ROW_START);
    if (t->which != GN_TABLE_REPORTS) gn_buffer_printf(&t->out, "%zu", number);
    gn_buffer_add(&t->out, text, n);
    text += n;
  }
}

static gn_index_counts count(const gn_batch_job *job) {
  gn_index_counts c = {0};
  for (size_t i = 0; i < job->n; i++) gn_index_count(&c, job->entries[i].status != GIRTHLINE_OK, job->entries[i].grade, job->entries[i].bpm);
  return c;
}

static void add_head(table *t) {
  const gn_index_counts counts = count(t->job);
  if (t->which == GN_TABLE_RECORDINGS) gn_buffer_puts(&t->out, GN_BATCH_ROW_HEADER);
  if (t->which == GN_TABLE_BEATS) gn_buffer_puts(&t->out, GN_BATCH_BEATS_HEADER);
  if (t->which == GN_TABLE_INDEX) gn_index_head(&t->out, &counts);
}

static int fill_table(int fd, void *user) {
  table *t = user;
  gn_batch_job *job = t->job;
  int code = 0;
  t->fd = fd;
  add_head(t);
  for (size_t i = 0; i < job->n && !code; i++) {
    char *text = gn_journal_part(&job->journal, &job->entries[i], t->which, &job->error);
    if (!text) {
      t->status = job->error.status;
      return 1;
    }
    add_lines(t, text, job->mine[i]->number);
    gn_free(text);
    code = flush(t, FLUSH_BYTES);
  }
  if (t->which == GN_TABLE_INDEX) gn_index_foot(&t->out);
  return code ? code : flush(t, 0);
}

static gn_batch_totals totals_of(const gn_batch_job *job) {
  gn_batch_totals t = {.n_inputs = job->batch->inputs->n, .n_rows = job->n};
  for (size_t i = 0; i < job->n; i++) {
    const gn_journal_entry *e = &job->entries[i];
    t.n_failed += e->status != GIRTHLINE_OK;
    t.n_unusable += !e->status && e->grade == GIRTHLINE_UNUSABLE;
    t.n_analysed += !e->status && e->grade != GIRTHLINE_UNUSABLE;
  }
  return t;
}

void gn_batch_summary(gn_buffer *out, const gn_batch *b, const gn_batch_totals *t, const char *settings_hash) {
  gn_writer w = {0};
  gn_writer_open(&w, NULL, '{', false);
  gn_writer_text(&w, "schema", "girthline.batch.v1");
  gn_writer_open(&w, "tool", '{', false);
  gn_writer_text(&w, "name", "girthline");
  gn_writer_text(&w, "version", girthline_version());
  gn_writer_text(&w, "settings_hash", settings_hash);
  gn_writer_close(&w);
  if (b->n_shards) {
    gn_writer_whole(&w, "shard", b->shard);
    gn_writer_whole(&w, "shards", b->n_shards);
  }
  gn_writer_whole(&w, "inputs", (long long)t->n_inputs);
  gn_writer_whole(&w, "rows", (long long)t->n_rows);
  gn_writer_whole(&w, "analysed", (long long)t->n_analysed);
  gn_writer_whole(&w, "unusable", (long long)t->n_unusable);
  gn_writer_whole(&w, "failed", (long long)t->n_failed);
  gn_writer_close(&w);
  if (w.out.refused)
    out->refused = true;
  else
    gn_buffer_add(out, w.out.text, w.out.n);
  gn_buffer_puts(out, "\n");
  gn_buffer_clear(&w.out);
}

// The settings of a set: each row has its own hash, which a list's columns change; this one is over all of them.
static girthline_status hash_settings(const gn_batch_job *job, char out[48]) {
  const gn_batch_inputs *in = job->batch->inputs;
  gn_buffer b = {0};
  for (size_t i = 0; i < in->n; i++) {
    char one[48];
    girthline_settings_hash(&in->items[i].settings, one);
    gn_buffer_puts(&b, one);
  }
  const bool refused = b.refused;
  if (!refused) girthline_content_hash_memory(b.text ? b.text : "", b.n, out);
  gn_buffer_clear(&b);
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

static int fill_summary(int fd, void *user) {
  table *t = user;
  const gn_batch_totals totals = totals_of(t->job);
  char hash[48] = "";
  t->fd = fd;
  if (hash_settings(t->job, hash)) t->out.refused = true;
  gn_batch_summary(&t->out, t->job->batch, &totals, hash);
  return flush(t, 0);
}

static girthline_status publish_one(gn_batch_job *job, int which) {
  const gn_batch *b = job->batch;
  char *path = gn_shard_table(b->out, which, b->shard, b->n_shards);
  table t = {.job = job, .which = which};
  if (!path) return gn_error_memory(&job->error, STAGE);
  girthline_status status = gn_shard_may_replace(b, which, &job->error); // looked at again: it may have come meanwhile
  const int code = status ? 0 : b->host.stream(path, which == GN_TABLE_SUMMARY ? fill_summary : fill_table, &t);
  if (code && !t.status) job->said = code;
  if (code) status = t.status ? t.status : GIRTHLINE_CANNOT_WRITE;
  gn_buffer_clear(&t.out);
  gn_free(path);
  return status;
}

static girthline_status worst_of(const gn_batch_job *job) {
  girthline_status worst = GIRTHLINE_OK;
  for (size_t i = 0; i < job->n; i++)
    if (job->entries[i].status > worst) worst = job->entries[i].status;
  return worst;
}

girthline_status gn_batch_publish(gn_batch_job *job, gn_batch_outcome *outcome) {
  const gn_batch *b = job->batch;
  const gn_batch_totals t = totals_of(job);
  char *summary = gn_shard_table(b->out, GN_TABLE_SUMMARY, b->shard, b->n_shards);
  if (!summary) return gn_error_memory(&job->error, STAGE);
  unlink(summary); // its presence says that the tables belong together
  gn_free(summary);
  girthline_status status = GIRTHLINE_OK;
  for (int which = 0; which < GN_N_TABLES && !status; which++) status = publish_one(job, which);
  outcome->n_rows = t.n_rows;
  outcome->n_analysed = t.n_analysed;
  outcome->n_unusable = t.n_unusable;
  outcome->n_failed = t.n_failed;
  outcome->worst = worst_of(job);
  return status;
}
