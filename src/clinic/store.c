// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/store.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/store_inside.h"

#define STAGE "visits"
#define NO_DATABASE "%s is not a visit history of girthline (no database at all) and was left alone"

// An extended code where SQLite has one; the plain code otherwise.
girthline_status gn_store_fault(gn_store *store, int code, girthline_error *error) {
  const char *path = store->path, *said = store->db ? sqlite3_errmsg(store->db) : sqlite3_errstr(code);
  if (code == SQLITE_IOERR_NOMEM) code = SQLITE_NOMEM;
  switch (code & 0xff) {
  case SQLITE_NOMEM: return gn_error_memory(error, STAGE);
  case SQLITE_BUSY:
  case SQLITE_LOCKED:
    return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s is locked by another program; nothing was changed: try again when it has ended", path);
  case SQLITE_READONLY:
    return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s cannot be changed: it or its folder is read-only; nothing was changed", path);
  case SQLITE_FULL:
    return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s cannot be changed: the disk is full; nothing was changed: free some room and try again", path);
  case SQLITE_IOERR:
    return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s: reading or writing failed (%s); nothing was changed", path, said);
  case SQLITE_CANTOPEN: return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s cannot be opened (%s): look whether its folder is there, and at the permissions of both", path, said);
  case SQLITE_PERM:
  case SQLITE_AUTH: return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s may not be opened: look at its permissions", path);
  case SQLITE_NOTADB: return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, NO_DATABASE, path);
  case SQLITE_CORRUPT:
    return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s is damaged (%s); nothing was changed: keep a copy, and go on from a backup or an export", path, said);
  default: return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s: %s; nothing was changed", path, said);
  }
}

girthline_status gn_store_exec(gn_store *store, const char *sql, girthline_error *error) {
  const int code = sqlite3_exec(store->db, sql, NULL, NULL, NULL);
  return code == SQLITE_OK ? GIRTHLINE_OK : gn_store_fault(store, code, error);
}

girthline_status gn_store_prepare(gn_store *store, const char *sql, sqlite3_stmt **out, girthline_error *error) {
  const int code = sqlite3_prepare_v2(store->db, sql, -1, out, NULL);
  return code == SQLITE_OK ? GIRTHLINE_OK : gn_store_fault(store, code, error);
}

girthline_status gn_store_whole(gn_store *store, const char *sql, long long *value, girthline_error *error) {
  sqlite3_stmt *statement;
  girthline_status status = gn_store_prepare(store, sql, &statement, error);
  if (status) return status;
  const int code = sqlite3_step(statement);
  if (code == SQLITE_ROW) *value = sqlite3_column_int64(statement, 0);
  else status = gn_store_fault(store, code, error);
  sqlite3_finalize(statement);
  return status;
}

// "./" before a relative path: then neither "file:..." nor ":memory:" nor "" means anything but a file's name.
static char *plain_path(const char *path) { return gn_strprintf("%s%s", path[0] == '/' ? "" : "./", path); }

// The one place where a URI is made, from a path with every sign escaped that could mean something in one.
static char *immutable_uri(const char *path) {
  char *real = realpath(path, NULL);
  char *uri = real ? gn_new(3 * strlen(real) + 32, 1) : NULL;
  if (uri) {
    static const char HEX[] = "0123456789ABCDEF";
    char *to = uri + strlen(strcpy(uri, "file:"));
    for (const unsigned char *c = (const unsigned char *)real; *c; c++) {
      const bool plain = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') || (*c >= '0' && *c <= '9') || strchr("-._~/", *c);
      if (plain) *to++ = (char)*c;
      else *to++ = '%', *to++ = HEX[*c >> 4], *to++ = HEX[*c & 15];
    }
    strcpy(to, "?immutable=1");
  }
  free(real);
  return uri;
}

static bool has_unfinished_log(const char *path) {
  char *log = gn_strprintf("%s-wal", path);
  struct stat st;
  const bool has = !log || (!stat(log, &st) && st.st_size > 0);
  gn_free(log);
  return has;
}

