// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Words to the person at the terminal, and the exit codes.
#ifndef GN_CLI_SAY_H
#define GN_CLI_SAY_H

#include <stddef.h>

#include <girthline/status.h>

/// Exit codes. With several inputs the worst one counts; the order of badness is the order of the numbers, since each
/// higher one leaves less behind: a report that says "unusable" (1), nothing analysed because of the command line (2) or
/// the input (3), work done and lost (4), a fault nobody can name a file for (5).
enum { GN_EXIT_DONE = 0, GN_EXIT_UNUSABLE = 1, GN_EXIT_USAGE = 2, GN_EXIT_INPUT = 3, GN_EXIT_OUTPUT = 4, GN_EXIT_OTHER = 5, GN_EXIT_INTERRUPTED = 130 };

/// "girthline: " and one sentence on standard error. Characters that act on a terminal become '?'.
void gn_cli_say(const char *format, ...) __attribute__((format(printf, 1, 2)));

/// The same, and where to read on: "; see girthline report --help". Returns GN_EXIT_USAGE.
int gn_cli_usage(const char *command, const char *format, ...) __attribute__((format(printf, 2, 3)));

int gn_cli_no_memory(void); ///< says that memory was refused; GN_EXIT_OTHER

/// Say an error and give its exit code.
int gn_cli_fail(const girthline_error *error);

int gn_cli_exit_of(girthline_status status);

/// The name nearest to a word (one edit in three letters at most); NULL when none is near.
const char *gn_cli_nearest(const char *word, const char *const *names, size_t n_names);

#endif
