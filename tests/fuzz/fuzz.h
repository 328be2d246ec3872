// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the fuzz targets share. A target is one function over the bytes of one file: libFuzzer calls it with bytes of its own making
/// (run.py), replay.c with the files under corpus/, in every test run. It must hold whatever the bytes are: no crash, no leak, no
/// hang, and every failure with a sentence.
#ifndef TESTS_FUZZ_H
#define TESTS_FUZZ_H

#include <stddef.h>
#include <stdint.h>

#include <girthline/status.h>

__attribute__((visibility("default"))) int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

/// Ends the program, saying what does not hold; kept with assertions off.
#define FUZZ_HOLDS(condition) ((condition) ? (void)0 : fuzz_broken(#condition, __FILE__, __LINE__))
_Noreturn void fuzz_broken(const char *condition, const char *file, int line);

/// A failure has its status and a sentence of one line without bytes that act on a terminal; success has neither.
void fuzz_check_error(girthline_status status, const girthline_error *error);

/// The bytes as a file that is read by its path; gone with fuzz_file_close.
typedef struct fuzz_file {
  int fd;
  char path[40];
} fuzz_file;
fuzz_file fuzz_file_of(const void *data, size_t n);
void fuzz_file_close(fuzz_file *file);

/// The path of a file called `name` in a folder of this process' own, made on the first call and removed at its end.
const char *fuzz_place(const char *name);
void fuzz_write(const char *path, const void *data, size_t n);

/// JSON this program wrote: one document, without NaN. The text may be NULL only with an error.
void fuzz_check_json(const char *text);

/// A recording of three seconds in which beats are found, analysed fast.
const uint8_t *fuzz_bursts(size_t *n);

#endif
