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

#endif
