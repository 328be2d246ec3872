// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/memory.h"
#include "clinic/compare_words.h"
#include "clinic/visits_json.h"
#include "clinic/visits_words.h"
#include "report/wrap.h"

void gn_compare_place_words(gn_buffer *out, const gn_change *x) {
  if (x->whole_visit) {
    gn_buffer_puts(out, "whole visit");
    return;
  }
  if (!x->side && !x->area) gn_buffer_puts(out, "place not stated");
  gn_buffer_printf(out, "%s%s%s", x->side ? x->side : "", x->side && x->area ? " " : "", x->area ? x->area : "");
  if (isnan(x->minutes_after_exercise)) return;
  gn_buffer_puts(out, ", ");
  gn_buffer_number(out, x->minutes_after_exercise, 2);
  gn_buffer_puts(out, " min after exercise");
}

static bool same_text(const char *a, const char *b) { return a == b || (a && b && !strcmp(a, b)); }

bool gn_compare_same_place(const gn_change *a, const gn_change *b) {
  const double s = a->minutes_after_exercise, t = b->minutes_after_exercise;
  return a->whole_visit == b->whole_visit && same_text(a->side, b->side) && same_text(a->area, b->area) && ((isnan(s) && isnan(t)) || s == t);
}

void gn_compare_value_words(gn_buffer *out, const gn_change *x, int visit) {
  const gn_value *v = &x->values[visit];
  if (v->kind == GN_VALUE_NUMBER) {
    gn_buffer_signed(out, v->number, x->decimals);
  } else {
    gn_buffer_puts(out, v->kind == GN_VALUE_WORD ? v->word : v->kind == GN_VALUE_ABSENT ? "none" : "not determined");
  }
}

void gn_compare_change_words(gn_buffer *out, const gn_change *x) {
  const double change = gn_compare_change(x, x->decimals);
  if (isnan(change)) return;
  if (change > 0) gn_buffer_puts(out, "+");
  gn_buffer_signed(out, change, x->decimals);
}

void gn_compare_repeatability_words(gn_buffer *out, const gn_change *x) {
  if (x->values[0].kind == GN_VALUE_WORD || x->values[1].kind == GN_VALUE_WORD || x->verdict == GN_NOT_COMPARABLE) return;
  if (x->values[0].kind == GN_VALUE_ABSENT && x->values[1].kind == GN_VALUE_ABSENT) return;
  if (isnan(x->repeatability)) gn_buffer_puts(out, "unknown");
  else gn_buffer_fixed(out, x->repeatability, x->decimals);
}

void gn_compare_visit_words(gn_buffer *out, const gn_comparison *c, int visit) {
  const json_t *examination = json_object_get(c->exams[visit], "examination");
  const char *date = gn_visits_text(examination, "date"), *examiner = gn_visits_text(examination, "examiner");
  if (c->ids[visit]) gn_buffer_printf(out, "visit %lld, ", c->ids[visit]);
  gn_buffer_printf(out, "%s%s%s", date ? date : "no date", examiner ? ", " : "", examiner ? examiner : "");
}

typedef void (*cell_words)(gn_buffer *, const gn_change *);
static void first_words(gn_buffer *out, const gn_change *x) { gn_compare_value_words(out, x, 0); }
static void second_words(gn_buffer *out, const gn_change *x) { gn_compare_value_words(out, x, 1); }
static void verdict_words(gn_buffer *out, const gn_change *x) { gn_buffer_puts(out, gn_verdict_words(x->verdict)); }
static void label_words(gn_buffer *out, const gn_change *x) { gn_buffer_printf(out, x->unit[0] ? "%s, %s" : "%s", x->label, x->unit); }

enum { LABEL = 0, VERDICT = 5, N_COLUMNS = 6 };
static const struct {
  const char *heading;
  int width; // the least that can be read, columns
  cell_words words;
} COLUMNS[N_COLUMNS] = {{"", 18, label_words},        {"first", 11, first_words},
                        {"second", 11, second_words}, {"change", 7, gn_compare_change_words},
                        {"repeat.", 7, gn_compare_repeatability_words}, {"verdict", 14, verdict_words}};
#define ROW_INDENT 2
#define TABLE_LEAST 80   ///< narrower: a sentence instead of a row
#define VERDICT_WHOLE 20 ///< "within repeatability" in one line; with less room its second word is shortened as the column of that name is

static char *cell(gn_wrap *w, cell_words words, const gn_change *x) {
  gn_buffer out = {0};
  words(&out, x);
  char *text = gn_buffer_take(&out);
  w->out.refused = w->out.refused || !text;
  return text;
}

static void put_cells(gn_wrap *w, const char *const *cells) {
  const char *fitting[N_COLUMNS];
  int widths[N_COLUMNS], room = w->width - TABLE_LEAST;
  const int wider = room < VERDICT_WHOLE - COLUMNS[VERDICT].width ? room : VERDICT_WHOLE - COLUMNS[VERDICT].width;
  for (int i = 0; i < N_COLUMNS; i++) widths[i] = COLUMNS[i].width, fitting[i] = cells[i];
  widths[VERDICT] += wider;
  widths[LABEL] += room - wider;
  if (widths[VERDICT] < VERDICT_WHOLE && !strcmp(cells[VERDICT], gn_verdict_words(GN_WITHIN_REPEATABILITY))) fitting[VERDICT] = "within repeat.";
  gn_wrap_row(w, ROW_INDENT, fitting, widths, N_COLUMNS);
}

