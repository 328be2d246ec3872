// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The summary for a terminal: the answer, how far to trust it, what was found, what was not.
#include <girthline/report.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "report/buffer.h"
#include "report/names.h"
#include "report/reasons.h"
#include "report/text_parts.h"
#include "report/wrap.h"

enum { ANSWER_COLUMN = 19, DETAIL_INDENT = 2, URGENCY_COLUMN = 15 };

// Writes a sentence held in a buffer as a paragraph and empties it.
static void flush(gn_wrap *w, const char *label, int indent, int column, gn_buffer *sentence) {
  if (sentence->refused) w->out.refused = true;
  else if (sentence->n) gn_wrap_paragraph(w, GN_STRONG, label, indent, column, sentence->text);
  gn_buffer_clear(sentence);
}

static void write_title(gn_wrap *w, const girthline_report_input *input) {
  const girthline_result *r = input->result;
  const char *species = girthline_species_name(r->settings.species);
  gn_buffer s = {0};
  gn_buffer_printf(&s, "%s: %s%s", input->name && *input->name ? input->name : "recording", species ? species : "animal",
                   r->settings.species_assumed ? " (assumed: name another with --species)" : "");
  if (isfinite(r->recording.duration_s)) gn_buffer_puts(&s, ", ");
  gn_text_length(&s, r);
  if (girthline_side_name(r->settings.side)) gn_buffer_printf(&s, ", %s side", girthline_side_name(r->settings.side));
  if (girthline_area_name(r->settings.area)) gn_buffer_printf(&s, ", %s area", girthline_area_name(r->settings.area));
  if (r->settings.minutes_after_exercise >= 0) {
    gn_buffer_puts(&s, ", ");
    gn_buffer_number(&s, r->settings.minutes_after_exercise, 2);
    gn_buffer_puts(&s, " min after exercise");
  }
  flush(w, "", 0, 2, &s);
}

static void write_answer(gn_wrap *w, const girthline_result *r) {
  gn_buffer s = {0};
  gn_text_rate(&s, r);
  flush(w, "Rate", 0, ANSWER_COLUMN, &s);
  gn_text_rhythm(&s, r);
  flush(w, "Rhythm", 0, ANSWER_COLUMN, &s);
  gn_text_murmur(&s, r);
  flush(w, "Between the beats", 0, ANSWER_COLUMN, &s);
}

static void write_trust(gn_wrap *w, const girthline_result *r) {
  gn_buffer s = {0};
  gn_wrap_heading(w, "How far to trust it");
  gn_text_quality(&s, r);
  flush(w, "", DETAIL_INDENT, DETAIL_INDENT, &s);
  gn_text_problems(&s, &r->quality);
  flush(w, "", DETAIL_INDENT, DETAIL_INDENT, &s);
  if (r->settings.species_assumed)
    gn_wrap_paragraph(w, GN_PLAIN, "", DETAIL_INDENT, DETAIL_INDENT, "No species was named; a horse was assumed, and another animal's heart may be misread.");
  if (r->beats_given) gn_wrap_paragraph(w, GN_PLAIN, "", DETAIL_INDENT, DETAIL_INDENT, "The heart sounds were given by hand, not read from the recording.");
  if (r->recording.repaired) gn_wrap_paragraph(w, GN_PLAIN, "", DETAIL_INDENT, DETAIL_INDENT, GN_TEXT_REPAIRED);
}

static void write_sounds(gn_wrap *w, const girthline_result *r) {
  gn_buffer s = {0};
  gn_wrap_heading(w, "Sounds and intervals");
  gn_text_beats(&s, r);
  flush(w, "", DETAIL_INDENT, DETAIL_INDENT, &s);
  for (size_t i = 0; i < r->n_extras; i++) {
    gn_text_extra(&s, &r->extras[i]);
    flush(w, "", DETAIL_INDENT, DETAIL_INDENT, &s);
  }
  for (size_t i = 0; i < r->murmur.n_phases; i++) {
    gn_text_murmur_phase(&s, &r->murmur.phases[i]);
    flush(w, "", DETAIL_INDENT, DETAIL_INDENT, &s);
  }
  if (r->n_beats && r->rhythm.explanation[0]) gn_wrap_paragraph(w, GN_PLAIN, "", DETAIL_INDENT, DETAIL_INDENT, r->rhythm.explanation);
  gn_text_variability(&s, &r->rhythm);
  flush(w, "", DETAIL_INDENT, DETAIL_INDENT, &s);
}

static void write_findings(gn_wrap *w, const girthline_result *r) {
  static const char *const URGENCIES[] = {"routine", "soon", "before work", "now"};
  static const gn_style STYLES[] = {GN_STRONG, GN_WARN, GN_WARN, GN_ALARM};
  gn_wrap_heading(w, "Findings");
  if (!r->n_findings) gn_wrap_paragraph(w, GN_PLAIN, "", DETAIL_INDENT, DETAIL_INDENT, "None.");
  for (size_t i = 0; i < r->n_findings; i++) {
    const girthline_finding *f = &r->findings[i];
    const unsigned u = (unsigned)f->urgency <= GIRTHLINE_NOW ? (unsigned)f->urgency : 0;
    gn_wrap_paragraph(w, STYLES[u], URGENCIES[u], DETAIL_INDENT, URGENCY_COLUMN, f->text ? f->text : f->kind);
    if (*gn_text_advice(r, i)) gn_wrap_paragraph(w, GN_PLAIN, "", URGENCY_COLUMN, URGENCY_COLUMN, gn_text_advice(r, i));
  }
  if (r->n_findings) gn_wrap_paragraph(w, GN_PLAIN, "", DETAIL_INDENT, DETAIL_INDENT, "The evidence for each stands in the page and in the JSON report.");
}

static void write_undetermined(gn_wrap *w, const girthline_result *r) {
  gn_buffer s = {0};
  if (!r->n_beats) { // the answer has said why, and the other measures have no reason of their own
    gn_wrap_heading(w, "Not determined");
    gn_wrap_paragraph(w, GN_PLAIN, "", DETAIL_INDENT, DETAIL_INDENT, "Rate, rhythm and murmurs, and every measure that rests on beats: none were found.");
    return;
  }
  bool said[GN_TEXT_N_MEASURES] = {false};
  bool headed = false;
  for (size_t i = 0; i < GN_TEXT_N_MEASURES; i++) {
    if (said[i] || !gn_text_unknown(&s, r, i, said)) continue;
    if (!headed) gn_wrap_heading(w, "Not determined");
    headed = true;
    flush(w, "", DETAIL_INDENT, DETAIL_INDENT + 2, &s);
  }
}

static void write_one(gn_wrap *w, const girthline_report_input *input) {
  const girthline_result *r = input->result;
  write_title(w, input);
  write_answer(w, r);
  write_trust(w, r);
  write_sounds(w, r);
  write_findings(w, r);
  write_undetermined(w, r);
  gn_buffer_puts(&w->out, "\n");
  gn_wrap_paragraph(w, GN_PLAIN, "", 0, 0, girthline_caution(r->settings.species));
}

#define USUAL_WIDTH 80

char *girthline_report_text(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_wrap w = {.width = options && options->width > 0 ? options->width : USUAL_WIDTH, .colour = options && options->colour};
  for (size_t i = 0; i < n; i++) {
    if (i) gn_buffer_puts(&w.out, "\n");
    write_one(&w, &inputs[i]);
  }
  gn_buffer_printf(&w.out, "\nWritten by girthline %s\n", girthline_version());
  char *text = gn_buffer_take(&w.out);
  if (!text) gn_error_memory(error, "report");
  return text;
}
