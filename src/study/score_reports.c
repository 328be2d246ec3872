// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"
#include "report/json_memory.h"
#include "study/csv.h"

#define STAGE "score"

girthline_status gn_score_times_add(gn_score_times *t, double at_s, girthline_error *error) {
  void *items = t->at_s;
  if (gn_grow(&items, &t->capacity, t->n + 1, sizeof *t->at_s)) return gn_error_memory(error, STAGE);
  t->at_s = items;
  t->at_s[t->n++] = at_s;
  return GIRTHLINE_OK;
}

static void clear_report(gn_score_report *r) {
  gn_free(r->file);
  for (int k = 0; k < 4; k++) gn_free(r->sound[k].at_s);
}

void gn_score_reports_clear(gn_score_reports *reports) {
  for (size_t i = 0; i < reports->n; i++) clear_report(&reports->items[i]);
  gn_free(reports->items);
  *reports = (gn_score_reports){0};
}

static int by_file_and_part(const void *a, const void *b) {
  const gn_score_report *x = *(const gn_score_report *const *)a, *y = *(const gn_score_report *const *)b;
  const int order = strcmp(x->file, y->file);
  return order ? order : (x->from_s > y->from_s) - (x->from_s < y->from_s);
}

// In the order of their starts, if any two parts overlap, two that follow each other do. A part that is not known (NaN) is all of the recording.
girthline_status gn_score_reports_once(const gn_score_reports *reports, girthline_error *error) {
  const gn_score_report **order = gn_new(reports->n, sizeof *order);
  if (!order) return gn_error_memory(error, STAGE);
  for (size_t i = 0; i < reports->n; i++) order[i] = &reports->items[i];
  if (reports->n) qsort(order, reports->n, sizeof *order, by_file_and_part);
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 1; i < reports->n && !status; i++)
    if (!strcmp(order[i - 1]->file, order[i]->file) && !(order[i]->from_s >= order[i - 1]->to_s))
      status = gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, STAGE, "two reports are of %s and would count twice: name each once (the reports.ndjson of joined shards holds theirs)",
                            order[i]->file);
  gn_free(order);
  return status;
}

static double number(const json_t *object, const char *key) {
  const json_t *value = json_object_get(object, key);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

static girthline_status take_beats(gn_score_report *r, const json_t *beats, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < json_array_size(beats) && !status; i++)
    for (int k = 0; k < 2 && !status; k++) {
      const double onset_s = number(json_object_get(json_array_get(beats, i), k ? "s2" : "s1"), "onset_s");
      if (isfinite(onset_s)) status = gn_score_times_add(&r->sound[k], onset_s, error);
    }
  return status;
}

static girthline_status take_extras(gn_score_report *r, const json_t *extras, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < json_array_size(extras) && !status; i++) {
    const json_t *extra = json_array_get(extras, i), *onsets = json_object_get(extra, "onsets_s");
    const char *kind = json_string_value(json_object_get(extra, "kind"));
    const int k = !kind ? -1 : !strcmp(kind, "S3") ? 2 : !strcmp(kind, "S4") ? 3 : -1;
    for (size_t n = 0; k >= 0 && n < json_array_size(onsets) && !status; n++)
      status = gn_score_times_add(&r->sound[k], json_number_value(json_array_get(onsets, n)), error);
  }
  return status;
}

// A name that is not UTF-8 stands in percent form beside its shown one.
static char *name_of(const json_t *recording) {
  const char *form = json_string_value(json_object_get(recording, "file_percent")), *shown = json_string_value(json_object_get(recording, "file"));
  if (!form) return gn_strdup(shown ? shown : "");
  char *name = gn_strprintf("'%%%s", form);
  if (name) gn_csv_restore(name);
  return name;
}

static void set_word(char *to, size_t room, const json_t *value) {
  const char *text = json_string_value(value);
  snprintf(to, room, "%s", text ? text : "");
}

static int by_time(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static girthline_status take_report(gn_score_reports *reports, const json_t *json, girthline_error *error) {
  void *items = reports->items;
  if (gn_grow(&items, &reports->capacity, reports->n + 1, sizeof *reports->items)) return gn_error_memory(error, STAGE);
  reports->items = items;
  gn_score_report *r = &reports->items[reports->n++];
  const json_t *recording = json_object_get(json, "recording"), *tool = json_object_get(json, "tool");
  *r = (gn_score_report){.file = name_of(recording)};
  if (!r->file) return gn_error_memory(error, STAGE);
  set_word(r->version, sizeof r->version, json_object_get(tool, "version"));
  set_word(r->settings_hash, sizeof r->settings_hash, json_object_get(tool, "settings_hash"));
  r->from_s = number(recording, "from_s");
  r->to_s = number(recording, "to_s");
  r->bpm = number(json_object_get(json, "rate"), "bpm");
  girthline_status status = take_beats(r, json_object_get(json, "beats"), error);
  if (!status) status = take_extras(r, json_object_get(json, "extra_sounds"), error);
  for (int k = 0; k < 4; k++)
    if (r->sound[k].n) qsort(r->sound[k].at_s, r->sound[k].n, sizeof(double), by_time);
  return status;
}

static girthline_status take_document(gn_score_reports *reports, const json_t *json, const char *path, girthline_error *error) {
  const char *schema = json_string_value(json_object_get(json, "schema"));
  if (schema && !strcmp(schema, "girthline.report.v1")) return take_report(reports, json, error);
  if (!schema || strcmp(schema, "girthline.reports.v1"))
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is no girthline.report.v1: name a JSON report or the reports.ndjson of a batch", path);
  const json_t *list = json_object_get(json, "reports");
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < json_array_size(list) && !status; i++) status = take_report(reports, json_array_get(list, i), error);
  return status;
}

// One document after the other: a report, or one a line.
girthline_status gn_score_reports_read(gn_score_reports *reports, const char *path, girthline_error *error) {
  const bool is_stdin = !strcmp(path, "-");
  const char *why = "";
  FILE *file = is_stdin ? stdin : gn_file_open(path, &why);
  if (!file) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s", path, why);
  if (is_stdin) path = "standard input";
  girthline_status status = GIRTHLINE_OK;
  bool any = false;
  int c;
  while (!status && (c = getc(file)) != EOF) {
    if (c == '\n' || c == ' ' || c == '\r' || c == '\t') continue;
    ungetc(c, file);
    if (!any && c != '{') { // a table, a recording
      status = gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is no JSON report: name reports.ndjson of a batch, or a report's .json", path);
      break;
    }
    any = true;
    json_error_t fault;
    gn_json_begin();
    json_t *json = json_loadf(file, JSON_DISABLE_EOF_CHECK, &fault);
    status = gn_json_refused() ? gn_error_memory(error, STAGE)
             : json            ? take_document(reports, json, path, error)
                               : gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s, line %d of a report: %s; write it again", path, fault.line, fault.text);
    json_decref(json);
  }
  if (!status && ferror(file)) status = gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be read to its end", path);
  if (file != stdin) fclose(file);
  return status;
}
