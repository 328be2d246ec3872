// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A change as an answer, for the text, the page and the document.
#include "clinic/compare_words.h"

#include <string.h>

#include "base/memory.h"
#include "clinic/date.h"
#include "clinic/visits_json.h"

bool gn_compare_is_change(gn_verdict v) { return v == GN_INCREASED || v == GN_DECREASED || v == GN_CHANGED || v == GN_NEW || v == GN_GONE; }

void gn_compare_capital(gn_buffer *words) {
  if (words->n && *words->text >= 'a' && *words->text <= 'z') *words->text = (char)(*words->text - 'a' + 'A');
}

static bool is_open(const gn_change *x) { return x->verdict == GN_UNDETERMINED || x->verdict == GN_NOT_COMPARABLE; }

// A murmur heard at one visit at least of which nothing can be told: whoever asks after the murmur is owed that too.
static bool is_open_murmur(const gn_change *x) {
  return is_open(x) && strstr(x->label, "urmur") && strstr(x->label, ", level") && (x->values[0].kind == GN_VALUE_NUMBER || x->values[1].kind == GN_VALUE_NUMBER);
}

// Of a murmur that came or went, or of which nothing can be told, it is not the level that is told.
static void said_words(gn_buffer *out, const gn_change *x) {
  const char *level = x->verdict == GN_NEW || x->verdict == GN_GONE || is_open(x) ? strstr(x->label, ", level") : NULL;
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

static bool any_compared(const gn_comparison *c) {
  for (size_t i = 0; i < c->n_changes; i++)
    if (!c->changes[i].whole_visit && c->changes[i].verdict == GN_WITHIN_REPEATABILITY) return true;
  return false;
}

static void none_words(gn_buffer answer[GN_N_ANSWER], const gn_comparison *c) {
  const char *reason = one_reason(c);
  const bool any = any_compared(c);
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
  if (x->reason[strlen(x->reason) - 1] != '.') gn_buffer_puts(&why, "."); // a report's own reason is a whole sentence
  gn_compare_capital(&why);
  char *text = gn_buffer_take(&why);
  if (text) gn_buffer_puts(out, text);
  else out->refused = true;
  gn_free(text);
}

// The mean interval says no more than the rate does where both have changed.
static bool said_by_the_rate(const gn_comparison *c, size_t i) {
  return !strcmp(c->changes[i].what, "mean-interval") && i && !strcmp(c->changes[i - 1].what, "rate") && gn_compare_is_change(c->changes[i - 1].verdict);
}

static void tell_change(const gn_change *x, gn_compare_tell tell, void *user) {
  gn_buffer answer[GN_N_ANSWER] = {{0}};
  gn_compare_place_words(&answer[GN_ANSWER_PLACE], x);
  gn_compare_capital(&answer[GN_ANSWER_PLACE]);
  said_words(&answer[GN_ANSWER_SAID], x);
  why_words(&answer[GN_ANSWER_WHY], x);
  tell(user, answer);
}

void gn_compare_answers(const gn_comparison *c, gn_compare_tell tell, void *user) {
  size_t n = 0;
  for (size_t i = 0; i < c->n_changes; i++) {
    if (!gn_compare_is_change(c->changes[i].verdict) || said_by_the_rate(c, i)) continue;
    n++;
    tell_change(&c->changes[i], tell, user);
  }
  if (!n) {
    gn_buffer answer[GN_N_ANSWER] = {{0}};
    none_words(answer, c);
    tell(user, answer);
    if (!any_compared(c)) return;
  }
  for (size_t i = 0; i < c->n_changes; i++)
    if (is_open_murmur(&c->changes[i])) tell_change(&c->changes[i], tell, user);
}

const char *gn_compare_order(const gn_comparison *c) {
  gn_date days[2];
  for (int i = 0; i < 2; i++) {
    const char *date = gn_visits_text(json_object_get(c->exams[i], "examination"), "date");
    if (!date || !gn_date_parse(date, true, &days[i])) return NULL;
  }
  return days[1].last < days[0].first ? "The second visit is the earlier one: every change is told backwards in time." : NULL;
}

void gn_compare_open_words(gn_buffer *out, const gn_comparison *c) {
  size_t n_open = 0;
  for (size_t i = 0; i < c->n_changes; i++) n_open += is_open(&c->changes[i]);
  if (n_open) gn_buffer_printf(out, "%zu of %zu comparisons could not be made or decided; each row says why. ", n_open, c->n_changes);
  gn_buffer_puts(out, gn_compare_note);
}
