// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A history's bytes, opened as any command opens them: looked through, exported, compared, and an examination put in.
#include "fuzz.h"

#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "clinic/compare.h"
#include "clinic/visits.h"

static const char EXAM[] = "{\"schema\":\"girthline.exam.v1\",\"animal\":{\"name\":\"Fenn\"},\"examination\":{\"date\":\"2026-01-02\"},"
                           "\"recordings\":[{\"name\":\"one\",\"report\":null}]}";

static void say(void *user, const char *fault) {
  FUZZ_HOLDS(fault && *fault);
  ++*(size_t *)user;
}

static int count(void *user, const char *text, size_t n) {
  FUZZ_HOLDS(text || !n);
  *(size_t *)user += n;
  return 0;
}

static girthline_status show(void *user, const gn_store_visit *visit, girthline_error *error) {
  gn_store *store = user;
  char *text = NULL;
  const girthline_status status = gn_visits_show_text(store, visit->id, 70, &text, error);
  FUZZ_HOLDS(!text == (status != GIRTHLINE_OK));
  gn_free(text);
  return status;
}

static void compare(gn_store *store, const gn_store_animal *animal) {
  long long ids[2];
  gn_comparison comparison = {0};
  girthline_error error = {0};
  girthline_status status = gn_compare_last_two(store, animal->id, ids, &error);
  if (!status) status = gn_compare_run(store, animal, ids, &comparison, &error);
  fuzz_check_error(status, &error);
  if (!status) {
    char *page = gn_compare_page(&comparison, store, &error);
    gn_free(page);
  }
  gn_comparison_clear(&comparison);
}

static void look_through(gn_store *store) {
  girthline_error error[5] = {{0}};
  gn_store_animals animals = {0};
  size_t n_faults = 0, said = 0, written = 0;
  int code = 0;
  char *text = NULL;
  fuzz_check_error(gn_visits_check(store, say, &said, &n_faults, &error[0]), &error[0]);
  const girthline_status listed = gn_visits_list_text(store, 0, 70, &text, &error[1]);
  fuzz_check_error(listed, &error[1]);
  FUZZ_HOLDS(!text == (listed != GIRTHLINE_OK)); // a caller that was refused has nothing to free
  gn_free(text);
  fuzz_check_error(gn_visits_export(store, true, count, &written, &code, &error[2]), &error[2]);
  fuzz_check_error(gn_store_each_visit(store, (gn_store_filter){0}, show, store, &error[3]), &error[3]);
  fuzz_check_error(gn_store_find_animals(store, NULL, &animals, &error[4]), &error[4]);
  for (size_t i = 0; i < animals.n && i < 4; i++) compare(store, &animals.items[i]);
  gn_store_animals_clear(&animals);
}

static void put_in(gn_store *store) {
  girthline_error error = {0};
  gn_visits_adding adding = {.json = EXAM, .n_bytes = sizeof EXAM - 1, .name = "exam.json"};
  fuzz_check_error(gn_visits_add(store, &adding, &error), &error);
  gn_store_animals_clear(&adding.candidates);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  static const char *const BESIDE[] = {"visits.db-journal", "visits.db-wal", "visits.db-shm"};
  const char *path = fuzz_place("visits.db");
  for (int i = 0; i < 3; i++) unlink(fuzz_place(BESIDE[i]));
  fuzz_write(path, data, n);
  for (gn_store_mode mode = GN_STORE_READ; mode <= GN_STORE_WRITE; mode++) {
    gn_store *store = NULL;
    girthline_error error = {0};
    const girthline_status status = gn_store_open(path, mode, &store, &error);
    fuzz_check_error(status, &error);
    FUZZ_HOLDS(status == GIRTHLINE_OK ? store != NULL : store == NULL);
    if (store && mode == GN_STORE_READ) look_through(store);
    if (store && mode == GN_STORE_WRITE) put_in(store);
    gn_store_close(store);
  }
  return 0;
}
