// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The examination's summary for a terminal.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "clinic/examined.h"
#include "clinic/parts.h"
#include "report/buffer.h"
#include "report/names.h"
#include "report/text_parts.h"
#include "report/wrap.h"

enum { COLUMN = 19, INDENT = 2, URGENCY_COLUMN = 15 };

static void flush(gn_wrap *w, const char *label, int indent, int column, gn_buffer *sentence) {
  if (sentence->refused) w->out.refused = true;
  else if (sentence->n) gn_wrap_paragraph(w, GN_STRONG, label, indent, column, sentence->text);
  gn_buffer_clear(sentence);
}

static void add(gn_buffer *s, const char *before, const char *text) {
  if (text) gn_buffer_printf(s, "%s%s", s->n ? before : "", text);
}

// Text over several lines, for a column: a line's end is a space.
static void paragraph(gn_wrap *w, const char *label, int indent, int column, const char *text) {
  gn_buffer s = {0};
  for (; *text; text++) gn_buffer_add(&s, *text == '\n' ? " " : text, 1);
  if (s.refused) w->out.refused = true;
  else gn_wrap_paragraph(w, GN_PLAIN, label, indent, column, s.text);
  gn_buffer_clear(&s);
}

static void head(gn_wrap *w, const gn_examined *x) {
  const gn_exam *e = x->exam;
  gn_buffer s = {0};
  add(&s, "", gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_NAME));
  add(&s, ", ", gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_IDENTIFIER));
  add(&s, ", ", girthline_species_name(x->species));
  if (x->species_assumed) gn_buffer_puts(&s, " (assumed: name it in [animal])");
  add(&s, ", ", gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_SEX));
  add(&s, ", born ", gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_BORN));
  flush(w, "", 0, 2, &s);
  for (int k = GN_EXAM_DATE; k <= GN_EXAM_HISTORY; k++)
    if (gn_exam_text(e, GN_SECTION_EXAMINATION, k))
      paragraph(w, gn_exam_label(GN_SECTION_EXAMINATION, (size_t)k), 0, COLUMN, gn_exam_text(e, GN_SECTION_EXAMINATION, k));
}

// Where it was recorded, if its name does not say that already, and when.
static void place(gn_buffer *s, const gn_exam_recording *rec) {
  add(s, ", ", girthline_side_name(rec->side));
  add(s, " ", girthline_area_name(rec->area));
  if (s->n && !strcmp(s->text, rec->name)) gn_buffer_clear(s);
  if (rec->minutes_after_exercise >= 0) {
    gn_buffer_puts(s, s->n ? ", " : "");
    gn_buffer_number(s, rec->minutes_after_exercise, 2);
    gn_buffer_puts(s, " min after exercise");
  }
  if (s->n) gn_buffer_puts(s, ". ");
}

// The end of a sentence that may have one already.
static void stop(gn_buffer *s, const char *next) { gn_buffer_printf(s, "%s%s", s->n && s->text[s->n - 1] == '.' ? "" : ".", next); }

static void recordings(gn_wrap *w, const gn_examined *x) {
  gn_buffer s = {0};
  gn_wrap_heading(w, "Recordings");
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    place(&s, &x->exam->recordings[i]);
    const girthline_result *r = x->recordings[i].result;
    if (!r) {
      gn_buffer_printf(&s, "Not analysed: %s", x->recordings[i].reason);
      stop(&s, "");
    } else {
      gn_buffer_puts(&s, "Rate: ");
      gn_text_rate(&s, r);
      stop(&s, " Rhythm: ");
      gn_text_rhythm(&s, r);
      stop(&s, " Between the beats: ");
      gn_text_murmur(&s, r);
      stop(&s, " ");
      gn_text_quality(&s, r);
    }
    flush(w, x->exam->recordings[i].name, INDENT, COLUMN + 4, &s);
  }
}

static void signs(gn_wrap *w, const gn_exam *e, int section, const char *heading) {
  bool headed = false;
  for (size_t k = 0; k < gn_exam_sections[section].n_keys; k++) {
    const char *text = gn_exam_text(e, section, (int)k);
    if (!text) continue;
    if (!headed) gn_wrap_heading(w, heading);
    headed = true;
    paragraph(w, gn_exam_label(section, k), INDENT, COLUMN + 4, text);
  }
}

static void findings(gn_wrap *w, const gn_examined *x) {
  static const char *const URGENCIES[] = {"routine", "soon", "before work", "now"};
  static const gn_style STYLES[] = {GN_STRONG, GN_WARN, GN_WARN, GN_ALARM};
  gn_wrap_heading(w, "Findings");
  for (size_t i = 0; i < x->n_findings; i++) {
    const gn_exam_finding *f = &x->findings[i];
    const unsigned u = (unsigned)f->urgency <= GIRTHLINE_NOW ? (unsigned)f->urgency : 0;
    gn_wrap_paragraph(w, STYLES[u], URGENCIES[u], INDENT, URGENCY_COLUMN, f->text);
    if (f->advice[0]) gn_wrap_paragraph(w, GN_PLAIN, "", URGENCY_COLUMN, URGENCY_COLUMN, f->advice);
  }
  gn_wrap_paragraph(w, GN_PLAIN, "", INDENT, INDENT, "The evidence for each stands in the page and in the JSON report.");
}

char *gn_exam_text_report(const gn_examined *x, const girthline_report_options *options, girthline_error *error) {
  gn_wrap w = {.width = options && options->width > 0 ? options->width : 80, .colour = options && options->colour};
  head(&w, x);
  findings(&w, x);
  signs(&w, x->exam, GN_SECTION_SIGNS, "Signs, as given");
  signs(&w, x->exam, GN_SECTION_ELSEWHERE, "Found elsewhere, as given");
  recordings(&w, x);
  gn_buffer_puts(&w.out, "\n");
  gn_wrap_paragraph(&w, GN_PLAIN, "", 0, 0, girthline_caution(x->species));
  gn_buffer_printf(&w.out, "\nWritten by girthline %s\n", girthline_version());
  char *text = gn_buffer_take(&w.out);
  if (!text) gn_error_memory(error, "exam");
  return text;
}
