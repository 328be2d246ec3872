// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The tables, how an older file becomes a newer one, and whose file it is.
#include <stdio.h>

#include "base/error.h"
#include "clinic/store_inside.h"

#define STAGE "visits"

// Step i brings version i to i + 1. A step that was released is never changed; a new one is added.
static const char *const STEPS[GN_STORE_VERSION] = {
    "CREATE TABLE animals ("
    " id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " identifier TEXT CHECK (identifier <> ''),"
    " name TEXT CHECK (name <> ''),"
    " species TEXT NOT NULL CHECK (species <> ''),"
    " CHECK (identifier IS NOT NULL OR name IS NOT NULL)) STRICT;"
    "CREATE UNIQUE INDEX animal_by_identifier ON animals (identifier) WHERE identifier IS NOT NULL;"
    "CREATE UNIQUE INDEX animal_by_name ON animals (name, species) WHERE identifier IS NULL;"
    "CREATE TABLE visits ("
    " id INTEGER PRIMARY KEY AUTOINCREMENT," // never given twice: a number on paper stays true
    " animal_id INTEGER NOT NULL REFERENCES animals (id) ON DELETE RESTRICT,"
    " date TEXT,"
    " key TEXT NOT NULL,"
    " fingerprint TEXT NOT NULL,"
    " added_at TEXT NOT NULL,"
    " exam TEXT NOT NULL,"
    " UNIQUE (animal_id, key)) STRICT;",
    "CREATE INDEX visit_by_date ON visits (animal_id, date, id);",
};

typedef struct marks {
  long long application_id, version, n_tables;
} marks;

// All of one moment: between two of the questions another program may begin the history.
static girthline_status read_marks(gn_store *store, marks *m, girthline_error *error) {
  girthline_status status = gn_store_exec(store, "SAVEPOINT marks", error);
  if (!status) status = gn_store_whole(store, "PRAGMA application_id", &m->application_id, error);
  if (!status) status = gn_store_whole(store, "PRAGMA user_version", &m->version, error);
  if (!status) status = gn_store_whole(store, "SELECT count(*) FROM sqlite_schema", &m->n_tables, error);
  if (!status) status = gn_store_exec(store, "RELEASE marks", error);
  if (status) gn_store_undo(store);
  return status;
}

static girthline_status judge(const gn_store *store, const marks *m, girthline_error *error) {
  const char *path = store->path;
  if (!m->application_id && !m->version && !m->n_tables) return GIRTHLINE_OK; // empty: nobody's yet
  if (m->application_id != GN_STORE_APPLICATION_ID)
    return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s is another program's database, not a visit history of girthline, and was left alone", path);
  if (m->version > GN_STORE_VERSION)
    return gn_error_set(error, GIRTHLINE_REFUSED, STAGE,
                        "%s was written by a newer girthline (version %lld of its tables; this one knows up to %d) and was left alone: use the newer program",
                        path, m->version, GN_STORE_VERSION);
  if (m->version < 1) return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s is damaged: it names no version of its tables; nothing was changed", path);
  return GIRTHLINE_OK;
}

static girthline_status climb(gn_store *store, long long version, girthline_error *error) {
  char last[120];
  snprintf(last, sizeof last, "PRAGMA application_id = %d; PRAGMA user_version = %d", GN_STORE_APPLICATION_ID, GN_STORE_VERSION);
  girthline_status status = GIRTHLINE_OK;
  for (; !status && version < GN_STORE_VERSION; version++) status = gn_store_exec(store, STEPS[version], error);
  return status ? status : gn_store_exec(store, last, error);
}

// In one transaction: another program may be doing the same, and a kill leaves the old file or the new one.
static girthline_status bring_up_to_date(gn_store *store, girthline_error *error) {
  marks m = {0};
  girthline_status status = gn_store_begin(store, error);
  if (status) return status;
  status = read_marks(store, &m, error);
  if (!status) status = judge(store, &m, error);
  if (!status && m.version < GN_STORE_VERSION) status = climb(store, m.version, error);
  if (!status) return gn_store_commit(store, error);
  gn_store_undo(store);
  return status;
}

// The log's mode is kept in the file. The change needs the file for itself, and SQLite does not wait for that by itself.
static girthline_status write_ahead(gn_store *store, girthline_error *error) {
  int code = SQLITE_BUSY;
  for (int waited_ms = 0; waited_ms <= GN_STORE_WAIT_MS; waited_ms += 20) {
    code = sqlite3_exec(store->db, "PRAGMA journal_mode = WAL", NULL, NULL, NULL);
    if ((code & 0xff) != SQLITE_BUSY && (code & 0xff) != SQLITE_LOCKED) break;
    sqlite3_sleep(20);
  }
  return code == SQLITE_OK ? GIRTHLINE_OK : gn_store_fault(store, code, error);
}

girthline_status gn_store_recognise(gn_store *store, gn_store_mode mode, girthline_error *error) {
  marks m = {0};
  girthline_status status = read_marks(store, &m, error);
  if (!status) status = judge(store, &m, error);
  if (status) return status;
  if (!m.version && mode != GN_STORE_CREATE) return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s is empty: no visit history was begun in it", store->path);
  if (mode == GN_STORE_READ) return GIRTHLINE_OK;
  if (m.version < GN_STORE_VERSION) status = bring_up_to_date(store, error);
  return status ? status : write_ahead(store, error);
}
