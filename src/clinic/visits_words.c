// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Visits in words for a terminal.
#include "clinic/visits.h"

#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/exam.h"
#include "clinic/parts.h"
#include "clinic/visits_json.h"
#include "clinic/visits_words.h"
#include "report/utf8.h"
#include "report/wrap.h"

#define STAGE "visits"

// Text from outside, with what acts on a terminal as '?'.
static void put_calm(gn_buffer *out, const char *text) {
  while (text && *text) {
    uint32_t code;
    bool ok;
    const size_t n = gn_utf8_next(text, &code, &ok);
    const bool calm = ok && !gn_utf8_acts(code);
    if (calm) gn_buffer_add(out, text, n);
    else gn_buffer_puts(out, "?");
    text += n;
  }
}

void gn_visits_animal_words(gn_buffer *out, const char *identifier, const char *name, const char *species) {
  gn_buffer_puts(out, name ? name : identifier ? identifier : "no name");
  gn_buffer_puts(out, ", ");
  gn_buffer_puts(out, species ? species : "species not given");
  if (name && identifier) gn_buffer_printf(out, ", identifier %s", identifier);
}

char *gn_visits_animals_text(const gn_store_animals *animals) {
  gn_buffer out = {0};
  for (size_t i = 0; i < animals->n; i++) {
    const gn_store_animal *a = &animals->items[i];
    gn_buffer line = {0};
    gn_visits_animal_words(&line, a->identifier, a->name, a->species);
    char *text = gn_buffer_take(&line);
    if (!text) out.refused = true;
    gn_buffer_puts(&out, "  ");
    put_calm(&out, text);
    gn_buffer_printf(&out, "%s: %lld visit%s\n", a->identifier ? "" : ", without an identifier", a->n_visits, a->n_visits == 1 ? "" : "s");
    gn_free(text);
  }
  return gn_buffer_take(&out);
}

void gn_visits_place_words(gn_buffer *out, const json_t *recording) {
  const char *side = gn_visits_text(recording, "side"), *area = gn_visits_text(recording, "area");
  const double after = gn_visits_number(recording, "minutes_after_exercise");
  if (side || area) gn_buffer_printf(out, "%s%s%s", side ? side : "", side && area ? " " : "", area ? area : "");
  else gn_buffer_puts(out, "place not stated");
  if (isnan(after)) return;
  gn_buffer_puts(out, ", ");
  gn_buffer_number(out, after, 2);
  gn_buffer_puts(out, " min after exercise");
}

static void put_number(gn_buffer *out, double value, int decimals, const char *unit) {
  if (isnan(value)) {
    gn_buffer_puts(out, "not determined");
    return;
  }
  gn_buffer_signed(out, value, decimals);
  gn_buffer_puts(out, unit);
}

static void murmur_words(gn_buffer *out, const json_t *murmur) {
  const json_t *present = json_object_get(murmur, "present"), *phases = json_object_get(murmur, "phases");
  if (json_is_false(present)) gn_buffer_puts(out, "no murmur found");
  if (!json_is_true(present) && !json_is_false(present)) gn_buffer_puts(out, "murmur not determined");
  for (size_t i = 0; json_is_true(present) && i < json_array_size(phases); i++) {
    const json_t *p = json_array_get(phases, i);
    const char *timing = gn_visits_text(p, "timing"), *phase = gn_visits_text(p, "phase"), *shape = gn_visits_text(p, "shape");
    const bool through = phase && !strcmp(phase, "continuous");
    gn_buffer_printf(out, "%smurmur %s%s, %s, %s, ", i ? "; " : "", through ? "through systole and diastole" : "in ", through ? "" : phase ? phase : "?",
                     timing ? timing : "?", shape ? shape : "?");
    put_number(out, gn_visits_number(p, "level_db"), 1, " dB against S1");
  }
}

