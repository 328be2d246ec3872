// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/settings_file.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/nearest.h"
#include "cli/input.h"
#include "cli/say.h"
#include "report/utf8.h"

#define STAGE "settings"
#define MOST_BYTES ((size_t)1 << 20) // the whole commented file is 40 kB
enum { MOST_ROWS = 400, SHOWN = 60 };

typedef struct reader {
  const char *path;
  girthline_limits *limits;
  girthline_error *error;
  size_t line;              // from 1
  const char *section;      // of the table; NULL before the first
  size_t given[MOST_ROWS];  // the line a row was given in; 0: not yet
} reader;

static girthline_status fault(const reader *r, const char *what) {
  return gn_error_set(r->error, GIRTHLINE_BAD_HAND_FILE, STAGE, "%s, line %zu: %s", r->path, r->line, what);
}

static char *trimmed(char *text) {
  text += strspn(text, " \t");
  size_t n = strlen(text);
  while (n && strchr(" \t\r", text[n - 1])) text[--n] = 0;
  return text;
}

// Distinct sections, in the table's order. Returns how many.
static size_t list_sections(const char **names) {
  size_t n = 0;
  const girthline_limit *row;
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL; i++)
    if (!n || strcmp(names[n - 1], row->section)) names[n++] = row->section;
  return n;
}

static girthline_status read_section(reader *r, char *line) {
  const char *names[16];
  const size_t n = list_sections(names);
  char what[300], *end = strchr(line, ']');
  if (!end || end[1 + strspn(end + 1, " \t")]) return fault(r, "a section is written [name], with nothing behind it");
  *end = 0;
  const char *word = trimmed(line + 1);
  for (size_t i = 0; i < n; i++)
    if (!strcmp(names[i], word)) {
      r->section = names[i];
      return GIRTHLINE_OK;
    }
  const char *near = gn_nearest(word, names, n);
  size_t at = (size_t)snprintf(what, sizeof what, "unknown section [%.*s]%s", SHOWN, word, near ? "; did you mean [" : "; known are");
  if (near) at += (size_t)snprintf(what + at, sizeof what - at, "%s]?", near);
  for (size_t i = 0; !near && i < n && at < sizeof what; i++) at += (size_t)snprintf(what + at, sizeof what - at, "%s [%s]", i ? "," : "", names[i]);
  return fault(r, what);
}

static girthline_status unknown_name(const reader *r, const char *word) {
  const char *names[MOST_ROWS], *elsewhere = NULL;
  const girthline_limit *row;
  char what[300];
  size_t n = 0;
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL; i++) {
    if (!strcmp(row->section, r->section)) names[n++] = row->name;
    else if (!strcmp(row->name, word)) elsewhere = row->section;
  }
  const char *near = gn_nearest(word, names, n);
  if (elsewhere) snprintf(what, sizeof what, "%.*s belongs into [%s], not [%s]", SHOWN, word, elsewhere, r->section);
  else if (near) snprintf(what, sizeof what, "unknown name %.*s in [%s]; did you mean %s?", SHOWN, word, r->section, near);
  else snprintf(what, sizeof what, "unknown name %.*s in [%s]; --settings-template lists all", SHOWN, word, r->section);
  return fault(r, what);
}

static bool counts(const girthline_limit *row) {
  const size_t n = strlen(row->name);
  return n > 2 && !strcmp(row->name + n - 2, "_n");
}

// Without its remark; NULL and *value set, or what is wrong with it.
static const char *parse_number(char *text, double *value) {
  for (char *c = text; *c; c++)
    if ((*c == ';' || *c == '#') && (c == text || c[-1] == ' ' || c[-1] == '\t')) *c = 0;
  text = trimmed(text);
  if (!*text) return "the number is missing; leave the line out to keep the usual value";
  if (strchr(text, ',')) return "write the number with a decimal point, not a comma";
  char *end = text;
  const bool plain = strspn(text, "0123456789.eE+-") == strlen(text);
  *value = plain ? strtod(text, &end) : 0; // the program never leaves the C locale
  return !plain || end == text || *end || !isfinite(*value) ? "that is not a plain number; write it without its unit" : NULL;
}

