// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/compare.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "clinic/compare_pairs.h"
#include "clinic/visits.h"
#include "clinic/visits_json.h"

#define STAGE "visits"

const char gn_compare_note[] =
    "Repeatability is measured within recordings, for rate and intervals also between those of one visit. The variation between visits (where and how firmly the chest piece lies, which recorder it is, the animal's mood) is larger and "
    "not known, so a verdict of a change is a reason to look, not a finding. No difference of a murmur's level under 6 dB and of the rate under 4 a minute is called a change.";

static const struct {
  const char *name, *words;
} VERDICTS[GN_N_VERDICTS] = {{"increased", "increased"},
                             {"decreased", "decreased"},
                             {"changed", "changed"},
                             {"within-repeatability", "within repeatability"},
                             {"new", "new"},
                             {"gone", "gone"},
                             {"undetermined", "undetermined"},
                             {"not-comparable", "not comparable"}};

const char *gn_verdict_name(gn_verdict verdict) { return VERDICTS[verdict].name; }
const char *gn_verdict_words(gn_verdict verdict) { return VERDICTS[verdict].words; }

double gn_compare_change(const gn_change *x, int decimals) {
  return isnan(x->change) ? x->change : gn_rounded(x->values[1].number, decimals) - gn_rounded(x->values[0].number, decimals);
}

void gn_compare_add(const gn_pair *pair, gn_change row, gn_verdict verdict, const char *format, ...) {
  gn_comparison *c = pair->into;
  char text[600], signed_text[640];
  va_list args;
  va_start(args, format);
  vsnprintf(text, sizeof text, format, args);
  va_end(args);
  row.side = pair->side;
  row.area = pair->area;
  row.whole_visit = pair->whole_visit;
  row.minutes_after_exercise = pair->minutes_after_exercise;
  row.verdict = verdict;
  gn_numbers_signed(text, signed_text, sizeof signed_text);
  row.reason = gn_strdup(signed_text);
  void *items = c->changes;
  if (!row.reason || gn_grow(&items, &c->capacity, c->n_changes + 1, sizeof *c->changes)) {
    gn_free(row.reason);
    c->refused = true;
    return;
  }
  c->changes = items;
  c->changes[c->n_changes++] = row;
}

static void compare_pair(void *user, const gn_pair *pair) {
  (void)user;
  gn_compare_beats(pair);
  gn_compare_extra(pair);
  gn_compare_murmurs(pair);
}

static const char *species_barrier(const gn_comparison *c) {
  const char *first = gn_visits_species(c->exams[0]), *second = gn_visits_species(c->exams[1]);
  return strcmp(first, second) ? "the visits name different species: neither the usual values nor the sounds are the same measure" : NULL;
}

static bool share_a_recording(const json_t *first, const json_t *second) {
  for (size_t i = 0; i < json_array_size(json_object_get(first, "recordings")); i++)
    for (size_t k = 0; k < json_array_size(json_object_get(second, "recordings")); k++)
      if (gn_compare_same_recording(gn_visits_report(first, i), gn_visits_report(second, k))) return true;
  return false;
}

girthline_status gn_compare_exams(json_t *first, json_t *second, gn_comparison *out, girthline_error *error) {
  out->exams[0] = json_incref(first);
  out->exams[1] = json_incref(second);
  const json_t *const exams[2] = {first, second};
  const char *barrier = species_barrier(out), *whole = barrier || !share_a_recording(first, second) ? barrier : "a recording of the one visit is named by the other too";
  gn_compare_visits(&(gn_pair){.into = out, .reports = {first, second}, .whole_visit = true, .minutes_after_exercise = NAN, .barrier = whole}, exams);
  if (gn_compare_each_pair(out, barrier, compare_pair, NULL)) out->refused = true;
  return out->refused ? gn_error_memory(error, STAGE) : GIRTHLINE_OK;
}

static bool take_animal(gn_store_animal *to, const gn_store_animal *from) {
  *to = (gn_store_animal){from->id, gn_strdup(from->identifier), gn_strdup(from->name), gn_strdup(from->species), from->n_visits};
  return to->species && (to->identifier || !from->identifier) && (to->name || !from->name);
}

static girthline_status fetch(gn_store *store, long long animal_id, long long id, json_t **out, girthline_error *error) {
  char *json = NULL, name[40];
  long long whose = 0;
  girthline_status status = gn_visits_exam_of(store, id, &json, &whose, error);
  snprintf(name, sizeof name, "visit %lld", id);
  if (!status && whose != animal_id) status = gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "visit %lld is another animal's; girthline visits list shows whose", id);
  if (!status) status = gn_visits_parse(json, strlen(json), name, out, error);
  gn_free(json);
  return status;
}

girthline_status gn_compare_run(gn_store *store, const gn_store_animal *animal, const long long ids[2], gn_comparison *out, girthline_error *error) {
  json_t *exams[2] = {NULL, NULL};
  *out = (gn_comparison){.ids = {ids[0], ids[1]}};
  girthline_status status = take_animal(&out->animal, animal) ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
  if (!status && ids[0] == ids[1]) status = gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "visit %lld cannot be compared with itself", ids[0]);
  for (int i = 0; i < 2 && !status; i++) status = fetch(store, animal->id, ids[i], &exams[i], error);
  if (!status) status = gn_compare_exams(exams[0], exams[1], out, error);
  for (int i = 0; i < 2; i++) json_decref(exams[i]);
  if (status) gn_comparison_clear(out);
  return status;
}

void gn_comparison_clear(gn_comparison *c) {
  for (size_t i = 0; i < c->n_changes; i++) gn_free(c->changes[i].reason);
  gn_free(c->changes);
  gn_free(c->animal.identifier);
  gn_free(c->animal.name);
  gn_free(c->animal.species);
  for (int i = 0; i < 2; i++) json_decref(c->exams[i]);
  *c = (gn_comparison){0};
}

static girthline_status shift(void *user, const gn_store_visit *visit, girthline_error *error) {
  (void)error;
  long long *ids = user;
  ids[0] = ids[1];
  ids[1] = visit->id;
  return GIRTHLINE_OK;
}

girthline_status gn_compare_last_two(gn_store *store, long long animal_id, long long ids[2], girthline_error *error) {
  ids[0] = ids[1] = 0;
  const girthline_status status = gn_store_each_visit(store, (gn_store_filter){.animal_id = animal_id}, shift, ids, error);
  if (status || ids[0]) return status;
  return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "there is only one visit of this animal: a comparison needs two; girthline visits list shows whether another is kept under another name");
}