static int prepare_connection(sqlite3 *db) {
  sqlite3_extended_result_codes(db, 1);
  sqlite3_busy_timeout(db, GN_STORE_WAIT_MS);
  sqlite3_db_config(db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
  sqlite3_db_config(db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
  sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_FKEY, 1, NULL);
  sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL); // ours has none; a stranger's must not run
  return sqlite3_exec(db, "PRAGMA synchronous = FULL; PRAGMA cell_size_check = ON", NULL, NULL, NULL);
}

static int connect(gn_store *store, const char *name, int flags) {
  int code = sqlite3_open_v2(name, &store->db, flags | SQLITE_OPEN_NOMUTEX, NULL);
  if (code == SQLITE_OK) code = prepare_connection(store->db);
  // The header is read only now: a file that cannot be read shows here.
  if (code == SQLITE_OK) code = sqlite3_exec(store->db, "PRAGMA schema_version", NULL, NULL, NULL);
  return code;
}

// A history in a read-only folder has no place for the shared-memory file of its log. Where no log is left over, the file
// is whole, and nobody can change it: it may be read as it lies there.
static int connect_immutable(gn_store *store, const char *path, int before) {
  const int plain = before & 0xff;
  if ((plain != SQLITE_CANTOPEN && plain != SQLITE_READONLY) || access(path, R_OK) || has_unfinished_log(path)) return before;
  char *uri = immutable_uri(path);
  if (!uri) return SQLITE_NOMEM;
  sqlite3_close(store->db);
  store->db = NULL;
  const int code = connect(store, uri, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI);
  gn_free(uri);
  return code;
}

static girthline_status look_at_file(const char *path, gn_store_mode mode, girthline_error *error) {
  struct stat st;
  if (stat(path, &st)) {
    if (errno == ENOENT && mode == GN_STORE_CREATE) return GIRTHLINE_OK;
    return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s: %s; girthline visits add makes a history", path, strerror(errno));
  }
  if (!S_ISREG(st.st_mode)) return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "%s is no file: a visit history is one file", path);
  if (st.st_size != 1) return GIRTHLINE_OK; // SQLite takes a file of one byte for an empty one, and would write over it
  return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, NO_DATABASE, path);
}

static girthline_status open_file(gn_store *store, gn_store_mode mode, girthline_error *error) {
  char *path = plain_path(store->path);
  if (!path) return gn_error_memory(error, STAGE);
  const int flags = mode == GN_STORE_CREATE ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READWRITE;
  int code = connect(store, path, flags); // for reading too: a killed writer's log is taken up
  if (code != SQLITE_OK && mode == GN_STORE_READ) code = connect_immutable(store, path, code);
  gn_free(path);
  return code == SQLITE_OK ? GIRTHLINE_OK : gn_store_fault(store, code, error);
}

girthline_status gn_store_open(const char *path, gn_store_mode mode, gn_store **out, girthline_error *error) {
  *out = NULL;
  if (!*path) return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, STAGE, "the history's name is empty");
  girthline_status status = look_at_file(path, mode, error);
  if (status) return status;
  gn_store *store = gn_new(1, sizeof *store);
  if (!store || !(store->path = gn_strdup(path))) status = gn_error_memory(error, STAGE);
  if (!status) status = open_file(store, mode, error);
  if (!status) status = gn_store_recognise(store, mode, error);
  if (status) gn_store_close(store);
  else *out = store;
  return status;
}

void gn_store_close(gn_store *store) {
  if (!store) return;
  sqlite3_close(store->db);
  gn_free(store->path);
  gn_free(store);
}

const char *gn_store_path(const gn_store *store) { return store->path; }

girthline_status gn_store_begin(gn_store *store, girthline_error *error) { return gn_store_exec(store, "BEGIN IMMEDIATE", error); }

girthline_status gn_store_commit(gn_store *store, girthline_error *error) {
  const girthline_status status = gn_store_exec(store, "COMMIT", error);
  if (status) gn_store_undo(store);
  return status;
}

void gn_store_undo(gn_store *store) {
  if (store && store->db && !sqlite3_get_autocommit(store->db)) sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
}
