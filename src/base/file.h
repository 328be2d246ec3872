// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Opening what is read as a text (a plain file, and nothing that could be waited for), handing bytes on, telling two files apart, and writing all of something.
#ifndef GN_BASE_FILE_H
#define GN_BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/// Open a plain file for reading. NULL: *why says why not (a constant text). A pipe without a writer is not waited for: it,
/// a socket, a device and a folder are refused.
FILE *gn_file_open(const char *path, const char **why);

/// Somebody who takes bytes as they are read.
typedef struct gn_file_taker {
  void (*take)(void *user, const void *bytes, size_t n);
  void *user;
} gn_file_taker;

/// Does the name end in a dot and one of so many endings, in any case?
bool gn_file_ends_in(const char *name, const char *const *endings, size_t n_endings);

/// Are both there, and one plain file, by whatever names or links? A device is none: what is written to it overwrites nothing.
bool gn_file_is_same(const char *a, const char *b);
#define GN_FILE_IS_INPUT "%s is an input and is not overwritten: name another output" ///< what is said where an output is

/// Every byte to a descriptor. 0, or -1 with errno set.
int gn_file_put(int fd, const void *bytes, size_t n);

#endif