void gn_visits_report_words(gn_buffer *out, const json_t *report) {
  const bool at_rest = isnan(gn_visits_number(json_object_get(report, "recording"), "minutes_after_exercise"));
  const json_t *rhythm = json_object_get(report, "rhythm"), *quality = json_object_get(report, "quality");
  const char *pattern = gn_visits_text(rhythm, "pattern"), *grade = gn_visits_text(quality, "grade");
  gn_buffer_puts(out, "rate ");
  put_number(out, at_rest ? gn_visits_rate(report) : gn_visits_number(json_object_get(report, "rate"), "bpm"), 0, " a minute");
  gn_buffer_printf(out, "; rhythm %s; ", pattern ? pattern : "not determined");
  murmur_words(out, json_object_get(report, "murmur"));
  gn_buffer_printf(out, "; recording %s", grade ? grade : "of unknown quality");
}

enum { N_LIST_COLUMNS = 6 };
static const char *const LIST_HEADINGS[N_LIST_COLUMNS] = {"id", "date", "name", "identifier", "species", "examination"};

typedef struct listing {
  gn_wrap wrap;
  int widths[N_LIST_COLUMNS];
  bool narrow; // no room for a table
  bool any;
  const gn_store_animals *animals;
} listing;

static const gn_store_animal *animal_of(const gn_store_animals *animals, long long id) {
  for (size_t i = 0; i < animals->n; i++)
    if (animals->items[i].id == id) return &animals->items[i];
  return NULL;
}

// A list's columns are as wide as the animals' names are, up to these; what is longer is wrapped.
static void choose_widths(listing *l) {
  static const int MOST[N_LIST_COLUMNS] = {6, 10, 20, 20, 10, 33};
  int all = 0;
  for (int k = 0; k < N_LIST_COLUMNS; k++) l->widths[k] = k == 0 ? 4 : k == 1 || k == 5 ? MOST[k] : (int)strlen(LIST_HEADINGS[k]);
  for (size_t i = 0; i < l->animals->n; i++) {
    const gn_store_animal *a = &l->animals->items[i];
    const char *const texts[] = {a->name, a->identifier, a->species};
    for (int k = 0; k < 3; k++) {
      const int n = texts[k] ? gn_wrap_columns(texts[k]) : 0;
      if (n > l->widths[2 + k]) l->widths[2 + k] = n < MOST[2 + k] ? n : MOST[2 + k];
    }
  }
  for (int k = 0; k < N_LIST_COLUMNS; k++) all += l->widths[k] + (k ? 2 : 0);
  l->narrow = all > l->wrap.width;
}

static void put_list_row(listing *l, const char *const *cells) {
  gn_buffer line = {0};
  if (!l->narrow) {
    gn_wrap_row(&l->wrap, 0, cells, l->widths, N_LIST_COLUMNS);
    return;
  }
  for (size_t k = 0; k < N_LIST_COLUMNS; k++)
    if (*cells[k]) gn_buffer_printf(&line, "%s%s", !k ? "" : k + 1 < N_LIST_COLUMNS ? ", " : ": ", cells[k]);
  char *text = gn_buffer_take(&line);
  if (text) gn_wrap_paragraph(&l->wrap, GN_PLAIN, "", 0, 6, text);
  else l->wrap.out.refused = true;
  gn_free(text);
}

// No murmur is found, too, where no recording could have shown one.
static bool any_murmur_is_known(const json_t *recordings) {
  for (size_t i = 0; i < json_array_size(recordings); i++)
    if (json_is_boolean(json_object_get(json_object_get(json_object_get(json_array_get(recordings, i), "report"), "murmur"), "present"))) return true;
  return false;
}

static void examination_words(gn_buffer *out, const json_t *exam) {
  const json_t *recordings = json_object_get(exam, "recordings");
  const size_t n = json_array_size(recordings), n_murmurs = json_array_size(json_object_get(exam, "murmurs"));
  const double bpm = gn_visits_rate(exam);
  gn_buffer_printf(out, "%zu recording%s, %s", n, n == 1 ? "" : "s", isnan(bpm) ? "rate " : "");
  put_number(out, bpm, 0, "/min");
  if (n_murmurs || any_murmur_is_known(recordings)) gn_buffer_printf(out, ", murmurs: %zu", n_murmurs);
  else gn_buffer_puts(out, ", murmurs: not determined");
}

