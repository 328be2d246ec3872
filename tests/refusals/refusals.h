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

/// Let SQLite ask this program's own seam for memory, and the tests for its writes.
void refusals_take_seams(void);

/// Refuse the k-th writing call from now (write, pwrite, ftruncate, fsync, rename, an open
/// that creates); a refused write has put half of its bytes. Returns what was left of the number before.
size_t refusals_refuse_call(size_t k);

#endif
