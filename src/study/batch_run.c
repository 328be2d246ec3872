// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/batch.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "base/error.h"
#include "base/memory.h"
#include "study/batch_job.h"
#include "study/shard.h"

#define STAGE "batch"
#define PROGRESS_NS 500000000L // twice a second

static int by_file(const void *a, const void *b) { return strcmp((*(const gn_batch_item *const *)a)->file, (*(const gn_batch_item *const *)b)->file); }

static girthline_status choose_items(gn_batch_job *job, girthline_error *error) {
  const gn_batch_inputs *in = job->batch->inputs;
  job->mine = gn_new(in->n, sizeof *job->mine);
  job->by_file = gn_new(in->n, sizeof *job->by_file);
  if (!job->mine || !job->by_file) return gn_error_memory(error, STAGE);
  for (size_t i = 0; i < in->n; i++)
    if (gn_shard_takes(job->batch, in->items[i].file)) job->mine[job->n++] = &in->items[i];
  job->entries = gn_new(job->n, sizeof *job->entries);
  if (!job->entries) return gn_error_memory(error, STAGE);
  memcpy(job->by_file, job->mine, job->n * sizeof *job->mine);
  qsort(job->by_file, job->n, sizeof *job->by_file, by_file);
  return GIRTHLINE_OK;
}

static size_t place_of(const gn_batch_job *job, const gn_batch_item *item) {
  size_t from = 0, to = job->n; // mine is in rising number
  while (to - from > 1) {
    const size_t middle = from + (to - from) / 2;
    if (job->mine[middle]->number <= item->number)
      from = middle;
    else
      to = middle;
  }
  return from;
}

// A later record of the same file stands for it.
static girthline_status take_record(void *user, const char *file, const gn_journal_entry *entry) {
  gn_batch_job *job = user;
  const gn_batch_item sought = {.file = (char *)(uintptr_t)file}, *key = &sought;
  const gn_batch_item *const *found = bsearch(&key, job->by_file, job->n, sizeof *job->by_file, by_file);
  if (found) job->entries[place_of(job, *found)] = *entry;
  return GIRTHLINE_OK;
}

static void *work(void *user) {
  gn_batch_job *job = user;
  for (;;) {
    pthread_mutex_lock(&job->lock);
    const size_t i = job->next;
    const bool more = !job->status && i < job->n;
    if (more) job->next++;
    pthread_mutex_unlock(&job->lock);
    if (!more) break;
    girthline_error error = {0};
    const girthline_status status = gn_batch_job_do(job, i, &error);
    pthread_mutex_lock(&job->lock);
    if (status && !job->status) {
      job->status = status;
      job->error = error;
    }
    pthread_mutex_unlock(&job->lock);
  }
  pthread_mutex_lock(&job->lock);
  job->n_threads--;
  pthread_cond_signal(&job->wake);
  pthread_mutex_unlock(&job->lock);
  return NULL;
}

static void tell(gn_batch_job *job) {
  const gn_batch_progress p = {job->n_done, job->n_kept, job->n_failed, job->n};
  if (job->batch->host.progress) job->batch->host.progress(job->batch->host.user, &p);
}

// Until the last thread has ended; the lock is held.
static void wait_for_threads(gn_batch_job *job) {
  while (job->n_threads) {
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_nsec += PROGRESS_NS;
    until.tv_sec += until.tv_nsec / 1000000000L;
    until.tv_nsec %= 1000000000L;
    pthread_cond_timedwait(&job->wake, &job->lock, &until);
    tell(job);
  }
}

static girthline_status run_threads(gn_batch_job *job, girthline_error *error) {
  const size_t n = job->batch->jobs < job->n ? job->batch->jobs : job->n;
  pthread_t *threads = gn_new(n, sizeof *threads);
  if (!threads) return gn_error_memory(error, STAGE);
  size_t started = 0;
  pthread_mutex_lock(&job->lock);
  while (started < n && !pthread_create(&threads[started], NULL, work, job)) started++;
  job->n_threads = started;
  if (started < n && !started)
    job->status = gn_error_set(&job->error, GIRTHLINE_NO_MEMORY, STAGE, "no thread can be started: %s", "close other programs and try again");
  wait_for_threads(job);
  pthread_mutex_unlock(&job->lock);
  for (size_t i = 0; i < started; i++) pthread_join(threads[i], NULL);
  gn_free(threads);
  if (job->status && error) *error = job->error;
  return job->status;
}

static girthline_status make_pages_folder(const gn_batch *b, girthline_error *error) {
  char *path = b->reports ? gn_strprintf("%s/pages", b->out) : NULL;
  girthline_status status = GIRTHLINE_OK;
  if (b->reports && !path) return gn_error_memory(error, STAGE);
  struct stat st;
  if (path && mkdir(path, 0777) && errno != EEXIST)
    status = gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "the folder %s cannot be made: %s", path, strerror(errno));
  else if (path && (lstat(path, &st) || !S_ISDIR(st.st_mode))) // what a link there names was not asked for
    status = gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s is no folder of its own: name another folder for the tables", path);
  gn_free(path);
  return status;
}

static girthline_status check_tables(const gn_batch *b, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (int t = 0; t < GN_N_TABLES && !status; t++) status = gn_shard_may_replace(b, t, error);
  return status;
}

// With the folder to itself alone: another machine's shard may be at work otherwise.
static girthline_status sweep(const gn_batch *b, girthline_error *error) {
  if (b->n_shards || !b->host.sweep) return GIRTHLINE_OK;
  char *pages = gn_strprintf("%s/pages", b->out);
  if (!pages) return gn_error_memory(error, STAGE);
  b->host.sweep(b->out);
  b->host.sweep(pages);
  gn_free(pages);
  return GIRTHLINE_OK;
}

static girthline_status run_locked(gn_batch_job *job, gn_batch_outcome *outcome, girthline_error *error) {
  const gn_batch *b = job->batch;
  char *path = gn_shard_hidden(b->out, "journal", b->shard, b->n_shards);
  girthline_status status = path ? check_tables(b, error) : gn_error_memory(error, STAGE);
  if (!status) status = sweep(b, error);
  if (!status) status = make_pages_folder(b, error);
  if (!status) status = choose_items(job, error);
  if (!status) status = gn_journal_open(&job->journal, path, b->fresh, take_record, job, error);
  if (!status) status = run_threads(job, error);
  if (!status) status = gn_batch_publish(job, outcome);
  if (!status) gn_batch_compact(job); // the tables stand: a journal that stays long is no fault
  if (status && error && !error->text[0]) *error = job->error;
  outcome->said = job->said;
  outcome->n_kept = job->n_kept;
  gn_journal_close(&job->journal);
  gn_free(path);
  return status;
}

girthline_status gn_batch_run(const gn_batch *batch, gn_batch_outcome *outcome, girthline_error *error) {
  gn_batch_job job = {.batch = batch, .lock = PTHREAD_MUTEX_INITIALIZER, .wake = PTHREAD_COND_INITIALIZER, .journal = {.fd = -1}};
  gn_shard_lock lock;
  *outcome = (gn_batch_outcome){0};
  girthline_status status = gn_shard_lock_take(&lock, batch, error);
  if (status) return status;
  status = run_locked(&job, outcome, error);
  gn_shard_lock_release(&lock);
  gn_free(job.mine);
  gn_free(job.by_file);
  gn_free(job.entries);
  return status;
}
