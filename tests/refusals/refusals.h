// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Each command run whole in this process, while memory, a call that writes, or room on the disk is refused to it.
#ifndef TESTS_REFUSALS_H
#define TESTS_REFUSALS_H

#include <stdbool.h>
#include <stddef.h>

/// The program's own main, by another name.
int girthline_main(int argc, char **argv);

#define REFUSALS_ARGS 24

/// A command line, the files it finds in out/ (a folder to copy there, or NULL), and how its outputs are to be judged.
typedef struct refusals_command {
  const char *name;
  const char *argv[REFUSALS_ARGS]; ///< without the program's name; outputs go to out/
  const char *before;              ///< folder
  bool resumes;                    ///< a batch: a row may say that it failed, and the same command again completes it
  bool history;                    ///< out/v.db is a visit history: whole, and as before or as after
} refusals_command;

extern const refusals_command REFUSALS_COMMANDS[];
extern const size_t REFUSALS_N_COMMANDS;

/// Make the inputs of every command in the current folder.
void refusals_make_inputs(void);

/// What a run gave.
typedef struct refusals_run {
  int code;
  char *out, *err; ///< what it printed
} refusals_run;

refusals_run refusals_do(const char *const *argv);
void refusals_run_clear(refusals_run *run);

/// Pipes that catch what a copy of this process prints: made before it is forked, taken in the copy, closed in the first process,
/// which can show what the copy printed. Only while a command runs.
typedef struct refusals_streams { int ends[3][2]; } refusals_streams;
void refusals_streams_begin(refusals_streams *streams);
void refusals_streams_take(const refusals_streams *streams);
void refusals_streams_end(refusals_streams *streams, bool show);

/// Run the command once and at each of its requests for memory end a copy of it in which that request is refused, with
/// `and_all_after` every later one too. `judge` looks at what the copy gave and returns its faults; what it keeps in memory is a fault. Returns the
/// copies with faults. For commands whose files are locked by no process.
typedef size_t (*refusals_judge)(size_t k, const refusals_run *run);
size_t refusals_branch(const char *const *argv, bool and_all_after, refusals_judge judge, size_t *n_requests);

/// While true, a thread of the command is run by the one that waits for it: a copy of the process has but one.
void refusals_one_thread(bool one);

/// Let SQLite ask this program's own seam for memory, and the tests for its writes.
void refusals_take_seams(void);

/// Refuse the k-th writing call from now (write, pwrite, ftruncate, fsync, rename, an open
/// that creates); a refused write has put half of its bytes. Returns what was left of the number before.
size_t refusals_refuse_call(size_t k);

#endif
