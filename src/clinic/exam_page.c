// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// One page: the answer over all recordings, the areas, what they ask for, the signs, then each recording as in its own report.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "clinic/parts.h"
#include "clinic/recovery.h"
#include "clinic/side_by_side.h"
#include "report/page.h"

// A text by hand keeps its lines.
static void prose(gn_html *h, const char *text) {
  char *copy = gn_strdup(text);
  if (!copy) {
    h->failed = true;
    return;
  }
  for (char *line = copy, *next; line; line = next) {
    next = strchr(line, '\n');
    if (next) *next++ = '\0';
    gn_html_text(h, line);
    if (next) gn_html_raw(h, "<br>");
  }
  gn_free(copy);
}

static void fact(gn_html *h, const char *label, const char *text) {
  gn_html_raw(h, "<div><dt>");
  gn_html_text(h, label);
  gn_html_raw(h, "</dt><dd>");
  prose(h, text);
  gn_html_raw(h, "</dd></div>\n");
}

const char *gn_exam_label(int section, size_t key) {
  static const char *const LABELS[GN_SECTION_RECORDING][GN_MOST_KEYS] = {
      {"Name", "Identifier", "Species", "Sex", "Born", "Breed"},
      {"Date", "Examiner", "Practice", "Place", "Reason", "History"},
      {"Mucous membranes", "Capillary refill, s", "Arterial pulse", "Pulse a minute", "Left jugular vein", "Right jugular vein", "Oedema", "Exercise tolerance",
       "Breaths a minute", "Temperature, °C", "Notes"},
      {"ECG", "Echocardiography", "Exercise test", "Other"},
  };
  return LABELS[section][key];
}

static bool any_given(const gn_exam *e, int section) {
  for (size_t k = 0; k < gn_exam_sections[section].n_keys; k++)
    if (gn_exam_text(e, section, (int)k)) return true;
  return false;
}

static void facts(gn_html *h, const gn_exam *e, int section) {
  for (size_t k = 0; k < gn_exam_sections[section].n_keys; k++)
    if (gn_exam_text(e, section, (int)k)) fact(h, gn_exam_label(section, k), gn_exam_text(e, section, (int)k));
}

static void given(gn_html *h, const gn_exam *e, int section, const char *heading) {
  if (!any_given(e, section)) return;
  gn_html_format(h, "<section>\n<h3>%s</h3>\n<dl class=\"facts\">\n", heading);
  facts(h, e, section);
  gn_html_raw(h, "</dl>\n</section>\n");
}

char *gn_exam_heading(const gn_exam *e) {
  const char *name = gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_NAME), *date = gn_exam_text(e, GN_SECTION_EXAMINATION, GN_EXAM_DATE);
  return gn_strprintf("%s%s%s", name ? name : "Animal without a name", date ? ", visit of " : "", date ? date : "");
}

static void header(gn_html *h, const gn_examined *x, const char *heading) {
  gn_html_raw(h, "<header>\n<h2>");
  gn_html_text(h, heading);
  gn_html_format(h, "</h2>\n<p class=\"particulars\">%s%s; %zu recording%s</p>\n", girthline_species_name(x->species),
                 x->species_assumed ? " (assumed: none was named)" : "", x->exam->n_recordings, x->exam->n_recordings == 1 ? "" : "s");
  gn_html_raw(h, "<p class=\"standing\">A screening aid, not a diagnosis: a licensed veterinarian decides. <a href=\"#caution-exam\">Caution</a></p>\n</header>\n");
}

static void line(gn_html *h, const char *label, const char *said, const char *why) {
  gn_html_format(h, "<div><dt>%s</dt><dd><span class=\"said\">", label);
  gn_html_prose(h, said);
  gn_html_raw(h, "</span> <span class=\"why\">");
  gn_html_prose(h, why);
  gn_html_raw(h, "</span></dd></div>\n");
}

void gn_exam_rate_words(const gn_examined *x, char said[200], char why[600]) {
  const gn_pooled_rate *r = &x->rate;
  if (!isfinite(r->settled_bpm)) {
    snprintf(said, 200, "Not determined");
    snprintf(why, 600, "No recording at rest gave a rate.");
    return;
  }
  snprintf(said, 200, "%.0f beats a minute", gn_whole(r->settled_bpm, 2));
  if (r->standing >= GIRTHLINE_BELOW) gn_exam_append(why, 600, "%s the usual %.0f to %.0f for %s at rest.", gn_page_standing(r->standing, r->settled_bpm, r->usual_range_bpm), r->usual_range_bpm[0], r->usual_range_bpm[1], gn_page_animal(x->species));
  else if (gn_exam_young(x)) gn_exam_append(why, 600, "What is usual at this age is the rate of a %s: name that species.", gn_exam_young(x));
  else gn_exam_append(why, 600, "What is usual depends on the age, which is not known.");
  if (x->n_pooled == 1) gn_exam_append(why, 600, "From one recording.");
  else gn_exam_append(why, 600, "From %zu recordings, %.0f to %.0f.", x->n_pooled, gn_whole(r->recordings_bpm[0], 2), gn_whole(r->recordings_bpm[1], 2));
  if (gn_exam_mean_differs(x)) gn_exam_append(why, 600, "The mean over all beats is %.0f.", gn_whole(r->mean_bpm, 2));
}

