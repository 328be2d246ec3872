// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Inputs: a regular file is read by its path; standard input or a named pipe is read once, into memory. A pipe into which
/// nobody writes for three seconds, a device and a socket are refused.
#ifndef GN_CLI_INPUT_H
#define GN_CLI_INPUT_H

#include <stddef.h>

#include <girthline/status.h>

/// What cannot be read by its path is held in memory up to here: half a gibibyte, 100 minutes of 16-bit stereo at 22 kHz.
#define GN_INPUT_MOST_MIB 512

typedef struct gn_input {
  const char *name; ///< as given; "stdin" for "-"
  const char *path; ///< NULL where data holds the bytes
  void *data;
  size_t n_bytes;
} gn_input;

girthline_status gn_input_open(const char *name, gn_input *input, girthline_error *error);
void gn_input_close(gn_input *input);

/// A whole text file ("-": standard input) of at most most_bytes, ended by a zero; the caller frees it with gn_free.
girthline_status gn_input_text(const char *path, size_t most_bytes, char **text, size_t *n_bytes, girthline_error *error);

#endif
