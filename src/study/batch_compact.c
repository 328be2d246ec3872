// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A journal only grows; where more than half of it is rows that newer ones stand for, it is written anew.
#include "study/batch_job.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"

#define STAGE "batch"
#define WORTH_BYTES ((off_t)1 << 20) // below this nothing is gained

static off_t live_bytes(const gn_batch_job *job) {
  off_t n = 0;
  for (size_t i = 0; i < job->n; i++)
    for (int k = 0; k < GN_N_PARTS; k++) n += (off_t)job->entries[i].part_n[k];
  return n;
}

static girthline_status copy_row(gn_batch_job *job, size_t i, gn_journal *to) {
  const gn_journal_entry *e = &job->entries[i];
  gn_batch_row row = {.status = e->status, .grade = e->grade, .bpm = e->bpm};
  gn_journal_entry moved;
  girthline_status status = GIRTHLINE_OK;
  memcpy(row.content_hash, e->content_hash, sizeof row.content_hash);
  memcpy(row.page, e->page, sizeof row.page);
  for (int k = 0; k < GN_N_PARTS && !status; k++) {
    char *text = gn_journal_part(&job->journal, e, k, &job->error);
    if (text)
      row.part[k] = (gn_buffer){.text = text, .n = e->part_n[k], .capacity = e->part_n[k] + 1};
    else
      status = job->error.status;
  }
  if (!status) status = gn_journal_append(to, job->mine[i]->file, e->key, &row, &moved, &job->error);
  gn_batch_row_clear(&row);
  return status;
}

static girthline_status hear_nothing(void *user, const char *file, const gn_journal_entry *entry) {
  (void)user;
  (void)file;
  (void)entry;
  return GIRTHLINE_OK;
}

static girthline_status cannot_replace(gn_batch_job *job) {
  return gn_error_set(&job->error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s cannot be replaced: %s", job->journal.path, strerror(errno));
}

girthline_status gn_batch_compact(gn_batch_job *job) {
  if (job->journal.end < WORTH_BYTES || job->journal.end < 2 * live_bytes(job)) return GIRTHLINE_OK;
  char *path = gn_strprintf("%s.new", job->journal.path);
  if (!path) return gn_error_memory(&job->error, STAGE);
  gn_journal fresh;
  girthline_status status = gn_journal_open(&fresh, path, true, hear_nothing, NULL, &job->error);
  for (size_t i = 0; i < job->n && !status; i++) status = copy_row(job, i, &fresh);
  if (!status && (fsync(fresh.fd) || rename(path, job->journal.path))) status = cannot_replace(job);
  if (status) unlink(path);
  gn_journal_close(&fresh);
  gn_free(path);
  return status;
}
