// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/visits.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/nearest.h"

#define STAGE "visits"

static bool same(const char *a, const char *b) { return a && b && !strcmp(a, b); }

static void now_text(char out[32]) {
  struct tm parts;
  const time_t now = time(NULL);
  gmtime_r(&now, &parts);
  strftime(out, 32, "%Y-%m-%dT%H:%M:%SZ", &parts);
}

static void forget(gn_store_animal *a) {
  gn_free(a->identifier);
  gn_free(a->name);
  gn_free(a->species);
}

// Keep the animals that `keep` wants.
static void sift(gn_store_animals *animals, bool (*keep)(const gn_store_animal *, const void *), const void *what) {
  size_t n = 0;
  for (size_t i = 0; i < animals->n; i++) {
    if (keep(&animals->items[i], what)) animals->items[n++] = animals->items[i];
    else forget(&animals->items[i]);
  }
  animals->n = n;
}

static bool by_identifier(const gn_store_animal *a, const void *word) { return same(a->identifier, word); }
static bool by_name(const gn_store_animal *a, const void *word) { return same(a->name, word); }
static bool by_id(const gn_store_animal *a, const void *id) { return a->id == *(const long long *)id; }
static bool by_species(const gn_store_animal *a, const void *word) { return same(a->species, word); }

static bool any(const gn_store_animals *animals, bool (*keep)(const gn_store_animal *, const void *), const void *what) {
  for (size_t i = 0; i < animals->n; i++)
    if (keep(&animals->items[i], what)) return true;
  return false;
}

// Of several animals a visit's number tells which.
static girthline_status sift_by_visit(gn_store *store, long long visit, gn_store_animals *found, girthline_error *error) {
  char *json = NULL;
  long long whose = 0;
  const girthline_status status = gn_visits_exam_of(store, visit, &json, &whose, error);
  gn_free(json);
  if (!status && any(found, by_id, &whose)) sift(found, by_id, &whose);
  return status;
}

// In less than this any other word is near, and so is a number to another: a choice, letters.
#define OFFERED_LEAST 3

static bool is_offered(const char *known) { return known && strlen(known) >= OFFERED_LEAST && known[strspn(known, "0123456789")]; }

// Says that there is no such animal, and which name or identifier may have been meant.
static girthline_status unknown(gn_store *store, const char *word, girthline_error *error) {
  gn_store_animals all = {0};
  const girthline_status status = gn_store_find_animals(store, NULL, &all, error);
  const char **names = status ? NULL : gn_new(2 * all.n + 1, sizeof *names);
  size_t n = 0;
  for (size_t i = 0; names && i < all.n; i++) {
    if (is_offered(all.items[i].name)) names[n++] = all.items[i].name;
    if (is_offered(all.items[i].identifier)) names[n++] = all.items[i].identifier;
  }
  const char *near = names && strlen(word) >= OFFERED_LEAST ? gn_nearest(word, names, n) : NULL;
  if (!status && !names) gn_error_memory(error, STAGE);
  else if (near) gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "no animal %s is in %s; girthline visits list shows all; did you mean %s?", word, gn_store_path(store), near);
  else if (!status) gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "no animal %s is in %s; girthline visits list shows all", word, gn_store_path(store));
  gn_free(names);
  gn_store_animals_clear(&all);
  return status ? status : names ? GIRTHLINE_REFUSED : GIRTHLINE_NO_MEMORY;
}

girthline_status gn_visits_find(gn_store *store, const char *word, const char *species, long long visit, gn_store_animals *found, girthline_error *error) {
  girthline_status status = gn_store_find_animals(store, word, found, error);
  if (status) return status;
  // What was written exactly so counts before what differs in capital letters.
  if (any(found, by_identifier, word)) sift(found, by_identifier, word);
  else if (any(found, by_name, word)) sift(found, by_name, word);
  if (!found->n) return unknown(store, word, error);
  if (species) sift(found, by_species, species);
  if (!found->n) return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "no %s %s is in %s; girthline visits list shows all", species, word, gn_store_path(store));
  if (found->n > 1 && visit) status = sift_by_visit(store, visit, found, error);
  if (status || found->n == 1) return status;
  return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%zu animals are meant by %s: name one by its identifier, or add --species", found->n, word);
}

