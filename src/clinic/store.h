// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The history database: one SQLite file, known by its application id, with whole examinations as JSON text. The only
/// place that knows SQLite. Every change is one transaction, synchronised to the disk before the call returns.
#ifndef GN_CLINIC_STORE_H
#define GN_CLINIC_STORE_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/status.h>

#define GN_STORE_APPLICATION_ID 0x6769726c ///< "girl", big-endian in the file's header; a choice
#define GN_STORE_VERSION 2                 ///< PRAGMA user_version this program writes
#define GN_STORE_WAIT_MS 15000             ///< how long to wait for another program's change, itself some ms long; a choice

typedef struct gn_store gn_store;

typedef enum gn_store_mode {
  GN_STORE_READ = 0, ///< the file must exist; a read-only file or folder will do
  GN_STORE_WRITE,    ///< the file must exist
  GN_STORE_CREATE    ///< made when it is missing
} gn_store_mode;

/// Open a history. `path` is a path, whatever it looks like (never a URI, never memory). A file of an older version is
/// brought up to date in one transaction (not in GN_STORE_READ: there it is read as it is); a newer or foreign one is
/// refused and not touched. REFUSED: missing, foreign, newer, damaged or locked; CANNOT_WRITE: no room, no permission.
girthline_status gn_store_open(const char *path, gn_store_mode mode, gn_store **out, girthline_error *error);
void gn_store_close(gn_store *store); ///< accepts NULL; an open transaction is undone
const char *gn_store_path(const gn_store *store);

girthline_status gn_store_begin(gn_store *store, girthline_error *error); ///< takes the one writer's place, waiting for it
girthline_status gn_store_commit(gn_store *store, girthline_error *error);
void gn_store_undo(gn_store *store);

typedef struct gn_store_animal {
  long long id;
  char *identifier, *name, *species; ///< NULL where not given; species always given
  long long n_visits;
} gn_store_animal;

typedef struct gn_store_animals {
  gn_store_animal *items;
  size_t n, capacity;
} gn_store_animals;
void gn_store_animals_clear(gn_store_animals *animals);

/// Animals whose identifier or name is `word` (letters A-Z without regard to case), every animal for NULL; by name.
girthline_status gn_store_find_animals(gn_store *store, const char *word, gn_store_animals *out, girthline_error *error);

typedef struct gn_store_visit {
  long long id, animal_id;
  const char *date;        ///< ISO 8601 as given; NULL: none
  const char *key;         ///< what makes it this examination of this animal
  const char *fingerprint; ///< of its content
  const char *added_at;    ///< UTC, ISO 8601
  const char *exam;        ///< girthline.exam.v1; NULL where it was not asked for
  size_t exam_n;           ///< bytes
} gn_store_visit;

/// What to walk over; zero or NULL: no condition. Order: date (undated first), then id.
typedef struct gn_store_filter {
  long long id, animal_id;
  const char *key;
  bool with_exam;
} gn_store_filter;

/// Called for each visit; its texts live until it returns. Anything but OK ends the walk and is returned.
typedef girthline_status (*gn_store_visitor)(void *user, const gn_store_visit *visit, girthline_error *error);
girthline_status gn_store_each_visit(gn_store *store, gn_store_filter filter, gn_store_visitor visitor, void *user, girthline_error *error);

/// In a transaction: the id of the animal, made when animal->id is 0; else its name and species are brought up to date.
girthline_status gn_store_put_animal(gn_store *store, gn_store_animal *animal, girthline_error *error);
/// In a transaction: visit->id 0 adds a row and sets the id; else that row is written over.
girthline_status gn_store_put_visit(gn_store *store, gn_store_visit *visit, girthline_error *error);
/// In a transaction: the visit, and its animal when this was its last one.
girthline_status gn_store_drop_visit(gn_store *store, long long id, girthline_error *error);

/// SQLite's own checks: `say` is called with a sentence for each fault. *n_faults counts them.
girthline_status gn_store_check(gn_store *store, void (*say)(void *user, const char *fault), void *user, size_t *n_faults, girthline_error *error);

#endif
