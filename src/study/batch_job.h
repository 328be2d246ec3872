// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A run in the making: what the threads share, one input's way through, and the tables at the end.
#ifndef GN_STUDY_BATCH_JOB_H
#define GN_STUDY_BATCH_JOB_H

#include <pthread.h>

#include "study/journal.h"

typedef struct gn_batch_job {
  const gn_batch *batch;
  const gn_batch_item **mine;  ///< the inputs of this run or shard, in input order
  gn_journal_entry *entries;   ///< one for each of them
  size_t n;
  const gn_batch_item **by_file; ///< the same inputs in byte order of file
  gn_journal journal;
  pthread_mutex_t lock;        ///< for all that follows, the journal and what the host writes
  pthread_cond_t wake;
  size_t next, n_done, n_kept, n_failed, n_threads;
  girthline_status status;     ///< the first fault that ends the run
  int said;
  girthline_error error;
} gn_batch_job;

/// Analyse input i, or find that its row is kept. Called by many threads. A fault of the input is a row; a fault returned
/// ends the run.
girthline_status gn_batch_job_do(gn_batch_job *job, size_t i, girthline_error *error);

/// Can the entry stand for this input without looking at the file? The file's hash is compared apart.
bool gn_batch_job_keeps(const gn_batch_job *job, size_t i);

/// Write the five files of this run or shard.
girthline_status gn_batch_publish(gn_batch_job *job, gn_batch_outcome *outcome);

/// Last of all: leave what nobody needs out of a journal that has become long. The entries are not good afterwards.
girthline_status gn_batch_compact(gn_batch_job *job);

typedef struct gn_batch_totals { size_t n_inputs, n_rows, n_analysed, n_unusable, n_failed; } gn_batch_totals;

/// batch.json: what was run and how it went; written last, so that its presence says the tables are complete.
void gn_batch_summary(gn_buffer *out, const gn_batch *batch, const gn_batch_totals *totals, const char *settings_hash);

#endif