static void rate_line(gn_html *h, const gn_examined *x) {
  char said[200] = "", why[600] = "";
  gn_exam_rate_words(x, said, why);
  line(h, "Rate at rest", said, why);
}

static void murmur_line(gn_html *h, const gn_examined *x) {
  char said[200] = "", why[600] = "";
  gn_exam_murmur_words(x, said, why);
  line(h, "Between the beats", said, why);
}

static void answer(gn_html *h, const gn_examined *x) {
  gn_html_raw(h, "<section class=\"answer\">\n<h3>The answer, over all recordings</h3>\n<dl class=\"lines\">\n");
  rate_line(h, x);
  line(h, "Rhythm at rest", x->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED ? "Not determined" : gn_page_pattern(x->rhythm.pattern), x->rhythm.explanation);
  murmur_line(h, x);
  gn_html_raw(h, "</dl>\n</section>\n");
}

static void paragraph(gn_html *h, const char *class, const char *text) {
  if (!*text) return;
  gn_html_format(h, "<p class=\"%s\">", class);
  gn_html_prose(h, text);
  gn_html_raw(h, "</p>");
}

static void findings(gn_html *h, const gn_examined *x) {
  gn_html_raw(h, "<section class=\"asks\">\n<h3>What this asks for</h3>\n<ul class=\"findings\">\n");
  for (size_t i = 0; i < x->n_findings; i++) {
    const gn_exam_finding *f = &x->findings[i];
    gn_html_format(h, "<li class=\"urgency-%d\"><p class=\"finding\"><span class=\"urgency\">%s</span> ", (int)f->urgency, gn_page_urgency(f->urgency));
    gn_html_prose(h, f->text);
    gn_html_raw(h, "</p> ");
    paragraph(h, "advice", f->advice);
    paragraph(h, "evidence", f->evidence);
    gn_html_raw(h, "</li>\n");
  }
  gn_html_raw(h, "</ul>\n</section>\n");
}

static void contents(gn_html *h, const gn_examined *x) {
  size_t index = 0;
  gn_html_raw(h, "<section class=\"contents\">\n<h3>The recordings</h3>\n<nav aria-label=\"Recordings\"><ol>\n");
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    const gn_exam_recording *rec = &x->exam->recordings[i];
    const bool there = x->recordings[i].result;
    gn_html_raw(h, "<li>");
    if (there) gn_html_format(h, "<a href=\"#recording-%zu\">", ++index);
    gn_html_text(h, rec->name);
    if (there) gn_html_raw(h, "</a>");
    if (!there) {
      gn_html_raw(h, ": not analysed. ");
      gn_html_text(h, x->recordings[i].reason);
    }
    if (rec->values[GN_REC_NOTES].text) {
      gn_html_raw(h, "<br><span class=\"why\">");
      prose(h, rec->values[GN_REC_NOTES].text);
      gn_html_raw(h, "</span>");
    }
    gn_html_raw(h, "</li>\n");
  }
  gn_html_raw(h, "</ol></nav>\n</section>\n");
}

static girthline_status examination(gn_html *h, const gn_examined *x, const char *heading, girthline_error *error) {
  gn_html_raw(h, "<article id=\"examination\">\n");
  header(h, x, heading);
  answer(h, x);
  findings(h, x);
  girthline_status status = gn_exam_side_by_side(h, x, error);
  if (!status) status = gn_exam_recovery_section(h, x, error);
  given(h, x->exam, GN_SECTION_SIGNS, "The signs, as given");
  given(h, x->exam, GN_SECTION_ELSEWHERE, "Found by other examinations, as given");
  gn_html_raw(h, "<section>\n<h3>Animal and examination</h3>\n<dl class=\"facts\">\n");
  facts(h, x->exam, GN_SECTION_ANIMAL);
  facts(h, x->exam, GN_SECTION_EXAMINATION);
  gn_html_raw(h, "</dl>\n</section>\n");
  contents(h, x);
  gn_html_raw(h, "<section class=\"caution\" id=\"caution-exam\">\n<h3>Caution</h3>\n<p>");
  gn_html_text(h, girthline_caution(x->species));
  gn_html_raw(h, "</p>\n</section>\n</article>\n");
  return status;
}

char *gn_exam_page(const gn_examined *x, const girthline_report_options *options, girthline_error *error) {
  gn_page page = {.no_sound = options && options->no_sound, .error = error};
  char *heading = gn_exam_heading(x->exam), *title = heading ? gn_strprintf("%s: heart examination", heading) : NULL;
  if (!title) {
    gn_free(heading);
    gn_error_memory(error, "exam");
    return NULL;
  }
  gn_page_head(&page.html, title, "Heart examination, measured");
  page.status = examination(&page.html, x, heading, error);
  gn_free(heading);
  gn_free(title);
  gn_figure_scale scale; // the recordings' pictures share their axes too
  girthline_report_input all[GN_EXAM_MOST_RECORDINGS];
  size_t n = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++) n += gn_examined_input(x, i, &all[n]);
  if (n && gn_figure_scale_of(all, n, &scale)) page.scale = &scale;
  else if (n) page.html.failed = true;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    girthline_report_input input;
    if (!gn_examined_input(x, i, &input)) continue;
    page.title = x->exam->recordings[i].name;
    gn_page_recording(&page, &input);
  }
  return gn_page_finish(&page);
}
