// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Rows in and out. Every text from outside is bound, never written into a statement.
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/store_inside.h"

#define STAGE "visits"

void gn_store_animals_clear(gn_store_animals *animals) {
  for (size_t i = 0; i < animals->n; i++) {
    gn_free(animals->items[i].identifier);
    gn_free(animals->items[i].name);
    gn_free(animals->items[i].species);
  }
  gn_free(animals->items);
  *animals = (gn_store_animals){0};
}

static const char *text_of(sqlite3_stmt *s, int column) { return (const char *)sqlite3_column_text(s, column); }

// A copy of a column: NULL stays NULL; false when memory was refused.
static bool copy_of(sqlite3_stmt *s, int column, char **out) {
  const char *text = text_of(s, column);
  *out = gn_strdup(text);
  return !text || *out;
}

// A row that lacks what its table promises: no command of this program wrote it.
static girthline_status torn(const gn_store *store, const char *what, long long id, girthline_error *error) {
  return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s is damaged (%s %lld is not whole); nothing was changed: keep a copy, and go on from a backup or an export",
                      store->path, what, id);
}

static girthline_status take_animal(sqlite3_stmt *s, gn_store_animals *out, girthline_error *error) {
  void *items = out->items;
  if (gn_grow(&items, &out->capacity, out->n + 1, sizeof *out->items)) return gn_error_memory(error, STAGE);
  out->items = items;
  gn_store_animal *a = &out->items[out->n++];
  *a = (gn_store_animal){.id = sqlite3_column_int64(s, 0), .n_visits = sqlite3_column_int64(s, 4)};
  const bool kept = copy_of(s, 1, &a->identifier) && copy_of(s, 2, &a->name) && copy_of(s, 3, &a->species);
  return kept ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
}

// A text that memory is refused for looks like none: that must not be taken for one.
static bool texts_are_there(sqlite3_stmt *s) {
  for (int c = 0; c < sqlite3_column_count(s); c++)
    if (sqlite3_column_type(s, c) == SQLITE_TEXT && !text_of(s, c)) return false;
  return true;
}

// Steps through a statement and ends it. A row that fails ends the walk.
typedef girthline_status (*row_taker)(void *user, sqlite3_stmt *s, girthline_error *error);
static girthline_status walk(gn_store *store, sqlite3_stmt *s, row_taker take, void *user, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  int code;
  while ((code = sqlite3_step(s)) == SQLITE_ROW)
    if ((status = texts_are_there(s) ? take(user, s, error) : gn_error_memory(error, STAGE))) break;
  if (!status && code != SQLITE_DONE) status = gn_store_fault(store, code, error);
  sqlite3_finalize(s);
  return status;
}

typedef struct animal_walker {
  gn_store *store;
  gn_store_animals *out;
} animal_walker;

static girthline_status take_animal_row(void *user, sqlite3_stmt *s, girthline_error *error) {
  const animal_walker *w = user;
  const girthline_status status = take_animal(s, w->out, error);
  if (status) return status;
  const gn_store_animal *a = &w->out->items[w->out->n - 1];
  return a->species && (a->identifier || a->name) ? GIRTHLINE_OK : torn(w->store, "animal", a->id, error);
}

girthline_status gn_store_find_animals(gn_store *store, const char *word, gn_store_animals *out, girthline_error *error) {
  static const char SQL[] = "SELECT a.id, a.identifier, a.name, a.species, (SELECT count(*) FROM visits v WHERE v.animal_id = a.id) FROM animals a"
                            " WHERE ?1 IS NULL OR a.identifier = ?1 COLLATE NOCASE OR a.name = ?1 COLLATE NOCASE"
                            " ORDER BY coalesce(a.name, a.identifier), a.species, a.identifier";
  sqlite3_stmt *s;
  girthline_status status = gn_store_prepare(store, SQL, &s, error);
  if (status) return status;
  sqlite3_bind_text(s, 1, word, -1, SQLITE_STATIC);
  animal_walker w = {store, out};
  status = walk(store, s, take_animal_row, &w, error);
  if (status) gn_store_animals_clear(out);
  return status;
}

typedef struct walker {
  gn_store *store;
  gn_store_visitor visitor;
  void *user;
  bool with_exam;
} walker;

static girthline_status take_visit(void *user, sqlite3_stmt *s, girthline_error *error) {
  const walker *w = user;
  gn_store_visit v = {.id = sqlite3_column_int64(s, 0), .animal_id = sqlite3_column_int64(s, 1), .date = text_of(s, 2), .key = text_of(s, 3),
                      .fingerprint = text_of(s, 4), .added_at = text_of(s, 5), .exam = text_of(s, 6)};
  v.exam_n = v.exam ? (size_t)sqlite3_column_bytes(s, 6) : 0;
  if (!v.key || !v.fingerprint || !v.added_at || (w->with_exam && !v.exam)) return torn(w->store, "visit", v.id, error);
  return w->visitor(w->user, &v, error);
}

girthline_status gn_store_each_visit(gn_store *store, gn_store_filter f, gn_store_visitor visitor, void *user, girthline_error *error) {
  static const char SQL[] = "SELECT id, animal_id, date, key, fingerprint, added_at, iif(?4, exam, NULL) FROM visits"
                            " WHERE (?1 = 0 OR id = ?1) AND (?2 = 0 OR animal_id = ?2) AND (?3 IS NULL OR key = ?3) ORDER BY date, id";
  sqlite3_stmt *s;
  const girthline_status status = gn_store_prepare(store, SQL, &s, error);
  if (status) return status;
  sqlite3_bind_int64(s, 1, f.id);
  sqlite3_bind_int64(s, 2, f.animal_id);
  sqlite3_bind_text(s, 3, f.key, -1, SQLITE_STATIC);
  sqlite3_bind_int(s, 4, f.with_exam);
  walker w = {store, visitor, user, f.with_exam};
  return walk(store, s, take_visit, &w, error);
}

