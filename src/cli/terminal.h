// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What standard output can show.
#ifndef GN_CLI_TERMINAL_H
#define GN_CLI_TERMINAL_H

#include <stdbool.h>

/// Columns for text on standard output, 40 to 100: COLUMNS where it says a number, else the terminal's, else 80.
int gn_terminal_width(void);

/// Colour: on a terminal that is not "dumb", and never where NO_COLOR says something.
bool gn_terminal_colour(void);

/// Standard output is a terminal that shows other signs than those of UTF-8, as far as the locale tells: no "UTF-8" in the first of LC_ALL, LC_CTYPE and
/// LANG that says something.
bool gn_terminal_is_plain(void);

/// Standard error is a terminal on which a line can be written over.
bool gn_terminal_redraws(void);

#endif
