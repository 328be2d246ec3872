// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/terminal.h"

#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define WIDTH_LEAST 40
#define WIDTH_MOST 100 // longer lines are hard to follow
#define WIDTH_USUAL 80

static long columns(void) {
  struct winsize size;
  const char *said = getenv("COLUMNS");
  const long n = said && *said && strspn(said, "0123456789") == strlen(said) ? strtol(said, NULL, 10) : 0;
  if (n > 0) return n;
  if (isatty(STDOUT_FILENO) && !ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) && size.ws_col) return size.ws_col;
  return WIDTH_USUAL;
}

int gn_terminal_width(void) {
  const long n = columns();
  return n < WIDTH_LEAST ? WIDTH_LEAST : n > WIDTH_MOST ? WIDTH_MOST : (int)n;
}

static bool is_able(int fd) {
  const char *kind = getenv("TERM");
  return isatty(fd) && kind && *kind && strcmp(kind, "dumb") != 0;
}

bool gn_terminal_colour(void) {
  const char *no_colour = getenv("NO_COLOR");
  return is_able(STDOUT_FILENO) && !(no_colour && *no_colour);
}

bool gn_terminal_is_plain(void) {
  static const char *const NAMES[] = {"LC_ALL", "LC_CTYPE", "LANG"}; // in the order of POSIX.1-2017, 8.2
  const char *locale = NULL;
  for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES && !(locale && *locale); i++) locale = getenv(NAMES[i]);
  return isatty(STDOUT_FILENO) && !(locale && (strcasestr(locale, "UTF-8") || strcasestr(locale, "UTF8")));
}

bool gn_terminal_redraws(void) { return is_able(STDERR_FILENO); }
