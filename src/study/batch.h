// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A whole recording set: from folders and lists to tables, an index page and reports. Finished recordings are kept in a
/// journal in the output folder, so that a run that was stopped goes on where it was; the tables are written from it, in
/// input order, when all are done.
#ifndef GN_STUDY_BATCH_H
#define GN_STUDY_BATCH_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/settings.h>
#include <girthline/status.h>

/// One input: a row of the table, whatever becomes of it.
typedef struct gn_batch_item {
  char *file;     ///< its name in the tables: relative to the folder or list it came from
  char *path;     ///< where it is read
  char *animal;   ///< from a list; NULL
  char *failure;  ///< why it cannot be analysed, known before trying; NULL
  size_t line;    ///< in its list; 0: not from one
  size_t number;  ///< from 1, in input order
  girthline_settings settings;
} gn_batch_item;

typedef struct gn_batch_inputs {
  gn_batch_item *items;
  size_t n, capacity;
  size_t n_unread; ///< found in folders and left out: sound of a form, as telephones write it, that is not read
} gn_batch_inputs;

/// Folders are walked (names in byte order; hidden and "._" files left out; no folder twice, so that links in circles
/// end), a name in .csv is a list, anything else a recording. With one folder its files are named relative to it, with several
/// INPUTs with the INPUT before. GIRTHLINE_CANNOT_READ: an INPUT is missing; GIRTHLINE_BAD_HAND_FILE: a list has a fault;
/// GIRTHLINE_BAD_ARGUMENT: one name twice. Call gn_batch_inputs_clear in any case.
girthline_status gn_batch_inputs_collect(gn_batch_inputs *inputs, const char *const *names, size_t n_names, const girthline_settings *settings,
                                         girthline_error *error);
void gn_batch_inputs_clear(gn_batch_inputs *inputs);

/// Append an item; takes over the three texts. animal and failure may be NULL. LIMIT beyond GN_BATCH_INPUTS_MOST.
girthline_status gn_batch_inputs_add(gn_batch_inputs *inputs, gn_batch_item item, girthline_error *error);
girthline_status gn_batch_list_read(gn_batch_inputs *inputs, const char *path, const girthline_settings *settings, girthline_error *error);
girthline_status gn_batch_walk(gn_batch_inputs *inputs, const char *folder, const char *prefix, const girthline_settings *settings,
                               girthline_error *error);
bool gn_batch_is_recording_name(const char *name); ///< ends as the names of libsndfile's forms do
bool gn_batch_is_unread_name(const char *name); ///< sound of a form that is not read, as telephones write it

typedef struct gn_batch_progress { size_t n_done, n_kept, n_failed, n_all; } gn_batch_progress;

/// What the program lends: the library itself writes no finished file and says nothing.
typedef struct gn_batch_host {
  /// Write a file beside its place and rename it; says a fault itself. 0 or an exit code.
  int (*stream)(const char *path, int (*fill)(int fd, void *user), void *user);
  bool (*is_ours)(const char *path); ///< a page or JSON report of this program
  void (*sweep)(const char *folder); ///< remove what a killed run left half-written there; NULL: nothing
  void (*progress)(void *user, const gn_batch_progress *progress); ///< about twice a second, from the calling thread; NULL: none
  void *user;
} gn_batch_host;

typedef struct gn_batch {
  const gn_batch_inputs *inputs;
  const char *out;           ///< folder; exists
  unsigned jobs;             ///< threads, >= 1
  unsigned shard, n_shards;  ///< 1..n_shards; 0 of 0: all
  bool fresh, reports, no_sound;
  gn_batch_host host;
} gn_batch;

#define GN_BATCH_JOBS_MOST 256
#define GN_BATCH_INPUTS_MOST 1000000 ///< recordings of one run: some 300 bytes each
#define GN_BATCH_SHARDS_MOST 10000

/// What came of it. worst: the worst row, as a status, GIRTHLINE_OK when all were analysed.
typedef struct gn_batch_outcome {
  size_t n_rows, n_analysed, n_unusable, n_failed, n_kept;
  girthline_status worst;
  int said; ///< an exit code the host has said; 0: the error object says what went wrong
} gn_batch_outcome;

/// GIRTHLINE_LIMIT with an error text: the folder is in use, or holds what this program did not write (CANNOT_WRITE).
girthline_status gn_batch_run(const gn_batch *batch, gn_batch_outcome *outcome, girthline_error *error);

/// Join the complete shards in a folder. GIRTHLINE_INTERNAL: one is missing or they do not belong together.
girthline_status gn_batch_merge(const gn_batch *batch, gn_batch_outcome *outcome, girthline_error *error);

#endif