static void put_sentence(gn_wrap *w, char *const *cells) {
  gn_buffer words = {0};
  gn_buffer_printf(&words, "%s: %s, then %s", cells[0], cells[1], cells[2]);
  if (*cells[3] || *cells[4]) gn_buffer_printf(&words, " (%s%s%s%s%s)", *cells[3] ? "change " : "", cells[3], *cells[3] && *cells[4] ? ", " : "", *cells[4] ? "repeatability " : "", cells[4]);
  gn_buffer_printf(&words, "; %s", cells[5]);
  char *text = gn_buffer_take(&words);
  if (text) gn_wrap_paragraph(w, GN_PLAIN, "", ROW_INDENT, ROW_INDENT + 2, text);
  w->out.refused = w->out.refused || !text;
  gn_free(text);
}

static void put_row(gn_wrap *w, const gn_change *x) {
  char *cells[N_COLUMNS];
  bool whole = true;
  for (int i = 0; i < N_COLUMNS; i++) whole = (cells[i] = cell(w, COLUMNS[i].words, x)) && whole;
  if (whole && w->width >= TABLE_LEAST) put_cells(w, (const char *const *)cells);
  else if (whole) put_sentence(w, cells);
  for (int i = 0; i < N_COLUMNS; i++) gn_free(cells[i]);
  const bool plain = x->verdict == GN_WITHIN_REPEATABILITY && !(fabs(x->change) > x->repeatability); // what the numbers beside it show
  if (!plain) gn_wrap_paragraph(w, GN_PLAIN, "", 6, 6, x->reason);
}

static void put_headings(gn_wrap *w) {
  const char *cells[N_COLUMNS];
  for (int i = 0; i < N_COLUMNS; i++) cells[i] = COLUMNS[i].heading;
  if (w->width >= TABLE_LEAST) put_cells(w, cells);
}

static void put_place(gn_wrap *w, const gn_change *x) {
  gn_buffer words = {0};
  gn_compare_place_words(&words, x);
  gn_compare_capital(&words);
  char *heading = gn_buffer_take(&words);
  if (heading) gn_wrap_heading(w, heading);
  else w->out.refused = true;
  gn_free(heading);
}

static void put_title(gn_wrap *w, const gn_comparison *c) {
  gn_buffer words = {0};
  gn_visits_animal_words(&words, c->animal.identifier, c->animal.name, c->animal.species);
  gn_buffer_puts(&words, ": first ");
  gn_compare_visit_words(&words, c, 0);
  gn_buffer_puts(&words, "; second ");
  gn_compare_visit_words(&words, c, 1);
  char *text = gn_buffer_take(&words);
  if (text) gn_wrap_paragraph(w, GN_STRONG, "", 0, 0, text);
  else w->out.refused = true;
  gn_free(text);
}

#define ANSWER_COLUMN 20 ///< columns, where the answers begin: a choice, "Place not stated" and two more fit before it

static void put_answer(void *user, gn_buffer answer[GN_N_ANSWER]) {
  gn_wrap *w = user;
  char *label = gn_buffer_take(&answer[GN_ANSWER_PLACE]), *reason = gn_buffer_take(&answer[GN_ANSWER_WHY]);
  gn_buffer_printf(&answer[GN_ANSWER_SAID], ". %s", reason ? reason : "");
  char *text = gn_buffer_take(&answer[GN_ANSWER_SAID]);
  if (label && reason && text) gn_wrap_paragraph(w, GN_PLAIN, label, ROW_INDENT, ANSWER_COLUMN, text);
  else w->out.refused = true;
  gn_free(label);
  gn_free(reason);
  gn_free(text);
}

static void put_rest(gn_wrap *w, const gn_comparison *c) {
  gn_buffer words = {0};
  gn_wrap_heading(w, "What this rests on");
  gn_compare_open_words(&words, c);
  char *text = gn_buffer_take(&words);
  if (text) gn_wrap_paragraph(w, GN_PLAIN, "", ROW_INDENT, ROW_INDENT, text);
  else w->out.refused = true;
  gn_free(text);
  gn_wrap_paragraph(w, GN_PLAIN, "", ROW_INDENT, ROW_INDENT, "A screening aid, not a diagnosis: a licensed veterinarian decides.");
}

char *gn_compare_text(const gn_comparison *c, int width) {
  gn_wrap w = {.width = width};
  put_title(&w, c);
  if (gn_compare_order(c)) gn_wrap_paragraph(&w, GN_PLAIN, "", 0, 0, gn_compare_order(c));
  gn_wrap_heading(&w, "What differs"); // the changes alone, first: what a reader asks for
  gn_compare_answers(c, put_answer, &w);
  for (size_t i = 0; i < c->n_changes; i++) {
    const gn_change *x = &c->changes[i];
    if (!i || !gn_compare_same_place(x, x - 1)) {
      put_place(&w, x);
      if (!i) put_headings(&w);
    }
    put_row(&w, x);
  }
  put_rest(&w, c);
  gn_buffer_printf(&w.out, "\nWritten by girthline %s\n", girthline_version());
  return gn_buffer_take(&w.out);
}
