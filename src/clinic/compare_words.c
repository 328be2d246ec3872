// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A change as an answer, for the text, the page and the document.
#include "clinic/compare_words.h"

#include <string.h>

#include "base/memory.h"

bool gn_compare_is_change(gn_verdict v) { return v == GN_INCREASED || v == GN_DECREASED || v == GN_CHANGED || v == GN_NEW || v == GN_GONE; }

void gn_compare_capital(gn_buffer *words) {
  if (words->n && *words->text >= 'a' && *words->text <= 'z') *words->text = (char)(*words->text - 'a' + 'A');
}

// Of a murmur that came or went it is not the level that is told.
static void said_words(gn_buffer *out, const gn_change *x) {
  const char *level = x->verdict == GN_NEW || x->verdict == GN_GONE ? strstr(x->label, ", level") : NULL;
  gn_buffer_printf(out, "%.*s: %s", (int)(level ? (size_t)(level - x->label) : strlen(x->label)), x->label, gn_verdict_words(x->verdict));
}

// What stands against the comparison of every place alike; NULL where the rows differ in it.
static const char *one_reason(const gn_comparison *c) {
  const char *reason = NULL;
  for (size_t i = 0; i < c->n_changes; i++) {
    if (c->changes[i].whole_visit) continue;
    if (reason && strcmp(reason, c->changes[i].reason)) return NULL;
    reason = c->changes[i].reason;
  }
  return reason;
}

static void none_words(gn_buffer answer[GN_N_ANSWER], const gn_comparison *c) {
  const char *reason = one_reason(c);
  bool any = false;
  for (size_t i = 0; i < c->n_changes; i++) any = any || (!c->changes[i].whole_visit && c->changes[i].verdict == GN_WITHIN_REPEATABILITY);
  gn_buffer_puts(&answer[GN_ANSWER_PLACE], "All places");
  gn_buffer_puts(&answer[GN_ANSWER_SAID], any ? "No change that counts" : "No place could be compared");
  if (!any && reason) {
    gn_buffer_printf(&answer[GN_ANSWER_WHY], "%s.", reason);
    gn_compare_capital(&answer[GN_ANSWER_WHY]);
    return;
  }
  gn_buffer_puts(&answer[GN_ANSWER_WHY], any ? "Nothing that could be compared differs by more than recordings like these vary within themselves."
                                             : "What was recorded at one visit has nothing of its kind at the other, or could not be read; each row says why.");
}

static void put_value(gn_buffer *out, const gn_change *x, int visit) {
  gn_compare_value_words(out, x, visit);
  if (x->unit[0] && x->values[visit].kind == GN_VALUE_NUMBER) gn_buffer_printf(out, " %s", x->unit);
}

static void why_words(gn_buffer *out, const gn_change *x) {
  gn_buffer why = {0};
  put_value(&why, x, 0);
  gn_buffer_puts(&why, " at the first visit, ");
  put_value(&why, x, 1);
  gn_buffer_puts(&why, " at the second: ");
  gn_buffer_puts(&why, x->reason);
  gn_buffer_puts(&why, ".");
  gn_compare_capital(&why);
  char *text = gn_buffer_take(&why);
  if (text) gn_buffer_puts(out, text);
  else out->refused = true;
  gn_free(text);
}

void gn_compare_answers(const gn_comparison *c, gn_compare_tell tell, void *user) {
  gn_buffer answer[GN_N_ANSWER] = {{0}};
  size_t n = 0;
  for (size_t i = 0; i < c->n_changes; i++) {
    const gn_change *x = &c->changes[i];
    if (!gn_compare_is_change(x->verdict)) continue;
    n++;
    gn_compare_place_words(&answer[GN_ANSWER_PLACE], x);
    gn_compare_capital(&answer[GN_ANSWER_PLACE]);
    said_words(&answer[GN_ANSWER_SAID], x);
    why_words(&answer[GN_ANSWER_WHY], x);
    tell(user, answer);
  }
  if (n) return;
  none_words(answer, c);
  tell(user, answer);
}

void gn_compare_open_words(gn_buffer *out, const gn_comparison *c) {
  size_t n_open = 0;
  for (size_t i = 0; i < c->n_changes; i++) n_open += c->changes[i].verdict == GN_UNDETERMINED || c->changes[i].verdict == GN_NOT_COMPARABLE;
  if (n_open) gn_buffer_printf(out, "%zu of %zu comparisons could not be made or decided; each row says why. ", n_open, c->n_changes);
  gn_buffer_puts(out, gn_compare_note);
}
