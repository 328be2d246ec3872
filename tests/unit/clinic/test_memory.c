// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Every allocation of the program's own seam refused in turn: nothing leaks, nothing is half kept, and the refusal is said.
// The JSON reader and SQLite have seams of their own (the reader tells a refusal as a fault of the text).
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "clinic/compare.h"
#include "clinic/visits.h"
#include "store_folder.h"

#define MOST 200000

static const char EXAM[] =
    "{\"schema\": \"girthline.exam.v1\", \"animal\": {\"name\": \"Marlow\", \"species\": \"horse\", \"identifier\": \"GL-%d\"}, \"examination\": {\"date\": \"%d-03-01\"}, \"signs\": {},"
    " \"recordings\": [{\"name\": \"a\", \"side\": \"left\", \"area\": \"mitral\", \"minutes_after_exercise\": null, \"report\": {\"schema\": \"girthline.report.v1\","
    " \"recording\": {\"file\": \"a.wav\", \"sample_rate_hz\": 4000, \"encoding\": \"WAV, 16-bit PCM\", \"content_hash\": \"xxh3-128:0\"}, \"species\": \"horse\","
    " \"quality\": {\"grade\": \"good\"}, \"extra_sounds\": [], \"beats\": [], \"rate\": {\"bpm\": 36}, \"rhythm\": {\"pattern\": \"regular\", \"intervals\": []},"
    " \"murmur\": {\"present\": true, \"detection_limit_db\": {\"systole\": -20, \"diastole\": -20}, \"phases\": [{\"phase\": \"systole\", \"timing\": \"holo\","
    " \"shape\": \"plateau\", \"level_db\": -10, \"level_db_interval\": [-11, -9], \"peak_hz\": 150, \"band_hz\": [100, 200]}]}}}],"
    " \"rate\": {\"bpm\": 36}, \"rhythm\": {\"pattern\": \"regular\"}, \"murmurs\": [], \"findings\": []}";

static char *exam_of(int identifier, int year) {
  char *text = malloc(sizeof EXAM + 40);
  snprintf(text, sizeof EXAM + 40, EXAM, identifier, year);
  return text;
}

static girthline_status add(gn_store *store, const char *json, girthline_error *error) {
  gn_visits_adding a = {.json = json, .n_bytes = strlen(json), .name = "an exam"};
  const girthline_status status = gn_visits_add(store, &a, error);
  gn_store_animals_clear(&a.candidates);
  return status;
}

static girthline_status open_and_add(void *user, girthline_error *error) {
  gn_store *store = NULL;
  girthline_status status = gn_store_open(store_path, GN_STORE_CREATE, &store, error);
  if (!status) status = add(store, user, error);
  gn_store_close(store);
  return status;
}

static girthline_status read_all(void *user, girthline_error *error) {
  gn_store *store = NULL;
  char *list = NULL, *one = NULL;
  size_t n_faults = 0;
  (void)user;
  girthline_status status = gn_store_open(store_path, GN_STORE_READ, &store, error);
  if (!status) status = gn_visits_list_text(store, 0, 80, &list, error);
  if (!status) status = gn_visits_show_text(store, 1, 80, &one, error);
  if (!status) status = gn_visits_check(store, NULL, NULL, &n_faults, error);
  gn_free(list);
  gn_free(one);
  gn_store_close(store);
  return status;
}

// The two visits kept, side by side on paper.
static girthline_status print(girthline_error *error) {
  gn_store *store = NULL;
  gn_store_animals found = {0};
  gn_comparison c = {0};
  long long ids[2] = {0};
  void *data = NULL;
  size_t n = 0;
  girthline_status status = gn_store_open(store_path, GN_STORE_READ, &store, error);
  if (!status) status = gn_visits_find(store, "GL-1", NULL, 0, &found, error);
  if (!status) status = gn_compare_last_two(store, found.items[0].id, ids, error);
  if (!status) status = gn_compare_run(store, &found.items[0], ids, &c, error);
  if (!status) status = gn_compare_pdf(&c, store, &data, &n, error);
  assert_true(status ? !data : data && n > 1000);
  girthline_data_free(data);
  gn_comparison_clear(&c);
  gn_store_animals_clear(&found);
  gn_store_close(store);
  return status;
}

static girthline_status compare(void *user, girthline_error *error) {
  gn_store *store = NULL;
  gn_store_animals found = {0};
  gn_comparison c = {0};
  long long ids[2] = {0};
  (void)user;
  girthline_status status = gn_store_open(store_path, GN_STORE_READ, &store, error);
  if (!status) status = gn_visits_find(store, "GL-1", NULL, 0, &found, error);
  if (!status) status = gn_compare_last_two(store, found.items[0].id, ids, error);
  if (!status) status = gn_compare_run(store, &found.items[0], ids, &c, error);
  char *json = status ? NULL : gn_compare_json(&c), *text = json ? gn_compare_text(&c, 80) : NULL, *page = text ? gn_compare_page(&c, store, error) : NULL;
  if (!status && !page) status = GIRTHLINE_NO_MEMORY;
  gn_free(json);
  gn_free(text);
  gn_free(page);
  gn_comparison_clear(&c);
  gn_store_animals_clear(&found);
  gn_store_close(store);
  return status;
}

// Returns how many requests were refused before the work was done without one.
static size_t refuse_each(girthline_status (*work)(void *, girthline_error *), void *user) {
  for (size_t k = 1; k < MOST; k++) {
    girthline_error error = {0};
    gn_memory_refuse(k);
    const girthline_status status = work(user, &error);
    gn_memory_refuse(0);
    if (status == GIRTHLINE_OK) return k - 1;
    if (status != GIRTHLINE_NO_MEMORY) fail_msg("request %zu: %s", k, error.text);
  }
  fail_msg("no end");
  return 0;
}

static void a_refused_addition_keeps_nothing(void **state) {
  (void)state;
  char *first = exam_of(1, 2025), *second = exam_of(1, 2026);
  assert_true(refuse_each(open_and_add, first) > 5);
  assert_true(refuse_each(open_and_add, second) > 5);
  gn_store *store = NULL;
  gn_store_animals animals = {0};
  assert_int_equal(gn_store_open(store_path, GN_STORE_READ, &store, NULL), GIRTHLINE_OK);
  assert_int_equal(gn_store_find_animals(store, NULL, &animals, NULL), GIRTHLINE_OK);
  assert_int_equal(animals.n, 1);
  assert_int_equal(animals.items[0].n_visits, 2);
  gn_store_animals_clear(&animals);
  gn_store_close(store);
  free(first);
  free(second);
}

static void a_refused_reading_and_comparison_say_so(void **state) {
  (void)state;
  assert_true(refuse_each(read_all, NULL) > 10);
  assert_true(refuse_each(compare, NULL) > 10);
}

// Drawing takes long and asks often: every request near the start, then ever fewer.
static void a_refused_document_is_none(void **state) {
  (void)state;
  girthline_status status = GIRTHLINE_NO_MEMORY;
  size_t n_refused = 0;
  for (size_t k = 1; k < MOST && status; k += 1 + k / 12) {
    girthline_error error = {0};
    gn_memory_refuse(k);
    status = print(&error);
    gn_memory_refuse(0);
    if (status) assert_int_equal(status, GIRTHLINE_NO_MEMORY);
    n_refused += status != GIRTHLINE_OK;
  }
  assert_true(!status && n_refused > 20);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_refused_addition_keeps_nothing), cmocka_unit_test(a_refused_reading_and_comparison_say_so),
                                     cmocka_unit_test(a_refused_document_is_none)};
  return cmocka_run_group_tests(tests, store_begin, store_end);
}
