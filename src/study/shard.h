// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Which recordings a shard takes, what its files are called, and who may work in the folder.
#ifndef GN_STUDY_SHARD_H
#define GN_STUDY_SHARD_H

#include "study/batch.h"

enum { GN_TABLE_RECORDINGS = 0, GN_TABLE_BEATS, GN_TABLE_REPORTS, GN_TABLE_INDEX, GN_TABLE_SUMMARY, GN_N_TABLES };

/// "DIR/recordings.csv", or "DIR/recordings.2-of-5.csv" for a shard (0 of 0: none). Fresh memory; NULL when refused.
char *gn_shard_table(const char *folder, int table, unsigned shard, unsigned n_shards);

/// The same for the journal and the lock, which are hidden.
char *gn_shard_hidden(const char *folder, const char *ending, unsigned shard, unsigned n_shards);

/// By a hash of the name alone, so that a recording stays in its shard when others come or go.
bool gn_shard_takes(const gn_batch *batch, const char *file);

/// Held while a run works in the folder: one whole run or merge, or any number of different shards.
typedef struct gn_shard_lock { int whole_fd, own_fd; } gn_shard_lock;
girthline_status gn_shard_lock_take(gn_shard_lock *lock, const gn_batch *batch, girthline_error *error);
void gn_shard_lock_release(gn_shard_lock *lock);

/// A table of this program, an empty file, or none: it may be replaced. Else GIRTHLINE_CANNOT_WRITE.
girthline_status gn_shard_may_replace(const gn_batch *batch, int table, girthline_error *error);

#endif
