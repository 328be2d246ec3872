// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Finished inputs, kept in one file that only grows: each record is written in one piece and carries its own hash, so that
/// whatever moment a run is killed at, all whole records before it are read again and a torn one is cut off.
#ifndef GN_STUDY_JOURNAL_H
#define GN_STUDY_JOURNAL_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/types.h>

#include "study/batch_row.h"

/// Where a record's pieces lie.
typedef struct gn_journal_entry {
  off_t at;                      ///< of the first piece; 0: no entry
  size_t part_n[GN_N_PARTS];     ///< bytes of each piece, one behind the other
  girthline_status status;
  girthline_grade grade;
  double bpm;
  bool has_page;
  char key[48];                  ///< what the row depends on besides the file's bytes
  char content_hash[48];
  char page[96];
} gn_journal_entry;

typedef struct gn_journal {
  int fd;
  const char *path; ///< lives as long as the journal
  off_t end;
} gn_journal;

/// Called for each whole record, oldest first; file ends with a zero.
typedef girthline_status (*gn_journal_listener)(void *user, const char *file, const gn_journal_entry *entry);

/// Open or make the file, read its whole records, cut off what follows them. `fresh` begins anew.
girthline_status gn_journal_open(gn_journal *journal, const char *path, bool fresh, gn_journal_listener listener, void *user, girthline_error *error);
void gn_journal_close(gn_journal *journal);

/// Append one record; on GIRTHLINE_CANNOT_WRITE nothing of it stays. One caller at a time.
girthline_status gn_journal_append(gn_journal *journal, const char *file, const char *key, const gn_batch_row *row, gn_journal_entry *entry,
                                   girthline_error *error);

/// A piece of a record, in fresh memory ended by a zero (gn_free); NULL on failure.
char *gn_journal_part(const gn_journal *journal, const gn_journal_entry *entry, int part, girthline_error *error);

#endif
