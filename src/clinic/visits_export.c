// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Every visit written out, one after the other: memory holds one at a time.
#include "clinic/visits.h"

#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "report/writer.h"

#define STAGE "visits"

typedef struct exporting {
  gn_visits_sink sink;
  void *user;
  bool lines;
  size_t n;
  int code;
} exporting;

// Without spaces between its parts and without line ends; numbers and texts stay as they were written.
static char *compact(const char *json) {
  char *out = gn_new(strlen(json) + 1, 1), *to = out;
  bool in_text = false;
  for (const char *c = json; out && *c; c++) {
    if (!in_text && strchr(" \t\r\n", *c)) continue;
    if (in_text && *c == '\\' && c[1]) *to++ = *c++;
    else if (*c == '"') in_text = !in_text;
    *to++ = *c;
  }
  return out;
}

static girthline_status export_one(void *user, const gn_store_visit *v, girthline_error *error) {
  exporting *x = user;
  gn_buffer out = {0};
  char *exam = compact(v->exam);
  if (!x->lines) gn_buffer_puts(&out, x->n ? ",\n    " : "\n    ");
  // A line stands alone and says what it is.
  gn_buffer_printf(&out, "{%s\"id\": %lld, \"added_at\": ", x->lines ? "\"schema\": \"girthline.visit.v1\", " : "", v->id);
  gn_writer_quote(&out, v->added_at);
  gn_buffer_puts(&out, ", \"exam\": ");
  if (exam) gn_buffer_puts(&out, exam);
  else out.refused = true;
  gn_buffer_puts(&out, x->lines ? "}\n" : "}");
  gn_free(exam);
  const size_t n = out.n;
  char *text = gn_buffer_take(&out);
  if (!text) return gn_error_memory(error, STAGE);
  x->n++;
  x->code = x->sink(x->user, text, n);
  gn_free(text);
  return x->code ? GIRTHLINE_CANNOT_WRITE : GIRTHLINE_OK;
}

static girthline_status constant(exporting *x, const char *text) {
  if (!x->lines) x->code = x->sink(x->user, text, strlen(text));
  return x->code ? GIRTHLINE_CANNOT_WRITE : GIRTHLINE_OK;
}

girthline_status gn_visits_export(gn_store *store, bool lines, gn_visits_sink sink, void *user, int *code, girthline_error *error) {
  exporting x = {sink, user, lines, 0, 0};
  girthline_status status = constant(&x, "{\n  \"schema\": \"girthline.visits.v1\",\n  \"visits\": [");
  if (!status) status = gn_store_each_visit(store, (gn_store_filter){.with_exam = true}, export_one, &x, error);
  if (!status) status = constant(&x, x.n ? "\n  ]\n}\n" : "]\n}\n");
  *code = x.code;
  return status;
}
