// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the files of the store share.
#ifndef GN_CLINIC_STORE_INSIDE_H
#define GN_CLINIC_STORE_INSIDE_H

#include <sqlite3.h>

#include "clinic/store.h"

struct gn_store {
  sqlite3 *db;
  char *path; ///< as given
};

/// What SQLite said, in words with a remedy; always an error.
girthline_status gn_store_fault(gn_store *store, int code, girthline_error *error);

girthline_status gn_store_exec(gn_store *store, const char *sql, girthline_error *error);
girthline_status gn_store_prepare(gn_store *store, const char *sql, sqlite3_stmt **out, girthline_error *error);
girthline_status gn_store_whole(gn_store *store, const char *sql, long long *value, girthline_error *error); ///< one number

/// Is it ours, is it new, which version; brings it up to date where it may be written.
girthline_status gn_store_recognise(gn_store *store, gn_store_mode mode, girthline_error *error);

#endif
