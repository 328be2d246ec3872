// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/options.h"

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/say.h"
#include "cli/terminal.h"
#include "report/units.h"

static bool files_only; // "--" was passed; getopt_long itself forgets it

void gn_options_start(void) {
  files_only = false;
  optind = 0; // glibc: begin anew
  opterr = 0;
}

static int unknown(const char *command, const char *arg, const gn_option *table, size_t n) {
  const char *names[GN_OPTIONS_MOST];
  char word[80];
  size_t n_names = 0;
  for (size_t i = 0; i < n; i++)
    if (*table[i].name) names[n_names++] = table[i].name;
  snprintf(word, sizeof word, "%.*s", (int)strcspn(arg, "="), arg);
  const char *near = !strcmp(word, "-h") ? "help" : gn_cli_nearest(word + strspn(word, "-"), names, n_names);
  if (near) gn_cli_usage(command, "unknown option %s: did you mean --%s?", word, near);
  else gn_cli_usage(command, "unknown option %s (a file of that name is given after --)", word);
  return GN_OPTION_FAULT;
}

static const gn_option *find(const gn_option *table, size_t n, const char *arg) {
  const size_t len = strcspn(arg, "=");
  for (size_t i = 0; i < n; i++)
    if (len && strlen(table[i].name) == len && !strncmp(table[i].name, arg, len)) return &table[i];
  return NULL;
}

// Why getopt_long refused `arg`, which stood in its place.
static int fault(const char *command, const char *arg, const gn_option *table, size_t n, int code) {
  const gn_option *option = !strncmp(arg, "--", 2) ? find(table, n, arg + 2) : NULL;
  if (!option) return unknown(command, arg, table, n);
  if (code == ':') gn_cli_usage(command, "--%s needs a value (%s)", option->name, option->value);
  else gn_cli_usage(command, "--%s takes no value", option->name);
  return GN_OPTION_FAULT;
}

static bool names_file(const gn_option *option) {
  static const char *const CALLED[] = {"DIR", "FILE", "OTHER", "OUT.", "PATH"};
  for (size_t i = 0; option->value && i < sizeof CALLED / sizeof *CALLED; i++)
    if (!strncmp(option->value, CALLED[i], strlen(CALLED[i]))) return true;
  return false;
}

static int next_file(int argc, char **argv, const char **value) {
  files_only = true;
  if (optind >= argc) return GN_OPTION_END;
  *value = argv[optind++];
  return GN_OPTION_FILE;
}

int gn_options_next(int argc, char **argv, const gn_option *table, size_t n, const char **value) {
  if (files_only) return next_file(argc, argv, value);
  struct option longs[GN_OPTIONS_MOST + 1] = {0};
  for (size_t i = 0; i < n; i++)
    longs[i] = (struct option){table[i].name, table[i].value ? required_argument : no_argument, NULL, table[i].id};
  const int at = optind ? optind : 1;
  int which = 0;
  // '-': files come in their order, whatever the environment says; ':': a missing value is told apart.
  const int code = getopt_long(argc, argv, "-:", longs, &which);
  *value = optarg;
  if (code == 1) return GN_OPTION_FILE;
  if (code == -1) return next_file(argc, argv, value);
  const char *const arg = at < argc ? argv[at] : "--";
  if (code == '?' || code == ':') return fault(argv[0], arg, table, n, code);
  if (find(table, n, arg + 2) != &table[which]) return unknown(argv[0], arg, table, n); // getopt_long takes abbreviations
  if (names_file(&table[which]) && optarg[0] == '-' && optarg[1]) { // the value was forgotten, and the next option taken for it
    gn_cli_usage(argv[0], "--%s %s: that looks like an option (a file of that name is given as ./%s)", table[which].name, optarg, optarg);
    return GN_OPTION_FAULT;
  }
  return code;
}

int gn_options_each(int argc, char **argv, const gn_option *table, size_t n, gn_option_taker take, void *user, const bool *done) {
  int code = 0, id;
  const char *value;
  gn_options_start();
  while (!code && !*done && (id = gn_options_next(argc, argv, table, n, &value)) != GN_OPTION_END)
    code = id == GN_OPTION_FAULT ? GN_EXIT_USAGE : take(user, id, value);
  return code;
}

#define HELP_COLUMN 32
#define HELP_NARROW 70       // fewer columns than this: what an option does goes under it
#define HELP_NARROW_COLUMN 6
#define USAGE_COLUMN 9       // a usage line goes on here

// Words from column `at` on, broken at spaces but not between a number and its unit, going on at `column`.
static void print_words(const char *text, size_t n, size_t at, size_t column) {
  const size_t width = (size_t)gn_terminal_width();
  const char *const end = text + n;
  for (size_t space = 0; text < end;) {
    const size_t left = (size_t)(end - text);
    size_t word = strcspn(text, " ");
    while (gn_unit_space(text, word)) word += 1 + strcspn(text + word + 1, " ");
    if (word > left) word = left;
    if (space && at + space + word > width) {
      printf("\n%*s", (int)column, "");
      at = column;
    } else {
      printf("%*s", (int)space, "");
      at += space;
    }
    printf("%.*s", (int)word, text);
    at += word;
    text += word;
    space = strspn(text, " ");
    text += space;
  }
  putchar('\n');
}

void gn_options_words(const char *text) {
  while (*text) {
    const size_t n = strcspn(text, "\n"), indent = strspn(text, " ");
    const bool usage = indent || !strncmp(text, "Usage:", 6);
    printf("%*s", (int)indent, "");
    print_words(text + indent, n - indent, indent, usage ? USAGE_COLUMN : 0);
    text += n + (text[n] == '\n');
  }
}

void gn_options_help(const gn_option *table, size_t n) {
  const bool narrow = gn_terminal_width() < HELP_NARROW;
  const size_t column = narrow ? HELP_NARROW_COLUMN : HELP_COLUMN;
  for (size_t i = 0; i < n; i++) {
    char left[60];
    if (!*table[i].name) {
      printf("%s\n", table[i].help);
      continue;
    }
    snprintf(left, sizeof left, "--%s%s%s", table[i].name, table[i].value ? " " : "", table[i].value ? table[i].value : "");
    if (narrow || strlen(left) > HELP_COLUMN - 4) printf("  %s\n%*s", left, (int)column, "");
    else printf("  %-*s", HELP_COLUMN - 2, left);
    print_words(table[i].help, strlen(table[i].help), column, column);
  }
}

bool gn_options_number(const char *command, const char *option, const char *text, double least, double *out) {
  if (strchr(text, ',')) {
    gn_cli_usage(command, "--%s %s: write the number with a decimal point, not a comma", option, text);
    return false;
  }
  char *end;
  const bool plain = *text && strspn(text, "0123456789.eE+-") == strlen(text);
  const double v = plain ? strtod(text, &end) : 0; // the program never leaves the C locale
  if (!plain || end == text || *end || !isfinite(v)) {
    gn_cli_usage(command, "--%s %s: that is not a number", option, text);
    return false;
  }
  if (v < least) {
    gn_cli_usage(command, "--%s %s: the number must be %g or more", option, text, least);
    return false;
  }
  *out = v;
  return true;
}