static girthline_status list_line(void *user, const gn_store_visit *v, girthline_error *error) {
  listing *l = user;
  json_t *exam = NULL;
  girthline_error fault = {0};
  gn_buffer words = {0};
  char id[24], name[40];
  const gn_store_animal *a = animal_of(l->animals, v->animal_id);
  snprintf(id, sizeof id, "%lld", v->id);
  snprintf(name, sizeof name, "visit %lld", v->id);
  if (gn_visits_parse(v->exam, v->exam_n, name, &exam, &fault) == GIRTHLINE_NO_MEMORY) return gn_error_memory(error, STAGE);
  if (exam) examination_words(&words, exam);
  else gn_buffer_puts(&words, "damaged: girthline visits check says more");
  char *text = gn_buffer_take(&words);
  const char *const cells[N_LIST_COLUMNS] = {id, v->date ? v->date : "no date", a && a->name ? a->name : "", a && a->identifier ? a->identifier : "",
                                             a && a->species ? a->species : "", text ? text : ""};
  put_list_row(l, cells);
  l->any = true;
  l->wrap.out.refused = l->wrap.out.refused || !text;
  gn_free(text);
  json_decref(exam);
  return l->wrap.out.refused ? gn_error_memory(error, STAGE) : GIRTHLINE_OK;
}

girthline_status gn_visits_list_text(gn_store *store, long long animal_id, int width, char **text, girthline_error *error) {
  gn_store_animals animals = {0};
  girthline_status status = gn_store_find_animals(store, NULL, &animals, error);
  if (status) return status;
  listing l = {.wrap = {.width = width}, .animals = &animals};
  choose_widths(&l);
  put_list_row(&l, LIST_HEADINGS);
  status = gn_store_each_visit(store, (gn_store_filter){.animal_id = animal_id, .with_exam = true}, list_line, &l, error);
  if (!status && !l.any) {
    gn_buffer_clear(&l.wrap.out);
    gn_wrap_paragraph(&l.wrap, GN_PLAIN, "", 0, 0, "no visits are kept yet; girthline visits add EXAM-FILE keeps one");
  }
  gn_store_animals_clear(&animals);
  *text = status ? NULL : gn_buffer_take(&l.wrap.out);
  gn_buffer_clear(&l.wrap.out);
  return status || *text ? status : gn_error_memory(error, STAGE);
}

static void paragraph(gn_wrap *w, const char *label, gn_buffer *words) {
  char *text = gn_buffer_take(words);
  if (text) gn_wrap_paragraph(w, GN_PLAIN, label, 2, 24, text);
  else w->out.refused = true;
  gn_free(text);
}

// A text of several lines, as one paragraph.
static void put_prose(gn_buffer *out, const char *text) {
  for (const char *c = text; *c; c++) gn_buffer_add(out, *c == '\n' || *c == '\t' ? " " : c, 1);
}

// *heading: what is still to stand over it; NULL: nothing.
static void field(gn_wrap *w, const char **heading, const char *label, const json_t *value) {
  gn_buffer words = {0};
  if (*heading) gn_wrap_heading(w, *heading);
  *heading = NULL;
  if (json_is_string(value)) put_prose(&words, json_string_value(value));
  else if (json_is_number(value)) gn_buffer_number(&words, json_number_value(value), 2);
  else gn_buffer_puts(&words, "kept, and shown by --json alone");
  paragraph(w, label, &words);
}

static bool is_given(const json_t *value) { return value && !json_is_null(value) && !(json_is_string(value) && !json_string_length(value)); }

// A key that another version of this program may have written.
static bool is_other(int section, const char *key) {
  const gn_exam_section *s = &gn_exam_sections[section];
  if (section == GN_SECTION_ANIMAL && !strcmp(key, "age_days")) return false; // worked out from the dates
  for (size_t k = 0; k < s->n_keys; k++)
    if (!strcmp(key, s->keys[k].name)) return false;
  return true;
}

