// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The examination to print: what its page says, as lines, and then a page for each recording.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "clinic/document.h"
#include "clinic/parts.h"
#include "clinic/recovery.h"
#include "clinic/side_by_side.h"
#include "report/page_words.h"

// What was given under a section's keys from `first` to `last`, under a heading or (NULL) without one.
static void given_from(gn_document *d, const gn_exam *e, int section, const char *heading, int first, int last) {
  for (int k = first; k <= last; k++) {
    const char *text = gn_exam_text(e, section, k);
    if (!text) continue;
    gn_document_say(d, GN_FRONT_HEADING, heading);
    heading = NULL;
    gn_document_labelled(d, gn_exam_label(section, (size_t)k), text);
  }
}

static void given(gn_document *d, const gn_exam *e, int section, const char *heading) {
  given_from(d, e, section, heading, 0, (int)gn_exam_sections[section].n_keys - 1);
}

// Whose it is and who examined it, beside what the title says.
static void whose(gn_document *d, const gn_exam *e) {
  given_from(d, e, GN_SECTION_ANIMAL, NULL, GN_ANIMAL_IDENTIFIER, GN_ANIMAL_IDENTIFIER);
  given_from(d, e, GN_SECTION_ANIMAL, NULL, GN_ANIMAL_SEX, GN_ANIMAL_BREED);
  given_from(d, e, GN_SECTION_EXAMINATION, NULL, GN_EXAM_EXAMINER, GN_EXAM_PLACE);
}

static void answer_line(gn_document *d, const char *label, const char *said, const char *why) {
  gn_document_cells(d, GN_FRONT_ANSWER, (const char *const[]){label, said, why, NULL});
}

static void answer(gn_document *d, const gn_examined *x) {
  char said[200] = "", why[600] = "";
  gn_document_say(d, GN_FRONT_HEADING, "The answer, over all recordings");
  gn_exam_rate_words(x, said, why);
  answer_line(d, "Rate at rest", said, why);
  answer_line(d, "Rhythm at rest", x->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED ? "Not determined" : gn_page_pattern(x->rhythm.pattern), x->rhythm.explanation);
  *said = *why = 0;
  gn_exam_murmur_words(x, said, why);
  answer_line(d, "Between the beats", said, why);
}

static void findings(gn_document *d, const gn_examined *x) {
  gn_document_say(d, GN_FRONT_HEADING, "What this asks for");
  for (size_t i = 0; i < x->n_findings; i++) {
    const gn_exam_finding *f = &x->findings[i];
    gn_document_cells(d, GN_FRONT_FINDING, (const char *const[]){gn_page_urgency(f->urgency), f->text, f->advice, f->evidence, NULL});
  }
}

static void recovery(gn_document *d, const gn_examined *x, gn_exam_curve *curve) {
  if (!gn_exam_curve_of(x, curve)) return;
  gn_document_say(d, GN_FRONT_HEADING, "After exercise");
  gn_document_picture(d, (gn_front_line){GN_FRONT_PICTURE, gn_exam_curve_words(x), gn_recovery_drawer, &curve->curve, GN_RECOVERY_HEIGHT});
  for (size_t i = 0; i < x->n_recovery; i++) {
    const gn_recovery_point *p = &x->recovery[i];
    char words[160], rate[40] = "not determined";
    if (isfinite(p->bpm)) snprintf(rate, sizeof rate, "%.0f a minute", gn_whole(p->bpm, 2));
    gn_document_push(d, GN_FRONT_BODY, gn_strprintf("After %.12g min: %s; %s.", gn_rounded(p->minutes_after_exercise, 2), rate, gn_exam_recovery_words(x, p, words, sizeof words)));
  }
}

static void compose(gn_document *d, const gn_examined *x, const char *name, gn_exam_curve *curve) {
  const size_t n = x->exam->n_recordings;
  gn_document_say(d, GN_FRONT_TITLE, name);
  gn_document_push(d, GN_FRONT_BODY, gn_strprintf("%s%s; %zu recording%s", girthline_species_name(x->species), x->species_assumed ? " (assumed: none was named)" : "", n,
                                                  n == 1 ? "" : "s"));
  gn_document_say(d, GN_FRONT_SMALL, "A screening aid, not a diagnosis: a licensed veterinarian decides. The caution before the recordings belongs to it.");
  whose(d, x->exam);
  answer(d, x);
  findings(d, x);
  gn_document_say(d, GN_FRONT_HEADING, "The areas beside one another");
  gn_document_say(d, GN_FRONT_PANELS, gn_exam_areas_words);
  recovery(d, x, curve);
  given(d, x->exam, GN_SECTION_SIGNS, "The signs, as given");
  given(d, x->exam, GN_SECTION_ELSEWHERE, "Found by other examinations, as given");
  given_from(d, x->exam, GN_SECTION_EXAMINATION, "Reason and history", GN_EXAM_REASON, GN_EXAM_HISTORY);
  gn_document_say(d, GN_FRONT_HEADING, "Caution");
  gn_document_say(d, GN_FRONT_BODY, girthline_caution(x->species));
}

// What the document is drawn from, beside its lines.
typedef struct sources {
  girthline_report_input inputs[GN_EXAM_MOST_RECORDINGS];
  const char *titles[GN_EXAM_MOST_RECORDINGS];
  size_t n;
  gn_exam_curve curve;
  gn_exam_areas areas;
  gn_front_panel panels[GN_EXAM_MOST_RECORDINGS];
} sources;

static girthline_status gather(const gn_examined *x, sources *all, girthline_error *error) {
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!gn_examined_input(x, i, &all->inputs[all->n])) continue;
    all->inputs[all->n].name = x->exam->recordings[i].values[GN_REC_FILE].text;
    all->titles[all->n++] = x->exam->recordings[i].name;
  }
  const girthline_status status = gn_exam_areas_read(x, &all->areas, error);
  for (size_t i = 0; !status && i < all->areas.n; i++) {
    gn_exam_area *area = &all->areas.items[i];
    all->panels[i] = (gn_front_panel){area->title, area->caption, area->panel.result ? gn_area_drawer : NULL, &area->panel, GN_AREA_WIDTH, GN_AREA_HEIGHT};
  }
  return status;
}

static void clear(sources *all) {
  gn_exam_areas_clear(&all->areas);
  gn_free(all);
}

girthline_status gn_exam_pdf(const gn_examined *x, void **data, size_t *n_bytes, girthline_error *error) {
  const char *date = gn_exam_text(x->exam, GN_SECTION_EXAMINATION, GN_EXAM_DATE);
  gn_document d = {0};
  sources *all = gn_new(1, sizeof *all);
  char *name = gn_exam_heading(x->exam);
  girthline_status status = all && name ? gather(x, all, error) : gn_error_memory(error, "exam");
  if (!status) compose(&d, x, name, &all->curve);
  if (!status && d.refused) status = gn_error_memory(error, "exam");
  if (!status) {
    const girthline_report_options options = {.scale_to = all->inputs, .n_scale_to = all->n};
    const gn_front front = {.lines = d.lines, .n_lines = d.n, .name = name, .panels = all->panels, .n_panels = all->areas.n, .titles = all->titles, .title = "Heart examination, measured", .date = date};
    status = gn_pdf_write(&front, all->inputs, all->n, &options, data, n_bytes, error);
  }
  gn_document_clear(&d);
  if (all) clear(all);
  gn_free(name);
  return status;
}
