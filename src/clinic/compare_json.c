// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline.comparison.v1, key by key in the order of docs/comparison.schema.json.
#include <math.h>

#include <girthline/species.h>
#include <girthline/version.h>

#include "base/memory.h"
#include "clinic/compare.h"
#include "clinic/visits_json.h"
#include "report/writer.h"

static void write_visit(gn_writer *w, const char *key, const gn_comparison *c, int i) {
  const json_t *examination = json_object_get(c->exams[i], "examination");
  gn_writer_open(w, key, '{', false);
  if (c->ids[i]) gn_writer_whole(w, "id", c->ids[i]);
  else gn_writer_null(w, "id");
  gn_writer_text(w, "date", gn_visits_text(examination, "date"));
  gn_writer_text(w, "examiner", gn_visits_text(examination, "examiner"));
  gn_writer_text(w, "species", gn_visits_species(c->exams[i]));
  gn_writer_whole(w, "recordings", (long long)json_array_size(json_object_get(c->exams[i], "recordings")));
  gn_writer_close(w);
}

static void write_value(gn_writer *w, const char *key, const gn_value *v, int decimals) {
  switch (v->kind) {
  case GN_VALUE_NUMBER: gn_writer_number(w, key, v->number, decimals + 1); break;
  case GN_VALUE_WORD: gn_writer_text(w, key, v->word); break;
  case GN_VALUE_ABSENT: gn_writer_bool(w, key, false); break;
  case GN_VALUE_UNKNOWN: gn_writer_null(w, key); break;
  }
}

static void write_change(gn_writer *w, const gn_change *x) {
  gn_writer_open(w, NULL, '{', false);
  gn_writer_text(w, "what", x->what);
  gn_writer_text(w, "side", x->side);
  gn_writer_text(w, "area", x->area);
  gn_writer_bool(w, "whole_visit", x->whole_visit);
  gn_writer_number(w, "minutes_after_exercise", x->minutes_after_exercise, 2);
  gn_writer_text(w, "unit", x->unit[0] ? x->unit : NULL);
  write_value(w, "first", &x->values[0], x->decimals);
  write_value(w, "second", &x->values[1], x->decimals);
  gn_writer_number(w, "change", gn_compare_change(x, x->decimals + 1), x->decimals + 1);
  gn_writer_number(w, "repeatability", x->repeatability, x->decimals + 1);
  gn_writer_text(w, "verdict", gn_verdict_name(x->verdict));
  gn_writer_text(w, "reason", x->reason);
  gn_writer_close(w);
}

char *gn_compare_json(const gn_comparison *c) {
  gn_writer w = {0};
  const char *caution = gn_visits_text(c->exams[1], "caution");
  gn_writer_open(&w, NULL, '{', false);
  gn_writer_text(&w, "schema", "girthline.comparison.v1");
  gn_writer_open(&w, "tool", '{', false);
  gn_writer_text(&w, "name", "girthline");
  gn_writer_text(&w, "version", girthline_version());
  gn_writer_close(&w);
  gn_writer_open(&w, "animal", '{', false);
  gn_writer_text(&w, "identifier", c->animal.identifier);
  gn_writer_text(&w, "name", c->animal.name);
  gn_writer_text(&w, "species", c->animal.species);
  gn_writer_close(&w);
  write_visit(&w, "first", c, 0);
  write_visit(&w, "second", c, 1);
  gn_writer_open(&w, "changes", '[', false);
  for (size_t i = 0; i < c->n_changes; i++) write_change(&w, &c->changes[i]);
  gn_writer_close(&w);
  gn_writer_text(&w, "note", gn_compare_note);
  gn_writer_text(&w, "caution", caution ? caution : "A screening aid, not a diagnosis: a licensed veterinarian decides.");
  gn_writer_close(&w);
  gn_buffer_puts(&w.out, "\n");
  return gn_buffer_take(&w.out);
}