// A statement without rows.
static girthline_status change(gn_store *store, sqlite3_stmt *s, girthline_error *error) {
  const int code = sqlite3_step(s);
  const girthline_status status = code == SQLITE_DONE ? GIRTHLINE_OK : gn_store_fault(store, code, error);
  sqlite3_finalize(s);
  return status;
}

girthline_status gn_store_put_animal(gn_store *store, gn_store_animal *a, girthline_error *error) {
  static const char *const SQL[] = {"INSERT INTO animals (identifier, name, species) VALUES (?1, ?2, ?3)",
                                    "UPDATE animals SET name = coalesce(?2, name), species = ?3 WHERE id = ?4"};
  sqlite3_stmt *s;
  girthline_status status = gn_store_prepare(store, SQL[a->id != 0], &s, error);
  if (status) return status;
  if (!a->id) sqlite3_bind_text(s, 1, a->identifier, -1, SQLITE_STATIC);
  sqlite3_bind_text(s, 2, a->name, -1, SQLITE_STATIC);
  sqlite3_bind_text(s, 3, a->species, -1, SQLITE_STATIC);
  if (a->id) sqlite3_bind_int64(s, 4, a->id);
  status = change(store, s, error);
  if (!status && !a->id) a->id = sqlite3_last_insert_rowid(store->db);
  return status;
}

girthline_status gn_store_put_visit(gn_store *store, gn_store_visit *v, girthline_error *error) {
  static const char *const SQL[] = {"INSERT INTO visits (animal_id, date, key, fingerprint, added_at, exam) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                                    "UPDATE visits SET animal_id = ?1, date = ?2, key = ?3, fingerprint = ?4, added_at = ?5, exam = ?6 WHERE id = ?7"};
  sqlite3_stmt *s;
  girthline_status status = gn_store_prepare(store, SQL[v->id != 0], &s, error);
  if (status) return status;
  sqlite3_bind_int64(s, 1, v->animal_id);
  sqlite3_bind_text(s, 2, v->date, -1, SQLITE_STATIC);
  sqlite3_bind_text(s, 3, v->key, -1, SQLITE_STATIC);
  sqlite3_bind_text(s, 4, v->fingerprint, -1, SQLITE_STATIC);
  sqlite3_bind_text(s, 5, v->added_at, -1, SQLITE_STATIC);
  const int bound = sqlite3_bind_text64(s, 6, v->exam, v->exam_n, SQLITE_STATIC, SQLITE_UTF8);
  if (v->id) sqlite3_bind_int64(s, 7, v->id);
  if (bound != SQLITE_OK) {
    sqlite3_finalize(s);
    return gn_error_set(error, GIRTHLINE_LIMIT, STAGE, "the examination is too large for a history (%zu bytes)", v->exam_n);
  }
  status = change(store, s, error);
  if (!status && !v->id) v->id = sqlite3_last_insert_rowid(store->db);
  return status;
}

static girthline_status change_by_id(gn_store *store, const char *sql, long long id, girthline_error *error) {
  sqlite3_stmt *s;
  const girthline_status status = gn_store_prepare(store, sql, &s, error);
  if (status) return status;
  sqlite3_bind_int64(s, 1, id);
  return change(store, s, error);
}

girthline_status gn_store_drop_visit(gn_store *store, long long id, girthline_error *error) {
  const girthline_status status = change_by_id(store, "DELETE FROM visits WHERE id = ?1", id, error);
  if (status) return status;
  return gn_store_exec(store, "DELETE FROM animals WHERE id NOT IN (SELECT animal_id FROM visits)", error);
}

typedef struct checking {
  void (*say)(void *, const char *);
  void *user;
  size_t n_faults;
} checking;

static girthline_status take_integrity(void *user, sqlite3_stmt *s, girthline_error *error) {
  (void)error;
  checking *c = user;
  const char *text = text_of(s, 0);
  if (text && !strcmp(text, "ok")) return GIRTHLINE_OK;
  c->n_faults++;
  c->say(c->user, text ? text : "a fault without a name");
  return GIRTHLINE_OK;
}

static girthline_status take_orphan(void *user, sqlite3_stmt *s, girthline_error *error) {
  checking *c = user;
  char *text = gn_strprintf("row %lld of %s points to nothing in %s", sqlite3_column_int64(s, 1), text_of(s, 0), text_of(s, 2));
  if (!text) return gn_error_memory(error, STAGE);
  c->n_faults++;
  c->say(c->user, text);
  gn_free(text);
  return GIRTHLINE_OK;
}

girthline_status gn_store_check(gn_store *store, void (*say)(void *, const char *), void *user, size_t *n_faults, girthline_error *error) {
  static const struct {
    const char *sql;
    row_taker take;
  } CHECKS[] = {{"PRAGMA integrity_check", take_integrity}, {"PRAGMA foreign_key_check", take_orphan}};
  checking c = {say, user, 0};
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; !status && i < sizeof CHECKS / sizeof *CHECKS; i++) {
    sqlite3_stmt *s;
    status = gn_store_prepare(store, CHECKS[i].sql, &s, error);
    if (!status) status = walk(store, s, CHECKS[i].take, &c, error);
  }
  *n_faults = c.n_faults;
  return status;
}
