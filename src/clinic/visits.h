// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The visits of the animals of a practice: examinations put into the history, found, shown, taken out.
#ifndef GN_CLINIC_VISITS_H
#define GN_CLINIC_VISITS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/status.h>

#include "clinic/store.h"

/// Where the history lies when no file is named: $XDG_DATA_HOME/girthline/visits.db, else ~/.local/share/girthline/visits.db
/// (XDG Base Directory Specification 0.8: a relative XDG_DATA_HOME is ignored). With `make`, folders that are missing are
/// made, readable by their owner alone. The caller frees *path with gn_free.
girthline_status gn_visits_place(bool make, char **path, girthline_error *error);

/// What makes an examination this one: whose it is, and of when.
typedef struct gn_visits_exam {
  char *identifier, *name, *species, *date; ///< NULL where not given; the species is then the recordings', else horse
  char *key;                                ///< "date DATE", or "recordings HASH" where no date is given
  char *recordings;                         ///< "recordings HASH", of all of them in their order; NULL: none could be read
  char fingerprint[48];                     ///< of the content, without the order of keys, spaces, and the recordings' file names
} gn_visits_exam;
void gn_visits_exam_clear(gn_visits_exam *exam);

/// Read girthline.exam.v1. `name` is said in faults. CANNOT_READ: not an examination; BAD_HAND_FILE: names no animal.
girthline_status gn_visits_exam_read(const char *json, size_t n_bytes, const char *name, gn_visits_exam *out, girthline_error *error);

typedef enum gn_visits_outcome { GN_VISITS_ADDED = 0, GN_VISITS_SAME, GN_VISITS_REPLACED } gn_visits_outcome;

typedef struct gn_visits_adding {
  const char *json; ///< girthline.exam.v1, kept as it is
  size_t n_bytes;
  const char *name; ///< of its file, for faults
  bool replace;     ///< a corrected examination takes the old one's place
  gn_visits_outcome outcome;      ///< out
  long long id;                   ///< out: the visit added, found or replaced
  long long twin;                 ///< out: another visit of the animal with the same recordings, beside which this one was added; 0: none
  gn_store_animals candidates;    ///< out: the animals it may be of, where that is not clear, or where a new one much like them was begun; the
                                  ///< caller clears it
} gn_visits_adding;

girthline_status gn_visits_add(gn_store *store, gn_visits_adding *adding, girthline_error *error);

/// The one animal `word` means: an identifier, else a name; species (may be NULL) narrows it, and of several left it is the one whose the
/// visit is (0: none is known). REFUSED where there is none or several: these are in *found then, else exactly the one. The caller
/// clears *found.
girthline_status gn_visits_find(gn_store *store, const char *word, const char *species, long long visit, gn_store_animals *found, girthline_error *error);

/// The stored examination of one visit, exactly as it was added; REFUSED where there is none. The caller frees both.
/// animal_id may be NULL.
girthline_status gn_visits_exam_of(gn_store *store, long long id, char **json, long long *animal_id, girthline_error *error);

/// SQLite's checks, and every stored examination read again. say is called for each fault.
girthline_status gn_visits_check(gn_store *store, void (*say)(void *user, const char *fault), void *user, size_t *n_faults, girthline_error *error);

/// One line a visit, under a heading, in the order of dates; of one animal or (0) of all. The caller frees it with gn_free.
girthline_status gn_visits_list_text(gn_store *store, long long animal_id, int width, char **text, girthline_error *error);
/// One visit in words, `width` columns.
girthline_status gn_visits_show_text(gn_store *store, long long id, int width, char **text, girthline_error *error);
/// The animals, one a line: what is shown where a name is not clear.
char *gn_visits_animals_text(const gn_store_animals *animals);

/// Takes one examination of a text; the text lives until it returns. Anything but OK ends the walk and is returned.
typedef girthline_status (*gn_visits_taker)(void *user, const char *json, size_t n_bytes, girthline_error *error);

/// Each examination of a text: one girthline.exam.v1 as it stands, or those of an export in either form.
girthline_status gn_visits_each_exam(const char *json, size_t n_bytes, const char *name, gn_visits_taker take, void *user, girthline_error *error);

/// Takes a part of an output: 0, or an exit code that ends the writing.
typedef int (*gn_visits_sink)(void *user, const char *text, size_t n_bytes);

/// All visits: girthline.visits.v1 as one object, or (lines) one girthline.visit.v1 a line. *code: what the sink gave.
girthline_status gn_visits_export(gn_store *store, bool lines, gn_visits_sink sink, void *user, int *code, girthline_error *error);

#endif