// A section of the examination file; the heading of a visit names the animal already.
static void fields(gn_wrap *w, const json_t *exam, int section, const char *heading) {
  const gn_exam_section *s = &gn_exam_sections[section];
  json_t *part = json_object_get(exam, s->name);
  for (size_t k = section == GN_SECTION_ANIMAL ? GN_ANIMAL_SEX : 0; k < s->n_keys; k++) {
    const json_t *value = json_object_get(part, s->keys[k].name);
    if (is_given(value)) field(w, &heading, gn_exam_label(section, k), value);
  }
  const char *key;
  json_t *value;
  json_object_foreach(part, key, value)
    if (is_given(value) && is_other(section, key)) field(w, &heading, key, value);
}

static void show_recordings(gn_wrap *w, const json_t *exam) {
  const json_t *recordings = json_object_get(exam, "recordings");
  gn_wrap_heading(w, "Recordings");
  for (size_t i = 0; i < json_array_size(recordings); i++) {
    const json_t *report = gn_visits_report(exam, i);
    gn_buffer words = {0};
    gn_visits_place_words(&words, json_array_get(recordings, i));
    gn_buffer_puts(&words, ": ");
    if (json_is_object(report)) gn_visits_report_words(&words, report);
    else gn_buffer_puts(&words, "could not be analysed");
    const char *notes = gn_visits_text(json_array_get(recordings, i), "notes");
    if (notes) gn_buffer_puts(&words, "; notes: ");
    if (notes) put_prose(&words, notes);
    char *text = gn_buffer_take(&words);
    if (text) gn_wrap_paragraph(w, GN_PLAIN, "", 2, 4, text);
    else w->out.refused = true;
    gn_free(text);
  }
}

static void show_findings(gn_wrap *w, const json_t *exam) {
  const json_t *findings = json_object_get(exam, "findings");
  if (json_array_size(findings)) gn_wrap_heading(w, "Findings");
  for (size_t i = 0; i < json_array_size(findings); i++) {
    const json_t *f = json_array_get(findings, i);
    const char *text = gn_visits_text(f, "text"), *advice = gn_visits_text(f, "advice"), *urgency = gn_visits_text(f, "urgency");
    gn_buffer words = {0};
    gn_buffer_printf(&words, "%s%s%s", text ? text : "", advice ? " " : "", advice ? advice : "");
    paragraph(w, !urgency ? "" : strcmp(urgency, "before-work") ? urgency : "before work", &words);
  }
}

girthline_status gn_visits_show_text(gn_store *store, long long id, int width, char **text, girthline_error *error) {
  char *json = NULL, name[40];
  json_t *exam = NULL;
  *text = NULL;
  girthline_status status = gn_visits_exam_of(store, id, &json, NULL, error);
  snprintf(name, sizeof name, "visit %lld", id);
  if (!status) status = gn_visits_parse(json, strlen(json), name, &exam, error);
  gn_free(json);
  if (status) return status;
  gn_wrap w = {.width = width};
  const json_t *animal = json_object_get(exam, "animal");
  const char *date = gn_visits_text(json_object_get(exam, "examination"), "date"), *caution = gn_visits_text(exam, "caution");
  gn_buffer head = {0};
  gn_buffer_printf(&head, "Visit %lld: ", id);
  gn_visits_animal_words(&head, gn_visits_text(animal, "identifier"), gn_visits_text(animal, "name"), gn_visits_species(exam));
  gn_buffer_printf(&head, "; %s", date ? date : "no date");
  char *line = gn_buffer_take(&head);
  if (line) gn_wrap_paragraph(&w, GN_STRONG, "", 0, 0, line);
  else w.out.refused = true;
  gn_free(line);
  fields(&w, exam, GN_SECTION_ANIMAL, "Animal");
  fields(&w, exam, GN_SECTION_EXAMINATION, "Examination");
  fields(&w, exam, GN_SECTION_SIGNS, "Signs");
  show_recordings(&w, exam);
  fields(&w, exam, GN_SECTION_ELSEWHERE, "Found elsewhere");
  show_findings(&w, exam);
  gn_wrap_heading(&w, "Caution");
  gn_wrap_paragraph(&w, GN_PLAIN, "", 2, 2, caution ? caution : "A screening aid, not a diagnosis: a licensed veterinarian decides.");
  json_decref(exam);
  gn_buffer_printf(&w.out, "\nWritten by girthline %s\n", girthline_version());
  *text = gn_buffer_take(&w.out);
  return *text ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
}
