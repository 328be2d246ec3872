// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The comparison to print: what its page says.
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/compare_trend.h"
#include "clinic/compare_words.h"
#include "clinic/document.h"
#include "clinic/visits_json.h"
#include "clinic/visits_words.h"

#define STAGE "visits"

// What the buffers hold as one line of cells; they are emptied.
static void push_cells(gn_document *d, gn_front_kind kind, gn_buffer *cells, size_t n) {
  char *texts[GN_FRONT_COLUMNS + 1] = {NULL};
  bool refused = false;
  for (size_t i = 0; i < n; i++) {
    texts[i] = gn_buffer_take(&cells[i]);
    refused = refused || !texts[i];
  }
  if (refused) d->refused = true;
  else gn_document_cells(d, kind, (const char *const *)texts);
  for (size_t i = 0; i < n; i++) gn_free(texts[i]);
}

static void say_words(gn_document *d, gn_front_kind kind, gn_buffer *words) { push_cells(d, kind, words, 1); }

static void answer_line(void *user, gn_buffer line[GN_N_ANSWER]) { push_cells(user, GN_FRONT_ANSWER, line, GN_N_ANSWER); }

static void answer(gn_document *d, const gn_comparison *c) {
  gn_buffer open = {0};
  gn_document_say(d, GN_FRONT_HEADING, "What differs");
  gn_compare_answers(c, answer_line, d);
  gn_compare_open_words(&open, c);
  say_words(d, GN_FRONT_BODY, &open);
}

static void row(gn_document *d, const gn_change *x) {
  gn_buffer cells[GN_FRONT_COLUMNS] = {{0}};
  gn_buffer_printf(&cells[0], x->unit[0] ? "%s, %s" : "%s", x->label, x->unit);
  gn_compare_value_words(&cells[1], x, 0);
  gn_compare_value_words(&cells[2], x, 1);
  gn_compare_change_words(&cells[3], x);
  gn_compare_repeatability_words(&cells[4], x);
  gn_buffer_printf(&cells[5], "%s: %s", gn_verdict_words(x->verdict), x->reason);
  push_cells(d, gn_compare_is_change(x->verdict) ? GN_FRONT_ROW_TOLD : GN_FRONT_ROW, cells, GN_FRONT_COLUMNS);
}

static void table(gn_document *d, const gn_comparison *c) {
  gn_document_say(d, GN_FRONT_HEADING, "Side by side");
  gn_document_say(d, GN_FRONT_HEAD, "Measure\tFirst\tSecond\tChange\tRepeatability\tVerdict");
  for (size_t i = 0; i < c->n_changes; i++) {
    const gn_change *x = &c->changes[i];
    if (!i || !gn_compare_same_place(x, x - 1)) {
      gn_buffer place = {0};
      gn_compare_place_words(&place, x);
      gn_compare_capital(&place);
      say_words(d, GN_FRONT_GROUP, &place);
    }
    row(d, x);
  }
}

static void courses(gn_document *d, gn_courses *all) {
  for (size_t i = 0; i < all->n; i++) {
    gn_course *c = &all->items[i];
    if (!i) gn_document_say(d, GN_FRONT_HEADING, "Over all visits");
    gn_document_say(d, GN_FRONT_STRONG, c->title);
    gn_document_picture(d, (gn_front_line){GN_FRONT_PICTURE, c->caption, gn_trend_drawer, &c->trend, GN_TREND_HEIGHT});
  }
}

static void compose(gn_document *d, const gn_comparison *c, const char *name, gn_courses *all) {
  gn_buffer visits = {0};
  const char *caution = gn_visits_text(c->exams[1], "caution");
  gn_document_say(d, GN_FRONT_TITLE, name);
  gn_buffer_puts(&visits, "First: ");
  gn_compare_visit_words(&visits, c, 0);
  gn_buffer_puts(&visits, ". Second: ");
  gn_compare_visit_words(&visits, c, 1);
  gn_buffer_printf(&visits, ".%s%s", gn_compare_order(c) ? " " : "", gn_compare_order(c) ? gn_compare_order(c) : "");
  say_words(d, GN_FRONT_BODY, &visits);
  gn_document_say(d, GN_FRONT_SMALL, "A screening aid, not a diagnosis: a licensed veterinarian decides. The caution at the end belongs to it.");
  answer(d, c);
  table(d, c);
  courses(d, all);
  gn_document_say(d, GN_FRONT_HEADING, "Caution");
  gn_document_say(d, GN_FRONT_BODY, caution ? caution : "A screening aid, not a diagnosis: a licensed veterinarian decides.");
}

girthline_status gn_compare_pdf(const gn_comparison *c, gn_store *store, void **data, size_t *n_bytes, girthline_error *error) {
  gn_document d = {0};
  gn_courses all = {0};
  gn_buffer words = {0};
  *data = NULL;
  *n_bytes = 0;
  gn_visits_animal_words(&words, c->animal.identifier, c->animal.name, c->animal.species);
  char *name = gn_buffer_take(&words);
  girthline_status status = name ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
  if (!status && store) status = gn_courses_read(store, c->animal.id, &all, error);
  if (!status) compose(&d, c, name, &all);
  if (!status && d.refused) status = gn_error_memory(error, STAGE);
  const gn_front front = {.lines = d.lines,
                          .n_lines = d.n,
                          .name = name,
                          .title = "Two visits, compared",
                          .date = gn_visits_text(json_object_get(c->exams[1], "examination"), "date"),
                          .columns = {0.25, 0.12, 0.12, 0.08, 0.11, 0.32}};
  if (!status) status = gn_pdf_write(&front, NULL, 0, NULL, data, n_bytes, error);
  gn_document_clear(&d);
  gn_courses_clear(&all);
  gn_free(name);
  return status;
}
