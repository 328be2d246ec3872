// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The examination to print: what its page says, as lines, and then each recording's two pages.
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/parts.h"
#include "report/page.h"
#include "report/pdf_front.h"

#define MOST_LINE_BYTES 600 ///< a longer text is set as several lines, so that a page can end between them

typedef struct document {
  gn_front_line *lines;
  size_t n, capacity;
  bool refused;
} document;

static void push(document *d, gn_front_kind kind, char *text) {
  void *items = d->lines;
  if (!text || gn_grow(&items, &d->capacity, d->n + 1, sizeof *d->lines)) {
    gn_free(text);
    d->refused = true;
    return;
  }
  d->lines = items;
  d->lines[d->n++] = (gn_front_line){kind, text};
}

static void say(document *d, gn_front_kind kind, const char *text) {
  if (text && *text) push(d, kind, gn_strdup(text));
}

// Where a long text may be parted: at a line's end, else at the last space, else between two characters.
static size_t piece(const char *text) {
  const size_t line = strcspn(text, "\n");
  if (line <= MOST_LINE_BYTES) return line;
  size_t n = MOST_LINE_BYTES;
  while (n > MOST_LINE_BYTES / 2 && text[n] != ' ') n--;
  if (text[n] == ' ') return n;
  for (n = MOST_LINE_BYTES; n && ((unsigned char)text[n] & 0xC0) == 0x80;) n--;
  return n ? n : MOST_LINE_BYTES;
}

static void labelled(document *d, const char *label, const char *text) {
  bool first = true;
  while (*text) {
    const size_t n = piece(text);
    if (n) push(d, GN_FRONT_BODY, gn_strprintf("%s%s%.*s", first ? label : "    ", first ? ": " : "", (int)n, text));
    first = first && !n;
    text += n;
    if (*text == '\n' || *text == ' ') text++;
  }
}

static void given(document *d, const gn_exam *e, int section, const char *heading) {
  bool headed = false;
  for (size_t k = 0; k < gn_exam_sections[section].n_keys; k++) {
    const char *text = gn_exam_text(e, section, (int)k);
    if (!text) continue;
    if (!headed) say(d, GN_FRONT_HEADING, heading);
    headed = true;
    labelled(d, gn_exam_label(section, k), text);
  }
}

static void answer(document *d, const gn_examined *x) {
  const gn_pooled_rate *r = &x->rate;
  say(d, GN_FRONT_HEADING, "The answer, over all recordings");
  if (isfinite(r->settled_bpm)) push(d, GN_FRONT_SAID, gn_strprintf("%.0f beats a minute at rest", r->settled_bpm));
  else say(d, GN_FRONT_SAID, "The rate at rest was not determined");
  if (isfinite(r->settled_bpm)) push(d, GN_FRONT_BODY, gn_strprintf("From %zu recordings, %.0f to %.0f; the mean over all beats is %.0f.", x->n_pooled, r->min_bpm, r->max_bpm, r->mean_bpm));
  say(d, GN_FRONT_SAID, x->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED ? "The rhythm was not determined" : gn_page_pattern(x->rhythm.pattern));
  say(d, GN_FRONT_BODY, x->rhythm.explanation);
  char said[200] = "", why[600] = "";
  gn_exam_murmur_words(x, said, why);
  push(d, GN_FRONT_SAID, gn_strprintf("Between the beats: %s", said));
  say(d, GN_FRONT_BODY, why);
}

static void findings(document *d, const gn_examined *x) {
  say(d, GN_FRONT_HEADING, "What this asks for");
  for (size_t i = 0; i < x->n_findings; i++) {
    const gn_exam_finding *f = &x->findings[i];
    push(d, GN_FRONT_STRONG, gn_strprintf("%s: %s", gn_page_urgency(f->urgency), f->text));
    say(d, GN_FRONT_BODY, f->advice);
    say(d, GN_FRONT_SMALL, f->evidence);
  }
}

static void compose(document *d, const gn_examined *x, const char *name) {
  say(d, GN_FRONT_TITLE, name);
  push(d, GN_FRONT_BODY, gn_strprintf("%s%s; %zu recordings. A screening aid, not a diagnosis: a licensed veterinarian decides.", girthline_species_name(x->species),
                                      x->species_assumed ? " (assumed: none was named)" : "", x->exam->n_recordings));
  answer(d, x);
  findings(d, x);
  say(d, GN_FRONT_HEADING, "The areas beside one another, on one scale of level");
  say(d, GN_FRONT_AREAS, "areas");
  given(d, x->exam, GN_SECTION_SIGNS, "The signs, as given");
  given(d, x->exam, GN_SECTION_ELSEWHERE, "Found by other examinations, as given");
  given(d, x->exam, GN_SECTION_ANIMAL, "Animal");
  given(d, x->exam, GN_SECTION_EXAMINATION, "Examination");
  say(d, GN_FRONT_HEADING, "Caution");
  say(d, GN_FRONT_BODY, girthline_caution(x->species));
}

typedef struct recordings {
  girthline_report_input inputs[GN_EXAM_MOST_RECORDINGS];
  char *titles[GN_EXAM_MOST_RECORDINGS];
  size_t n;
} recordings;

static bool gather(const gn_examined *x, recordings *all) {
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!gn_examined_input(x, i, &all->inputs[all->n])) continue;
    all->titles[all->n] = gn_strprintf("%s (%s)", x->exam->recordings[i].name, x->exam->recordings[i].values[GN_REC_FILE].text);
    if (!all->titles[all->n]) return false;
    all->inputs[all->n].name = all->titles[all->n];
    all->n++;
  }
  return true;
}

girthline_status gn_exam_pdf(const gn_examined *x, void **data, size_t *n_bytes, girthline_error *error) {
  const char *animal = gn_exam_text(x->exam, GN_SECTION_ANIMAL, GN_ANIMAL_NAME), *date = gn_exam_text(x->exam, GN_SECTION_EXAMINATION, GN_EXAM_DATE);
  document d = {0};
  recordings *all = gn_new(1, sizeof *all);
  char *name = gn_strprintf("%s%s%s", animal ? animal : "Animal without a name", date ? ", " : "", date ? date : "");
  girthline_status status = GIRTHLINE_NO_MEMORY;
  if (all && name && gather(x, all)) {
    compose(&d, x, name);
    const girthline_report_options options = {.scale_to = all->inputs, .n_scale_to = all->n};
    const gn_front front = {d.lines, d.n, name, (const char *const *)all->titles};
    if (!d.refused) status = gn_pdf_write(&front, all->inputs, all->n, &options, data, n_bytes, error);
  }
  if (status == GIRTHLINE_NO_MEMORY) gn_error_memory(error, "exam");
  for (size_t i = 0; i < d.n; i++) gn_free((void *)(uintptr_t)d.lines[i].text);
  for (size_t i = 0; all && i < all->n; i++) gn_free(all->titles[i]);
  gn_free(d.lines);
  gn_free(all);
  gn_free(name);
  return status;
}
