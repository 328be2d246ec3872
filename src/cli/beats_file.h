// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Sounds given by hand: CSV with the header `time_s,sound`, one sound a line, in time order; sounds are S1 to S4.
#ifndef GN_CLI_BEATS_FILE_H
#define GN_CLI_BEATS_FILE_H

#include <stddef.h>

#include <girthline/settings.h>
#include <girthline/status.h>

/// On GIRTHLINE_OK the caller frees *sounds with gn_free. A fault names the file and the line (GIRTHLINE_BAD_HAND_FILE).
girthline_status gn_beats_file_read(const char *path, girthline_given_sound **sounds, size_t *n_sounds, girthline_error *error);

#endif