static bool same_letters(const char *a, const char *b) { return a && b && !strcasecmp(a, b); }

// Nothing but the digits of "Mare 12" and "Mare 13" tells two animals apart.
static bool same_digits(const char *a, const char *b) {
  static const char DIGITS[] = "0123456789";
  for (;; a++, b++) {
    a += strcspn(a, DIGITS);
    b += strcspn(b, DIGITS);
    if (*a != *b) return false;
    if (!*a) return true;
  }
}

// The same but for a slip of the pen, an accent or capital letters.
static bool like_names(const char *known, const char *word) {
  if (!known || !word || strlen(word) < OFFERED_LEAST || !is_offered(known)) return same_letters(known, word);
  return same_digits(known, word) && gn_nearest(word, &known, 1);
}

// May be the exam's animal, written differently, or with an identifier once and once without. Two identifiers are two animals.
static bool by_likeness(const gn_store_animal *a, const void *what) {
  const gn_visits_exam *exam = what;
  if (!same(a->species, exam->species)) return false;
  return a->identifier && exam->identifier ? same_letters(a->identifier, exam->identifier) : like_names(a->name, exam->name);
}

// The animal an examination is of: by its identifier; without one, by name and species, and only where no other animal of
// that name and species has an identifier. 0: a new one.
static girthline_status whose(gn_store *store, const gn_visits_exam *exam, gn_store_animals *candidates, long long *id, girthline_error *error) {
  gn_store_animals found = {0};
  girthline_status status = gn_store_find_animals(store, exam->identifier ? exam->identifier : exam->name, &found, error);
  *id = 0;
  if (status) return status;
  if (exam->identifier) {
    sift(&found, by_identifier, exam->identifier);
  } else {
    sift(&found, by_name, exam->name);
    sift(&found, by_species, exam->species);
  }
  if (found.n == 1 && (exam->identifier || !found.items[0].identifier)) *id = found.items[0].id;
  else if (found.n) {
    *candidates = found;
    return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "it is not clear which %s, %s, this examination is of: write its identifier under [animal]", exam->name,
                        exam->species);
  }
  gn_store_animals_clear(&found);
  return GIRTHLINE_OK;
}

// The visit already kept for the same examination.
typedef struct kept {
  long long id;
  bool is_same;
  const char *fingerprint;
} kept;

static girthline_status look(void *user, const gn_store_visit *visit, girthline_error *error) {
  (void)error;
  kept *k = user;
  k->id = visit->id;
  k->is_same = same(visit->fingerprint, k->fingerprint);
  return GIRTHLINE_OK;
}

// A visit with the same recordings, under another date or none.
typedef struct twin {
  const char *recordings;
  long long id;
} twin;

static girthline_status look_for_twin(void *user, const gn_store_visit *visit, girthline_error *error) {
  twin *t = user;
  gn_visits_exam exam;
  girthline_error unsaid = {0};
  const girthline_status status = gn_visits_exam_read(visit->exam, visit->exam_n, "a visit", &exam, &unsaid);
  if (status == GIRTHLINE_NO_MEMORY) return gn_error_memory(error, STAGE);
  if (status) return GIRTHLINE_OK; // damaged: check says so
  if (!t->id && same(exam.recordings, t->recordings)) t->id = visit->id;
  gn_visits_exam_clear(&exam);
  return GIRTHLINE_OK;
}

static girthline_status put(gn_store *store, gn_visits_adding *a, const gn_visits_exam *exam, long long animal_id, girthline_error *error) {
  char added_at[32];
  now_text(added_at);
  gn_store_animal animal = {animal_id, exam->identifier, exam->name, exam->species, 0};
  girthline_status status = gn_store_put_animal(store, &animal, error);
  if (status) return status;
  gn_store_visit visit = {a->id, animal.id, exam->date, exam->key, exam->fingerprint, added_at, a->json, a->n_bytes};
  status = gn_store_put_visit(store, &visit, error);
  a->id = visit.id;
  return status;
}

