// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What a batch says while it works, and when it is interrupted.
#ifndef GN_CLI_BATCH_PROGRESS_H
#define GN_CLI_BATCH_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

#include "study/batch.h"

typedef struct gn_telling {
  const char *out;          ///< the folder
  bool quiet, fresh;
  bool redraws;             ///< on a terminal: one line, written over as often as there is news; else a line a minute
  double started_s, last_s; ///< of any clock that only goes on
} gn_telling;

gn_telling gn_telling_start(const char *out, bool quiet, bool fresh); ///< at the time of the call

/// Is a line due at now_s? Then `line` holds it, and the next one is due later.
bool gn_telling_line(gn_telling *telling, double now_s, const gn_batch_progress *progress, char *line, size_t room);

/// How far it came, and how to go on.
void gn_telling_interrupted(const gn_telling *telling, const gn_batch_progress *progress, char *line, size_t room);

/// For gn_batch_host.progress, with the gn_telling as its user: says what is due; after a signal that was noted says how far it came and ends
/// the program. That is safe there: whoever calls holds the lock under which rows are kept and files are written.
void gn_telling_progress(void *user, const gn_batch_progress *progress);

void gn_telling_end(const gn_telling *telling); ///< leaves no unfinished line on a terminal; signals act as usual again

#endif
