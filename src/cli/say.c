// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/say.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

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
  snprintf(ending, sizeof ending, "; see girthline %s%s--help", command ? command : "", command ? " " : "");
  va_list args;
  va_start(args, format);
  say(ending, format, args);
  va_end(args);
  return GN_EXIT_USAGE;
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
  gn_cli_say("%s", error->text[0] ? error->text : girthline_status_text(error->status));
  return gn_cli_exit_of(error->status);
}

#define WORD_MOST 40

static size_t least(size_t a, size_t b) { return a < b ? a : b; }

// Edits (insert, delete, replace, swap of neighbours) between two short words.
static size_t edits(const char *a, const char *b) {
  const size_t n = strlen(a), m = strlen(b);
  size_t d[3][WORD_MOST + 1];
  if (n > WORD_MOST || m > WORD_MOST) return SIZE_MAX;
  for (size_t k = 0; k <= m; k++) d[0][k] = k;
  for (size_t i = 1; i <= n; i++) {
    size_t *now = d[i % 3], *last = d[(i + 2) % 3], *before = d[(i + 1) % 3];
    now[0] = i;
    for (size_t k = 1; k <= m; k++) {
      now[k] = least(least(last[k], now[k - 1]) + 1, last[k - 1] + (a[i - 1] != b[k - 1]));
      if (i > 1 && k > 1 && a[i - 1] == b[k - 2] && a[i - 2] == b[k - 1]) now[k] = least(now[k], before[k - 2] + 1);
    }
  }
  return d[n % 3][m];
}

const char *gn_cli_nearest(const char *word, const char *const *names, size_t n_names) {
  const char *best = NULL;
  size_t fewest = SIZE_MAX;
  const size_t n = strlen(word);
  for (size_t i = 0; i < n_names; i++) {
    // A beginning of a name ("spec") is near it too: long options are not abbreviated, but people try.
    const size_t k = n >= 3 && !strncmp(word, names[i], n) ? 1 : edits(word, names[i]);
    if (k < fewest && (k <= 1 || k <= strlen(names[i]) / 3)) {
      fewest = k;
      best = names[i];
    }
  }
  return best;
}
