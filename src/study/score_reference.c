// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/score.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"
#include "study/csv.h"

#define STAGE "score"

// A file of two columns, told by its header.
typedef struct table {
  const char *path, *output;
  const char *const *columns;
  girthline_status (*row)(const struct table *t, const char *first, const char *second);
  gn_csv csv;
  gn_score_times *sound;
  gn_score_spans *excluded;
  girthline_error *error;
} table;

static girthline_status fault(const table *t, const char *what) {
  return gn_error_set(t->error, GIRTHLINE_BAD_HAND_FILE, STAGE, "%s, line %zu: %s", t->path, t->csv.line, what);
}

static bool read_time(const char *text, double *out) {
  char *end;
  text += strspn(text, " \t");
  if (!*text || strspn(text, "0123456789.eE+- \t") != strlen(text)) return false;
  *out = strtod(text, &end);
  return end != text && !end[strspn(end, " \t")] && *out > -1e9 && *out < 1e9;
}

static girthline_status take_sound(const table *t, const char *time, const char *name) {
  double at_s;
  if (!read_time(time, &at_s)) return fault(t, "the time is not a number of seconds; write a decimal point, not a comma");
  name += strspn(name, " \t");
  if (name[0] != 'S' || name[1] < '1' || name[1] > '4' || name[2 + strspn(name + 2, " \t")]) return fault(t, "the sound must be S1, S2, S3 or S4");
  return gn_score_times_add(&t->sound[name[1] - '1'], at_s, t->error);
}

static girthline_status take_span(const table *t, const char *start, const char *end) {
  girthline_span span;
  if (!read_time(start, &span.start_s) || !read_time(end, &span.end_s)) return fault(t, "a span is two numbers of seconds: start_s,end_s");
  if (span.end_s <= span.start_s) return fault(t, "the span ends before it begins");
  void *items = t->excluded->span;
  if (gn_grow(&items, &t->excluded->capacity, t->excluded->n + 1, sizeof span)) return gn_error_memory(t->error, STAGE);
  t->excluded->span = items;
  t->excluded->span[t->excluded->n++] = span;
  return GIRTHLINE_OK;
}

static girthline_status read_rows(table *t) {
  bool headed = false;
  girthline_status status = GIRTHLINE_OK;
  gn_csv_got got;
  while (!status && (got = gn_csv_next(&t->csv)) != GN_CSV_END) {
    if (got == GN_CSV_FAULT) return t->csv.refused ? gn_error_memory(t->error, STAGE) : fault(t, t->csv.fault);
    if (gn_csv_blank(&t->csv)) continue;
    const char *first = gn_csv_field(&t->csv, 0), *second = gn_csv_field(&t->csv, 1);
    if (t->csv.n_fields != 2) return fault(t, "two columns are needed, parted by a comma");
    if (headed)
      status = t->row(t, first, second);
    else if (strcmp(first, t->columns[0]) || strcmp(second, t->columns[1]))
      return fault(t, t->columns[2]);
    headed = true;
  }
  if (!status && !headed) return fault(t, t->columns[2]);
  return status;
}

static girthline_status read_table(table *t) {
  const char *why;
  if (t->output && gn_file_is_same(t->path, t->output))
    return gn_error_set(t->error, GIRTHLINE_BAD_ARGUMENT, STAGE, GN_FILE_IS_INPUT, t->output);
  FILE *file = gn_file_open(t->path, &why);
  if (!file) return gn_error_set(t->error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s", t->path, why);
  t->csv = gn_csv_reader(file);
  const girthline_status status = read_rows(t);
  gn_csv_clear(&t->csv);
  fclose(file);
  return status;
}

static bool is_file(const char *path) {
  struct stat st;
  return path && !stat(path, &st) && S_ISREG(st.st_mode);
}

// A name without its last ending, and without .truth before it.
static char *stem_of(const char *name) {
  const char *slash = strrchr(name, '/'), *base = slash ? slash + 1 : name, *dot = strrchr(base, '.');
  size_t n = dot && dot != base ? (size_t)(dot - name) : strlen(name);
  if (n > 6 && !strncmp(name + n - 6, ".truth", 6)) n -= 6;
  return gn_strprintf("%.*s", (int)n, name);
}

// A report may come from anywhere: the name in it does not lead out of the reference folder.
static bool leads_out(const char *stem) {
  for (const char *c = stem; c; c = strchr(c, '/')) {
    c += *c == '/';
    if (!strncmp(c, "..", 2) && (c[2] == '/' || !c[2])) return true;
  }
  return false;
}

// The folder may hold the same folders as the recordings', or all references side by side. *path is NULL where there is none.
static girthline_status find(const char *folder, const char *stem, char **path, girthline_error *error) {
  const char *slash = strrchr(stem, '/');
  const char *const tries[] = {stem, slash ? slash + 1 : stem}, *const endings[] = {".csv", ".truth.csv"};
  for (int i = leads_out(stem) ? 2 : 0; i < 4; i++) {
    *path = gn_strprintf("%s/%s%s", folder, tries[i / 2], endings[i % 2]);
    if (!*path) return gn_error_memory(error, STAGE);
    if (is_file(*path)) return GIRTHLINE_OK;
    gn_free(*path);
    *path = NULL;
  }
  return GIRTHLINE_OK;
}

static girthline_status choose(const char *reference, const char *stem, char **path, girthline_error *error) {
  struct stat st;
  if (!stem) return gn_error_memory(error, STAGE);
  if (stat(reference, &st)) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "the reference %s cannot be opened: %s", reference, strerror(errno));
  if (S_ISDIR(st.st_mode)) return find(reference, stem, path, error);
  *path = gn_strdup(reference);
  return *path ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
}

static girthline_status read_excluded(const char *reference_path, const char *output, gn_score_spans *excluded, girthline_error *error) {
  static const char *const COLUMNS[] = {"start_s", "end_s", "the first line must be start_s,end_s"};
  char *stem = stem_of(reference_path), *path = stem ? gn_strprintf("%s.exclude.csv", stem) : NULL;
  girthline_status status = path ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
  table t = {.path = path, .output = output, .columns = COLUMNS, .row = take_span, .excluded = excluded, .error = error};
  if (is_file(path)) status = read_table(&t);
  gn_free(path);
  gn_free(stem);
  return status;
}

static int by_time(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

girthline_status gn_score_reference_read(const gn_score_request *request, const char *file, gn_score_times sound[4], gn_score_spans *excluded, char **reason,
                                         girthline_error *error) {
  static const char *const COLUMNS[] = {"time_s", "sound", "the first line must be time_s,sound"};
  char *stem = stem_of(file), *path = NULL;
  girthline_status status = choose(request->reference, stem, &path, error);
  table t = {.path = path, .output = request->output, .columns = COLUMNS, .row = take_sound, .sound = sound, .error = error};
  if (!status && path)
    status = read_table(&t);
  else if (!status && !(*reason = gn_strprintf("there is no %s.csv and no %s.truth.csv in the reference folder", stem, stem)))
    status = gn_error_memory(error, STAGE);
  if (path && !status) status = read_excluded(path, request->output, excluded, error);
  for (int k = 0; k < 4; k++)
    if (sound[k].n) qsort(sound[k].at_s, sound[k].n, sizeof(double), by_time);
  gn_free(path);
  gn_free(stem);
  return status;
}