static girthline_status add_exam(gn_store *store, gn_visits_adding *a, const gn_visits_exam *exam, girthline_error *error) {
  long long animal_id;
  girthline_status status = whose(store, exam, &a->candidates, &animal_id, error);
  if (status) return status;
  kept k = {.fingerprint = exam->fingerprint};
  if (animal_id) status = gn_store_each_visit(store, (gn_store_filter){.animal_id = animal_id, .key = exam->key}, look, &k, error);
  if (status) return status;
  if (!animal_id) {
    status = gn_store_find_animals(store, NULL, &a->candidates, error);
    if (status) return status;
    sift(&a->candidates, by_likeness, exam);
  }
  a->id = k.id;
  a->outcome = !k.id ? GN_VISITS_ADDED : k.is_same ? GN_VISITS_SAME : GN_VISITS_REPLACED;
  if (a->outcome == GN_VISITS_SAME) return GIRTHLINE_OK;
  if (a->outcome == GN_VISITS_REPLACED && !a->replace)
    return gn_error_set(error, GIRTHLINE_REFUSED, STAGE,
                        "%s differs from visit %lld, the examination already kept for that animal and date; nothing was changed: --replace puts it in that one's place",
                        a->name, a->id);
  twin t = {exam->recordings, 0};
  if (a->outcome == GN_VISITS_ADDED && animal_id) status = gn_store_each_visit(store, (gn_store_filter){.animal_id = animal_id, .with_exam = true}, look_for_twin, &t, error);
  a->twin = t.id;
  return status ? status : put(store, a, exam, animal_id, error);
}

girthline_status gn_visits_add(gn_store *store, gn_visits_adding *a, girthline_error *error) {
  gn_visits_exam exam;
  girthline_status status = gn_visits_exam_read(a->json, a->n_bytes, a->name, &exam, error);
  if (status) return status;
  status = gn_store_begin(store, error);
  if (!status) {
    status = add_exam(store, a, &exam, error);
    if (!status) status = gn_store_commit(store, error);
    else gn_store_undo(store);
  }
  gn_visits_exam_clear(&exam);
  return status;
}

typedef struct fetched {
  char *json;
  long long animal_id;
} fetched;

static girthline_status fetch(void *user, const gn_store_visit *visit, girthline_error *error) {
  fetched *f = user;
  f->animal_id = visit->animal_id;
  f->json = gn_strdup(visit->exam);
  return f->json ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
}

girthline_status gn_visits_exam_of(gn_store *store, long long id, char **json, long long *animal_id, girthline_error *error) {
  fetched f = {0};
  *json = NULL;
  girthline_status status = id > 0 ? gn_store_each_visit(store, (gn_store_filter){.id = id, .with_exam = true}, fetch, &f, error) : GIRTHLINE_OK;
  if (status) return status;
  if (!f.json) return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "no visit %lld is in %s; girthline visits list shows all", id, gn_store_path(store));
  *json = f.json;
  if (animal_id) *animal_id = f.animal_id;
  return GIRTHLINE_OK;
}

typedef struct reading {
  void (*say)(void *, const char *);
  void *user;
  size_t n_faults;
} reading;

static girthline_status read_again(void *user, const gn_store_visit *visit, girthline_error *error) {
  reading *r = user;
  gn_visits_exam exam;
  girthline_error fault = {0};
  char name[40];
  snprintf(name, sizeof name, "visit %lld", visit->id);
  girthline_status status = gn_visits_exam_read(visit->exam, visit->exam_n, name, &exam, &fault);
  if (status == GIRTHLINE_NO_MEMORY) return gn_error_memory(error, STAGE);
  const bool matches = !status && same(exam.fingerprint, visit->fingerprint) && same(exam.key, visit->key);
  if (!status) gn_visits_exam_clear(&exam);
  if (matches) return GIRTHLINE_OK;
  if (!status) snprintf(fault.text, sizeof fault.text, "%s is not what was added: its content does not give its fingerprint", name);
  r->n_faults++;
  r->say(r->user, fault.text);
  return GIRTHLINE_OK;
}

girthline_status gn_visits_check(gn_store *store, void (*say)(void *, const char *), void *user, size_t *n_faults, girthline_error *error) {
  reading r = {say, user, 0};
  girthline_status status = gn_store_check(store, say, user, n_faults, error);
  if (!status) status = gn_store_each_visit(store, (gn_store_filter){.with_exam = true}, read_again, &r, error);
  *n_faults += r.n_faults;
  return status;
}
