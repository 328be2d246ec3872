// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/error.h"

#include <stdarg.h>
#include <stdio.h>

girthline_status gn_error_set(girthline_error *error, girthline_status status, const char *stage, const char *format, ...) {
  if (!error || error->status != GIRTHLINE_OK) return status;
  error->status = status;
  snprintf(error->stage, sizeof error->stage, "%s", stage);
  va_list args;
  va_start(args, format);
  vsnprintf(error->text, sizeof error->text, format, args);
  va_end(args);
  for (char *c = error->text; *c; c++)
    if ((unsigned char)*c < 0x20 || *c == 0x7f) *c = '?';
  return status;
}

const char *girthline_status_text(girthline_status status) {
  switch (status) {
  case GIRTHLINE_OK: return "done";
  case GIRTHLINE_BAD_ARGUMENT: return "the arguments are wrong";
  case GIRTHLINE_BAD_HAND_FILE: return "a file written by hand has a fault";
  case GIRTHLINE_CANNOT_READ: return "an input could not be read";
  case GIRTHLINE_NOT_AUDIO: return "an input is not audio that can be read";
  case GIRTHLINE_CANNOT_WRITE: return "an output could not be written";
  case GIRTHLINE_LIMIT: return "a stated limit was passed";
  case GIRTHLINE_NO_MEMORY: return "memory was refused";
  case GIRTHLINE_INTERRUPTED: return "stopped on request";
  case GIRTHLINE_REFUSED: return "the visit history cannot serve this";
  case GIRTHLINE_INTERNAL: break;
  }
  return "a fault of the program itself";
}
