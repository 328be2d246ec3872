// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// On an interrupt (Ctrl-C) the program ends at once with code 130 and leaves no temporary file behind.
#ifndef GN_CLI_INTERRUPT_H
#define GN_CLI_INTERRUPT_H

#include <stdbool.h>

void gn_interrupt_install(void);

/// Create a file that must not exist yet and remember it as the temporary to remove; one at a time. Returns the
/// descriptor, or -1 with errno set.
int gn_interrupt_create(const char *path);

/// The temporary was renamed or removed.
void gn_interrupt_forget(void);

/// From now on the first signal (an interrupt, SIGTERM, SIGHUP) is noted alone, for a command that ends in order; the second ends the program
/// as without this.
void gn_interrupt_defer(bool defer);
int gn_interrupt_noted(void); ///< its number; 0: none

/// End the program as that signal ends it, at once: 130 after an interrupt.
_Noreturn void gn_interrupt_end(int number);

/// What is said on standard error when a signal ends the program: a constant with its newline; NULL: nothing.
void gn_interrupt_say(const char *words);

#endif
