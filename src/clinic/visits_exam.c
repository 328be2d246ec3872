// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// An examination's JSON, read for what the history needs of it.
#include "clinic/visits.h"

#include <string.h>

#include <jansson.h>

#include <girthline/report.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/visits_json.h"
#include "report/json_memory.h"

#define STAGE "visits"

const char *gn_visits_text(const json_t *object, const char *key) {
  const char *text = json_string_value(json_object_get(object, key));
  return text && *text ? text : NULL;
}

double gn_visits_number(const json_t *object, const char *key) {
  const json_t *value = json_object_get(object, key);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

json_t *gn_visits_report(const json_t *exam, size_t i) { return json_object_get(json_array_get(json_object_get(exam, "recordings"), i), "report"); }

double gn_visits_rate(const json_t *report) {
  const json_t *rate = json_object_get(report, "rate");
  const double settled = gn_visits_number(rate, "settled_bpm");
  return isnan(settled) ? gn_visits_number(rate, "bpm") : settled;
}

static girthline_status bad(const char *name, const char *what, girthline_error *error) {
  return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s %s; girthline exam EXAM-FILE --json makes an examination to add", name, what);
}

static girthline_status check_recordings(const json_t *exam, const char *name, girthline_error *error) {
  const json_t *recordings = json_object_get(exam, "recordings");
  if (!json_is_array(recordings) || !json_array_size(recordings)) return bad(name, "holds no recordings", error);
  for (size_t i = 0; i < json_array_size(recordings); i++) {
    const json_t *report = gn_visits_report(exam, i);
    if (json_is_null(report)) continue; // a recording that could not be analysed
    const char *schema = gn_visits_text(report, "schema");
    if (!schema || strcmp(schema, "girthline.report.v1")) return bad(name, "holds a recording without its report (girthline.report.v1)", error);
  }
  return GIRTHLINE_OK;
}

// Texts of the JSON library go back to its own seam.
static void give_back(char *text) {
  json_free_t release;
  json_get_alloc_funcs(NULL, &release);
  release(text);
}

static bool is_date(const char *text) { // YYYY-MM-DD, then anything ISO 8601 allows
  static const char FORM[] = "dddd-dd-dd";
  for (size_t i = 0; FORM[i]; i++)
    if (FORM[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != FORM[i]) return false;
  return !text[10] || text[10] == 'T' || text[10] == ' ';
}

girthline_status gn_visits_parse(const char *json, size_t n, const char *name, json_t **out, girthline_error *error) {
  json_error_t fault;
  gn_json_begin();
  json_t *exam = json_loadb(json, n, JSON_REJECT_DUPLICATES, &fault);
  *out = NULL;
  if (gn_json_refused()) {
    json_decref(exam);
    return gn_error_memory(error, STAGE);
  }
  if (!exam) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is not JSON: line %d, column %d: %s", name, fault.line, fault.column, fault.text);
  const char *schema = gn_visits_text(exam, "schema"), *date = gn_visits_text(json_object_get(exam, "examination"), "date");
  girthline_status status = GIRTHLINE_OK;
  if (!schema || strncmp(schema, "girthline.", 10)) status = bad(name, "is not an examination of girthline (girthline.exam.v1)", error);
  else if (!strncmp(schema, "girthline.report", 16)) status = bad(name, "is a report on recordings, not an examination", error);
  else if (strcmp(schema, "girthline.exam.v1")) status = bad(name, "is not an examination this version knows (girthline.exam.v1)", error);
  else if (date && !is_date(date)) status = bad(name, "has a date that is not ISO 8601 (2026-03-14)", error);
  else status = check_recordings(exam, name, error);
  if (status) json_decref(exam);
  else *out = exam;
  return status;
}

// The same analysis of the same recordings from another folder is the same examination. Takes the names out of the tree.
static girthline_status fingerprint(json_t *exam, char out[48], girthline_error *error) {
  for (size_t i = 0; i < json_array_size(json_object_get(exam, "recordings")); i++) {
    json_t *recording = json_object_get(gn_visits_report(exam, i), "recording");
    json_object_del(recording, "file");
    json_object_del(recording, "file_percent");
  }
  char *text = json_dumps(exam, JSON_COMPACT | JSON_SORT_KEYS | JSON_REAL_PRECISION(15));
  const bool whole = text && !gn_json_refused();
  if (whole) girthline_content_hash_memory(text, strlen(text), out);
  give_back(text);
  return whole ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
}

// The recordings' own hashes, in their order: which examination it is where there is no date. *any: there is such a hash.
static char *recordings_key(const json_t *exam, bool *any) {
  char hash[48];
  json_t *list = json_array();
  bool refused = false;
  *any = false;
  for (size_t i = 0; i < json_array_size(json_object_get(exam, "recordings")); i++) {
    const char *one = gn_visits_text(json_object_get(gn_visits_report(exam, i), "recording"), "content_hash");
    *any = *any || one;
    refused |= json_array_append_new(list, json_string(one ? one : "")) != 0;
  }
  char *text = refused ? NULL : json_dumps(list, JSON_COMPACT);
  json_decref(list);
  const bool whole = text && !gn_json_refused();
  if (whole) girthline_content_hash_memory(text, strlen(text), hash);
  give_back(text);
  return whole ? gn_strprintf("recordings %s", hash) : NULL;
}

const char *gn_visits_species(const json_t *exam) {
  const char *species = gn_visits_text(json_object_get(exam, "animal"), "species");
  if (!species) species = gn_visits_text(gn_visits_report(exam, 0), "species");
  return species ? species : "horse";
}

static girthline_status fill(json_t *exam, const char *name, gn_visits_exam *out, girthline_error *error) {
  const json_t *animal = json_object_get(exam, "animal");
  const char *identifier = gn_visits_text(animal, "identifier"), *called = gn_visits_text(animal, "name");
  const char *date = gn_visits_text(json_object_get(exam, "examination"), "date");
  if (!identifier && !called)
    return gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, STAGE, "%s names no animal: write identifier or name under [animal]", name);
  out->identifier = gn_strdup(identifier);
  out->name = gn_strdup(called);
  out->date = gn_strdup(date);
  out->species = gn_strdup(gn_visits_species(exam));
  bool any;
  out->recordings = recordings_key(exam, &any);
  out->key = date ? gn_strprintf("date %s", date) : gn_strdup(out->recordings);
  const bool refused = (identifier && !out->identifier) || (called && !out->name) || (date && !out->date) || !out->species || !out->key || !out->recordings;
  if (!any) {
    gn_free(out->recordings);
    out->recordings = NULL;
  }
  return refused ? gn_error_memory(error, STAGE) : fingerprint(exam, out->fingerprint, error);
}

girthline_status gn_visits_exam_read(const char *json, size_t n, const char *name, gn_visits_exam *out, girthline_error *error) {
  *out = (gn_visits_exam){0};
  json_t *exam;
  girthline_status status = gn_visits_parse(json, n, name, &exam, error);
  if (!status) status = fill(exam, name, out, error);
  if (status) gn_visits_exam_clear(out);
  json_decref(exam);
  return status;
}

void gn_visits_exam_clear(gn_visits_exam *exam) {
  gn_free(exam->identifier);
  gn_free(exam->name);
  gn_free(exam->species);
  gn_free(exam->date);
  gn_free(exam->key);
  gn_free(exam->recordings);
  *exam = (gn_visits_exam){0};
}
