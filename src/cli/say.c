// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/say.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/nearest.h"
#include "report/utf8.h"

// A file's name may be 4096 bytes and stand in the sentence once or twice.
#define MESSAGE_BYTES 10000

// Replaces what acts on a terminal, in place; an ill-formed byte too.
static void calm(char *text) {
  char *to = text;
  for (const char *from = text; *from;) {
    uint32_t code;
    bool ok;
    const size_t n = gn_utf8_next(from, &code, &ok);
    if (ok && !gn_utf8_acts(code)) {
      memmove(to, from, n);
      to += n;
    } else {
      *to++ = '?';
    }
    from += n;
  }
  *to = 0;
}

static void say(const char *ending, const char *format, va_list args) {
  char text[MESSAGE_BYTES];
  vsnprintf(text, sizeof text, format, args);
  calm(text);
  fprintf(stderr, "girthline: %s%s\n", text, ending);
}

void gn_cli_say(const char *format, ...) {
  va_list args;
  va_start(args, format);
  say("", format, args);
  va_end(args);
}

int gn_cli_usage(const char *command, const char *format, ...) {
  char ending[80];
  const bool asks = *format && format[strlen(format) - 1] == '?';
  snprintf(ending, sizeof ending, "%s girthline %s%s--help", asks ? " See" : "; see", command ? command : "", command ? " " : "");
  va_list args;
  va_start(args, format);
  say(ending, format, args);
  va_end(args);
  return GN_EXIT_USAGE;
}

int gn_cli_no_memory(void) {
  gn_cli_say("memory was refused");
  return GN_EXIT_OTHER;
}

int gn_cli_exit_of(girthline_status status) {
  switch (status) {
  case GIRTHLINE_OK: return GN_EXIT_DONE;
  case GIRTHLINE_BAD_ARGUMENT:
  case GIRTHLINE_BAD_HAND_FILE: return GN_EXIT_USAGE;
  case GIRTHLINE_CANNOT_READ:
  case GIRTHLINE_NOT_AUDIO:
  case GIRTHLINE_LIMIT: return GN_EXIT_INPUT;
  case GIRTHLINE_CANNOT_WRITE: return GN_EXIT_OUTPUT;
  case GIRTHLINE_INTERRUPTED: return GN_EXIT_INTERRUPTED;
  case GIRTHLINE_NO_MEMORY:
  case GIRTHLINE_INTERNAL:
  case GIRTHLINE_REFUSED: break;
  }
  return GN_EXIT_OTHER;
}

int gn_cli_fail(const girthline_error *error) {
  const girthline_status status = error->status ? error->status : GIRTHLINE_INTERNAL; // a failure without its reason is one all the same
  gn_cli_say("%s", error->text[0] ? error->text : girthline_status_text(status));
  return gn_cli_exit_of(status);
}

const char *gn_cli_nearest(const char *word, const char *const *names, size_t n_names) { return gn_nearest(word, names, n_names); }