static girthline_status set(reader *r, size_t i, char *text) {
  const girthline_limit *row = girthline_limit_at(i);
  char what[400];
  double value = 0;
  char given[SHOWN + 1];
  snprintf(given, sizeof given, "%s", trimmed(text));
  const char *why = parse_number(text, &value);
  if (why) {
    snprintf(what, sizeof what, "%s = %s: %s", row->name, given, why);
  } else if (value < row->lowest || value > row->highest) {
    snprintf(what, sizeof what, "%s = %s: the number must lie from %g to %g (usually %g)", row->name, given, row->lowest, row->highest, row->usual);
  } else if (counts(row) && value != floor(value)) {
    snprintf(what, sizeof what, "%s = %s: this is a count and takes a whole number", row->name, given);
  } else if (r->given[i]) {
    snprintf(what, sizeof what, "%s stands in line %zu already", row->name, r->given[i]);
  } else {
    r->given[i] = r->line;
    girthline_limit_set(row, r->limits, value);
    return GIRTHLINE_OK;
  }
  return fault(r, what);
}

static girthline_status read_name(reader *r, char *line) {
  char *mark = line + strcspn(line, "=:");
  if (!*mark) return fault(r, "this is neither [section], name = number, nor a comment (#)");
  *mark = 0;
  const char *word = trimmed(line);
  if (!*word) return fault(r, "the name before the = is missing");
  if (!r->section) return fault(r, "a name stands before the first section, such as [rhythm]");
  const girthline_limit *row;
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL && i < MOST_ROWS; i++)
    if (!strcmp(row->section, r->section) && !strcmp(row->name, word)) return set(r, i, mark + 1);
  return unknown_name(r, word);
}

static girthline_status read_lines(reader *r, char *text, size_t n) {
  char *const end = text + n;
  girthline_status status = GIRTHLINE_OK;
  r->line = 1;
  if (n >= 2 && (!memcmp(text, "\xFF\xFE", 2) || !memcmp(text, "\xFE\xFF", 2))) return fault(r, "the file is written in UTF-16; save it as UTF-8");
  if (strlen(text) != n) {
    for (const char *c = text; *c; c++) r->line += *c == '\n';
    return fault(r, "a zero byte stands in it; that is not text");
  }
  if (n >= 3 && !memcmp(text, "\xEF\xBB\xBF", 3)) text += 3;
  for (; text < end && status == GIRTHLINE_OK; r->line++) {
    char *stop = memchr(text, '\n', (size_t)(end - text));
    if (!stop) stop = end; // gn_input_text ends with a zero byte
    *stop = 0;
    if (!gn_utf8_valid(text)) return fault(r, "these bytes are not UTF-8; save the file as UTF-8");
    char *line = trimmed(text);
    if (*line == '[') status = read_section(r, line);
    else if (*line && *line != '#' && *line != ';') status = read_name(r, line);
    text = stop + 1;
  }
  return status;
}

girthline_status gn_settings_file_read(const char *path, girthline_limits *limits, girthline_error *error) {
  reader r = {.path = path, .limits = limits, .error = error};
  char *text = NULL;
  size_t n = 0;
  *limits = girthline_limits_default();
  girthline_status status = gn_input_text(path, MOST_BYTES, &text, &n, error);
  if (status == GIRTHLINE_OK) status = read_lines(&r, text, n);
  gn_free(text);
  return status;
}

int gn_settings_file_take(const char *command, const char *path, girthline_limits *store, const girthline_limits **to) {
  girthline_error error = {0};
  if (*to) return gn_cli_usage(command, "--settings is given twice");
  *to = store;
  return gn_settings_file_read(path, store, &error) == GIRTHLINE_OK ? 0 : gn_cli_fail(&error);
}

// A text that is read back as the same number.
static const char *exactly(double value, char out[32]) {
  snprintf(out, 32, "%.15g", value);
  if (strtod(out, NULL) != value) snprintf(out, 32, "%.17g", value);
  return out;
}

void gn_settings_file_template(void) {
  const char *section = "";
  const girthline_limit *row;
  char text[32];
  puts("# Settings of girthline: the limits of its method, each with its usual value.\n"
       "# Keep the lines that change, delete the others; what is not named keeps its usual value.\n"
       "# The hash of all values stands in every report. A report made with other than the usual values says so.");
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL; i++) {
    if (strcmp(section, row->section)) printf("\n[%s]\n", section = row->section);
    printf("# %s (%s%s%g to %g; %s)\n", row->what, row->unit, *row->unit ? ", " : "", row->lowest, row->highest, row->source);
    printf("%s = %s\n", row->name, exactly(row->usual, text));
  }
}
