// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The file of --settings: the method's limits, INI text in UTF-8, written by hand.
///
/// A line is empty, a comment (# or ; as its first character), [section], or "name = number" (":" does as well); behind the
/// number " #" or " ;" begins a comment. Sections and names are those of girthline/limits.h; what is not named keeps its usual
/// value. Nothing may stand twice.
#ifndef GN_CLI_SETTINGS_FILE_H
#define GN_CLI_SETTINGS_FILE_H

#include <girthline/limits.h>
#include <girthline/status.h>

/// Read it into *limits, which starts with the usual values. GIRTHLINE_BAD_HAND_FILE names the line and what to do.
girthline_status gn_settings_file_read(const char *path, girthline_limits *limits, girthline_error *error);

/// For a command's --settings: reads into *store and sets *to to it; 0 or the exit code, said.
int gn_settings_file_take(const char *command, const char *path, girthline_limits *store, const girthline_limits **to);

/// Print a commented file with every name and its usual value; read back it changes nothing.
void gn_settings_file_template(void);

#endif
