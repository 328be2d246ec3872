// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// One status for every entry point, and an error object that carries the place.
#ifndef GIRTHLINE_STATUS_H
#define GIRTHLINE_STATUS_H

#include <girthline/api.h>

GIRTHLINE_API_BEGIN

/// Outcome of a call. A recording too noisy to read is a result, never an error.
typedef enum girthline_status {
  GIRTHLINE_OK = 0,
  GIRTHLINE_BAD_ARGUMENT,  ///< the caller's arguments contradict each other or are out of range
  GIRTHLINE_BAD_HAND_FILE, ///< a file written by hand (examination, settings, list, annotation) has a fault
  GIRTHLINE_CANNOT_READ,   ///< an input is missing or may not be read
  GIRTHLINE_NOT_AUDIO,     ///< an input is not audio that can be read
  GIRTHLINE_CANNOT_WRITE,  ///< an output could not be written
  GIRTHLINE_LIMIT,         ///< a stated limit was passed (length, channels, size)
  GIRTHLINE_NO_MEMORY,     ///< memory was refused
  GIRTHLINE_INTERRUPTED,   ///< stopped on request
  GIRTHLINE_INTERNAL,      ///< a fault of this library
  GIRTHLINE_REFUSED        ///< a history cannot serve: unknown visit, ambiguous animal, locked, damaged, foreign or newer file
} girthline_status;

/// What went wrong and where. The first error wins: a filled object is not overwritten.
typedef struct girthline_error {
  girthline_status status;
  char stage[24];  ///< the stage that failed ("audio", "segment", ...)
  char text[1000]; ///< one sentence: the file, the place, the remedy; UTF-8, no newline
} girthline_error;

/// One English sentence for a status. Never NULL.
const char *girthline_status_text(girthline_status status);

GIRTHLINE_API_END
#endif
