// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Options from one table: what is parsed and what --help prints cannot differ. Options and files may be mixed (whatever
/// POSIXLY_CORRECT says), "--" ends the options, "-" is a file, and a long option is never abbreviated.
#ifndef GN_CLI_OPTIONS_H
#define GN_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

typedef struct gn_option {
  int id;            ///< 256 or above: getopt_long keeps the values of characters, and 1, for itself
  const char *name;  ///< without the dashes; "": no option, but a heading for those after it
  const char *value; ///< what its value is called in the help ("SECONDS"); NULL: takes none. One called DIR, FILE, OTHER, OUT. or PATH
                     ///< names a file or folder: "-" may stand for it, but nothing else that begins with a dash
  const char *help;
} gn_option;

#define GN_OPTIONS_MOST 48
enum { GN_OPTION_END = -1, GN_OPTION_FAULT = -2, GN_OPTION_FILE = -3 };

/// The next option's id with its value in *value, GN_OPTION_FILE with a file's name, GN_OPTION_END, or GN_OPTION_FAULT
/// (said on standard error). argv[0] is the command's name. One command line at a time (getopt_long keeps its place in
/// globals); gn_options_start first.
void gn_options_start(void);
int gn_options_next(int argc, char **argv, const gn_option *table, size_t n_table, const char **value);

/// Hand each option, and each file as GN_OPTION_FILE, to `take` until one is refused or *done is set. 0, or an exit code. One command
/// line at a time.
typedef int (*gn_option_taker)(void *user, int id, const char *value);
int gn_options_each(int argc, char **argv, const gn_option *table, size_t n_table, gn_option_taker take, void *user, const bool *done);

/// On standard output, as wide as gn_terminal_width: the table, and lines of words, which are broken where they are too long
/// (a usage line goes on further in).
void gn_options_help(const gn_option *table, size_t n_table);
void gn_options_words(const char *lines);

/// A number in the C locale's form: "12", "-0.5", "1e3". On a fault says so ("--from 1,5: ...") and returns false.
bool gn_options_number(const char *command, const char *option, const char *text, double least, double *out);

#endif
