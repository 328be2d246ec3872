// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Where the lines of each row lie in the tables of the shards.
#ifndef GN_STUDY_MERGE_H
#define GN_STUDY_MERGE_H

#include <sys/types.h>

#include "study/batch_index.h"
#include "study/batch_job.h"

typedef struct gn_merge_place { off_t at; size_t n_bytes; } gn_merge_place;

typedef struct gn_merge_row {
  unsigned shard; ///< 0: not met yet
  gn_merge_place place[GN_N_PARTS];
} gn_merge_row;

typedef struct gn_merge {
  const gn_batch *batch;
  unsigned n_shards;
  gn_batch_totals totals;
  char version[40], settings_hash[48];
  gn_merge_row *rows; ///< by number, from 0
  gn_index_counts counts;
  int fd;             ///< the table read last
  unsigned open_shard;
  int open_which;
} gn_merge;

/// Read every shard's tables through. A table that does not fit the others is GIRTHLINE_INTERNAL.
girthline_status gn_merge_look_up(gn_merge *merge, girthline_error *error);

/// The lines of row i of a table, in fresh memory.
girthline_status gn_merge_lines(gn_merge *merge, int which, size_t i, char **text, size_t *n_bytes, girthline_error *error);

void gn_merge_clear(gn_merge *merge);

#endif
