// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Outputs: written beside their place and renamed, so that a reader sees the old file or the whole new one. An output
/// never overwrites an input, nor a file this program did not write (unless forced). An existing file of length 0 holds
/// nothing and may be filled.
#ifndef GN_CLI_OUTPUT_H
#define GN_CLI_OUTPUT_H

#include <stdbool.h>
#include <stddef.h>

/// "-": standard output.
bool gn_output_is_stdout(const char *path);

/// Make the folder that outputs were asked for in where there is none; NULL: nothing was asked for. 0 or the exit code.
int gn_output_folder(const char *folder);

/// May `path` be written? Looks at the folder and at what stands there now; says why not. 0 or the exit code.
int gn_output_check(const char *path, const char *const *inputs, size_t n_inputs, bool force);

/// Do two outputs name one file: by the same name, by two ways to it, or by two links?
bool gn_output_is_same(const char *a, const char *b);

/// Sound is written as WAV. Does the name's ending say another form of sound or film, whose bytes a reader would then expect?
bool gn_output_says_other_sound(const char *path);

/// Write and rename ("-": standard output). 0 or the exit code; on a fault nothing half-written stays.
int gn_output_write(const char *path, const void *data, size_t n_bytes);

/// Writes an output piece by piece to a descriptor: 0, -1 with errno set where writing failed, or an exit code it has said.
typedef int (*gn_fill)(int fd, void *user);

int gn_output_stream(const char *path, gn_fill fill, void *user);

/// Remove what runs that were killed left half-written in a folder: the temporaries of processes that are no more. To be
/// called only where no other machine can be writing.
void gn_output_sweep(const char *folder);

/// Was the file written by this program? Told from its content.
bool gn_output_is_ours(const char *path);

#endif
