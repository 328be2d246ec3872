// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Two programs begin one history: the second does so between the questions by which the first one finds out whose file it is.
#include "support.h"

#include <pthread.h>
#include <stdatomic.h>
#include <string.h>

#include <sqlite3.h>

#include "clinic/store.h"
#include "store_folder.h"

#define LONG_ENOUGH_MS 500 // for the second to begin the history where nothing holds it back

static pthread_t second;
static bool at_work;
static atomic_bool done;
static girthline_status second_status;

static void *begin_it(void *user) {
  gn_store *store = NULL;
  second_status = gn_store_open(store_path, GN_STORE_CREATE, &store, NULL);
  gn_store_close(store);
  atomic_store(&done, true);
  return user;
}

// After the first question of the first program's connection.
static int after_a_question(unsigned what, void *user, void *statement, void *took) {
  (void)what, (void)user, (void)took;
  if (at_work || strcmp(sqlite3_sql(statement), "PRAGMA application_id")) return 0;
  at_work = true;
  assert_int_equal(pthread_create(&second, NULL, begin_it, NULL), 0);
  for (int waited_ms = 0; waited_ms < LONG_ENOUGH_MS && !atomic_load(&done); waited_ms += 10) sqlite3_sleep(10);
  return 0;
}

static int watch(sqlite3 *db) { return at_work ? SQLITE_OK : sqlite3_trace_v2(db, SQLITE_TRACE_PROFILE, after_a_question, NULL); }

static void a_history_begun_meanwhile_is_no_stranger(void **state) {
  (void)state;
  gn_store *store = NULL;
  girthline_error error = {0};
  sqlite3_auto_extension((void (*)(void))watch);
  const girthline_status status = gn_store_open(store_path, GN_STORE_CREATE, &store, &error);
  gn_store_close(store);
  sqlite3_reset_auto_extension();
  assert_true(at_work);
  pthread_join(second, NULL);
  assert_string_equal(error.text, "");
  assert_int_equal(status, GIRTHLINE_OK);
  assert_int_equal(second_status, GIRTHLINE_OK);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_history_begun_meanwhile_is_no_stranger)};
  return cmocka_run_group_tests(tests, store_begin, store_end);
}
