// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// An export taken apart again: one object with all visits, or a visit a line. Numbers keep 15 digits; this program writes fewer.
#include <string.h>

#include "base/error.h"
#include "clinic/visits.h"
#include "clinic/visits_json.h"
#include "report/json_memory.h"

#define STAGE "visits"

static bool is_schema(const json_t *root, const char *name) {
  const char *schema = gn_visits_text(root, "schema");
  return schema && !strcmp(schema, name);
}

static girthline_status take_visit(const json_t *visit, gn_visits_taker take, void *user, girthline_error *error) {
  json_free_t release;
  json_get_alloc_funcs(NULL, &release);
  const json_t *exam = json_object_get(visit, "exam");
  gn_json_begin();
  char *text = json_dumps(exam, JSON_INDENT(2) | JSON_REAL_PRECISION(15));
  if (gn_json_refused()) {
    release(text);
    return gn_error_memory(error, STAGE);
  }
  if (!text) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "a visit of the export holds no examination");
  const girthline_status status = take(user, text, strlen(text), error);
  release(text);
  return status;
}

static girthline_status take_root(const json_t *root, gn_visits_taker take, void *user, girthline_error *error) {
  if (is_schema(root, "girthline.visit.v1")) return take_visit(root, take, user, error);
  const json_t *visits = json_object_get(root, "visits");
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < json_array_size(visits) && !status; i++) status = take_visit(json_array_get(visits, i), take, user, error);
  return status;
}

girthline_status gn_visits_each_exam(const char *json, size_t n, const char *name, gn_visits_taker take, void *user, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (size_t at = 0; at < n && !status;) {
    json_error_t fault;
    gn_json_begin();
    json_t *root = json_loadb(json + at, n - at, JSON_REJECT_DUPLICATES | JSON_DISABLE_EOF_CHECK, &fault);
    if (gn_json_refused()) {
      json_decref(root);
      return gn_error_memory(error, STAGE);
    }
    const bool is_export = root && (is_schema(root, "girthline.visits.v1") || is_schema(root, "girthline.visit.v1"));
    if (is_export) status = take_root(root, take, user, error);
    json_decref(root);
    if (!is_export && !at) return take(user, json, n, error); // one examination, or what is none and says so itself
    if (!is_export) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is an export that ends amid a visit, or goes on with something else", name);
    for (at += (size_t)fault.position; at < n && strchr(" \t\r\n", json[at]); at++) {}
  }
  return status;
}
