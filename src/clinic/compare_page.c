// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/compare_trend.h"
#include "clinic/compare_words.h"
#include "clinic/visits_json.h"
#include "clinic/visits_words.h"
#include "report/frame.h"
#include "report/html.h"

#define STAGE "visits"

// What `words` holds, escaped.
static void put_words(gn_html *h, gn_buffer *words) {
  char *text = gn_buffer_take(words);
  if (text) gn_html_prose(h, text);
  else h->failed = true;
  gn_free(text);
}

static void cell(gn_html *h, const char *name, gn_buffer *words) {
  gn_html_format(h, "<td role=\"cell\" data-name=\"%s\">", name);
  put_words(h, words);
  gn_html_raw(h, "</td>");
}

static void table_row(gn_html *h, const gn_change *x) {
  gn_buffer words = {0};
  gn_html_format(h, "<tr class=\"verdict-%s\" role=\"row\"><th scope=\"row\" role=\"rowheader\">", gn_verdict_name(x->verdict));
  gn_html_text(h, x->label);
  if (x->unit[0]) gn_html_format(h, ", %s", x->unit);
  gn_html_raw(h, "</th>");
  gn_compare_value_words(&words, x, 0);
  cell(h, "First", &words);
  gn_compare_value_words(&words, x, 1);
  cell(h, "Second", &words);
  gn_compare_change_words(&words, x);
  cell(h, "Change", &words);
  gn_compare_repeatability_words(&words, x);
  cell(h, "Repeatability", &words);
  gn_html_format(h, "<td role=\"cell\"><span%s>%s</span> <span class=\"why\">", gn_compare_is_change(x->verdict) ? " class=\"told\"" : "", gn_verdict_words(x->verdict));
  gn_html_prose(h, x->reason);
  gn_html_raw(h, "</span></td></tr>\n");
}

static void table_head(gn_html *h, const gn_comparison *c) {
  gn_buffer words = {0};
  gn_html_raw(h, "<section>\n<h3>Side by side</h3>\n<table class=\"compare\" role=\"table\">\n<caption>First: ");
  gn_compare_visit_words(&words, c, 0);
  put_words(h, &words);
  gn_html_raw(h, ". Second: ");
  gn_compare_visit_words(&words, c, 1);
  put_words(h, &words);
  gn_html_raw(h, ".</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">");
  static const char *const HEADS[] = {"Measure", "First", "Second", "Change", "Repeatability", "Verdict"};
  for (size_t i = 0; i < sizeof HEADS / sizeof *HEADS; i++) gn_html_format(h, "<th scope=\"col\" role=\"columnheader\">%s</th>", HEADS[i]);
  gn_html_raw(h, "</tr></thead>\n");
}

static void table(gn_html *h, const gn_comparison *c) {
  table_head(h, c);
  for (size_t i = 0; i < c->n_changes; i++) {
    const gn_change *x = &c->changes[i];
    if (!i || !gn_compare_same_place(x, x - 1)) {
      gn_buffer words = {0};
      gn_html_raw(h, i ? "</tbody>\n<tbody role=\"rowgroup\">\n" : "<tbody role=\"rowgroup\">\n");
      gn_html_raw(h, "<tr class=\"group\" role=\"row\"><th scope=\"rowgroup\" colspan=\"6\" role=\"rowheader\">");
      gn_compare_place_words(&words, x);
      gn_compare_capital(&words);
      put_words(h, &words);
      gn_html_raw(h, "</th></tr>\n");
    }
    table_row(h, x);
  }
  gn_html_raw(h, "</tbody>\n</table>\n</section>\n");
}

static void answer_line(void *user, gn_buffer line[GN_N_ANSWER]) {
  gn_html *h = user;
  gn_html_raw(h, "<div><dt>");
  put_words(h, &line[GN_ANSWER_PLACE]);
  gn_html_raw(h, "</dt><dd><span class=\"said\">");
  put_words(h, &line[GN_ANSWER_SAID]);
  gn_html_raw(h, "</span> <span class=\"why\">");
  put_words(h, &line[GN_ANSWER_WHY]);
  gn_html_raw(h, "</span></dd></div>\n");
}

// The changes alone, first: what a reader asks for.
static void answer(gn_html *h, const gn_comparison *c) {
  gn_buffer open = {0};
  gn_html_raw(h, "<section class=\"answer\">\n<h3>What differs</h3>\n<dl class=\"lines\">\n");
  gn_compare_answers(c, answer_line, h);
  gn_html_raw(h, "</dl>\n<p class=\"why\">");
  gn_compare_open_words(&open, c);
  put_words(h, &open);
  gn_html_raw(h, "</p>\n</section>\n");
}

static void header(gn_html *h, const gn_comparison *c) {
  gn_buffer words = {0};
  gn_html_raw(h, "<article>\n<header>\n<h2>");
  gn_visits_animal_words(&words, c->animal.identifier, c->animal.name, c->animal.species);
  put_words(h, &words);
  gn_html_raw(h, "</h2>\n<p class=\"particulars\">");
  gn_compare_visit_words(&words, c, 0);
  gn_compare_capital(&words);
  gn_buffer_puts(&words, "; and ");
  gn_compare_visit_words(&words, c, 1);
  put_words(h, &words);
  if (gn_compare_order(c)) gn_html_format(h, ". %s", gn_compare_order(c));
  gn_html_raw(h, "</p>\n<p class=\"standing\">A screening aid, not a diagnosis: a licensed veterinarian decides. <a href=\"#caution\">Caution</a></p>\n</header>\n");
}

static void caution(gn_html *h, const gn_comparison *c) {
  const char *text = gn_visits_text(c->exams[1], "caution");
  gn_html_raw(h, "<section class=\"caution\" id=\"caution\">\n<h3>Caution</h3>\n<p>");
  gn_html_text(h, text ? text : "A screening aid, not a diagnosis: a licensed veterinarian decides.");
  gn_html_raw(h, "</p>\n</section>\n</article>\n");
}

char *gn_compare_page(const gn_comparison *c, gn_store *store, girthline_error *error) {
  gn_html h = {0};
  gn_buffer title = {0};
  gn_visits_animal_words(&title, c->animal.identifier, c->animal.name, c->animal.species);
  gn_buffer_puts(&title, ": two visits");
  char *name = gn_buffer_take(&title);
  if (name) gn_frame_open(&h, name, "Two visits, compared");
  else h.failed = true;
  gn_free(name);
  header(&h, c);
  answer(&h, c);
  girthline_status status = GIRTHLINE_OK;
  table(&h, c);
  gn_courses courses = {0};
  if (store) status = gn_courses_read(store, c->animal.id, &courses, error);
  if (!status) status = gn_courses_section(&courses, &h, error);
  gn_courses_clear(&courses);
  caution(&h, c);
  gn_frame_close(&h);
  if (!status && h.failed) status = gn_error_memory(error, STAGE);
  if (!status) return gn_html_take(&h);
  gn_html_clear(&h);
  return NULL;
}
