// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What `girthline visits` was asked to do.
#ifndef GN_CLI_VISITS_H
#define GN_CLI_VISITS_H

#include <stdbool.h>
#include <stddef.h>

#include "clinic/store.h"

enum { GN_VISITS_JSON = 0, GN_VISITS_HTML, GN_VISITS_PDF, GN_VISITS_TEXT, GN_VISITS_N_OUT };

typedef struct gn_visits_request {
  const char *db;      ///< as given; NULL: the usual place
  const char *species; ///< narrows an animal's name
  const char *out[GN_VISITS_N_OUT];
  bool replace, yes, lines, quiet, force, done;
  const char **words; ///< [0]: what to do; then its arguments
  size_t n_words;
} gn_visits_request;

int gn_cli_visits(int argc, char **argv);
int gn_cli_visits_remove(const gn_visits_request *request);
/// visits compare ANIMAL [ID ID]
int gn_cli_visits_compare(const gn_visits_request *request);

/// Open the history a request means; NULL with the exit code in *code. Reading where none was begun at the usual place gives
/// NULL and code 0, said.
gn_store *gn_cli_visits_open(const gn_visits_request *request, gn_store_mode mode, int *code);

/// May an output be written: neither the history nor a file SQLite keeps beside it is overwritten. 0 or the exit code, said.
int gn_cli_visits_check_output(const gn_visits_request *request, const gn_store *store, const char *path);

/// An id of a visit; false (said) when it is none.
bool gn_cli_visits_id(const char *word, long long *id);

/// The one animal that the request's second word means, of several the one whose the visit is (0: none is known); the exit code, said, with those it
/// may mean. The caller clears *found.
int gn_cli_visits_animal(gn_store *store, const gn_visits_request *request, long long visit, gn_store_animals *found);

#endif
