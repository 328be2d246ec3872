// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/batch.h"

#include <string.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"
#include "study/csv.h"

#define STAGE "batch"

enum { FILE_COLUMN, SPECIES, ANIMAL, SIDE, AREA, N_COLUMNS };
static const char *const COLUMNS[N_COLUMNS] = {"file", "species", "animal", "side", "area"};

typedef struct list {
  const char *path;
  gn_csv csv;
  int column[N_COLUMNS]; // which field holds it; -1: none
  size_t n_columns;
  girthline_error *error;
} list;

static girthline_status fault(const list *l, const char *what, const char *value) {
  return gn_error_set(l->error, GIRTHLINE_BAD_HAND_FILE, STAGE, "%s, line %zu: %s%s", l->path, l->csv.line, value, what);
}

static girthline_status read_header(list *l) {
  for (int c = 0; c < N_COLUMNS; c++) l->column[c] = -1;
  l->n_columns = l->csv.n_fields;
  if (l->csv.n_fields == 1 && strchr(gn_csv_field(&l->csv, 0), ';')) return fault(l, "the columns are parted by semicolons; part them by commas", "");
  for (size_t i = 0; i < l->csv.n_fields; i++) {
    const char *name = gn_csv_field(&l->csv, i);
    int c = 0;
    while (c < N_COLUMNS && strcmp(name, COLUMNS[c])) c++;
    if (c == N_COLUMNS) return fault(l, " is no column of a list; the columns are file, species, animal, side and area", *name ? name : "an empty name");
    if (l->column[c] >= 0) return fault(l, " stands twice among the columns", name);
    l->column[c] = (int)i;
  }
  return l->column[FILE_COLUMN] < 0 ? fault(l, "the header names no column file", "") : GIRTHLINE_OK;
}

static const char *value_of(const list *l, int column) { return l->column[column] < 0 ? "" : gn_csv_field(&l->csv, (size_t)l->column[column]); }

static girthline_status read_settings(const list *l, girthline_settings *s) {
  const char *species = value_of(l, SPECIES), *side = value_of(l, SIDE), *area = value_of(l, AREA);
  if (*species) {
    if (!girthline_species_parse(species, &s->species))
      return fault(l, " is no species known here: horse, foal, donkey, dog, cat, cattle, calf, sheep, goat or human", species);
    s->species_assumed = false;
  }
  if (*side && !girthline_side_parse(side, &s->side)) return fault(l, " is no side: left or right", side);
  if (*area && !girthline_area_parse(area, &s->area)) return fault(l, " is no area: pulmonic, aortic, mitral, tricuspid or other", area);
  return GIRTHLINE_OK;
}

// Relative to the list's own folder.
static char *beside(const char *list_path, const char *file) {
  const char *slash = strrchr(list_path, '/');
  if (*file == '/' || !slash) return gn_strdup(file);
  return gn_strprintf("%.*s%s", (int)(slash - list_path + 1), list_path, file);
}

static girthline_status read_row(list *l, gn_batch_inputs *in, const girthline_settings *settings) {
  gn_batch_item item = {.line = l->csv.line, .settings = *settings};
  const char *file = value_of(l, FILE_COLUMN), *animal = value_of(l, ANIMAL);
  if (l->csv.n_fields != l->n_columns) return fault(l, "this line has not as many fields as the header; a text with a comma stands in quotes", "");
  if (!*file) return fault(l, "no file is named", "");
  const girthline_status status = read_settings(l, &item.settings);
  if (status) return status;
  item.file = gn_strdup(file);
  item.path = beside(l->path, file);
  item.animal = *animal ? gn_strdup(animal) : NULL;
  return gn_batch_inputs_add(in, item, l->error);
}

static girthline_status read_records(list *l, gn_batch_inputs *in, const girthline_settings *settings) {
  girthline_status status = GIRTHLINE_OK;
  gn_csv_got got;
  while (!status && (got = gn_csv_next(&l->csv)) != GN_CSV_END) {
    if (got == GN_CSV_FAULT) return l->csv.refused ? gn_error_memory(l->error, STAGE) : fault(l, l->csv.fault, "");
    if (gn_csv_blank(&l->csv)) continue;
    status = l->n_columns ? read_row(l, in, settings) : read_header(l);
  }
  if (!status && !l->n_columns) return fault(l, "the list is empty; its first line must name the columns, for example file,species", "");
  return status;
}

girthline_status gn_batch_list_read(gn_batch_inputs *in, const char *path, const girthline_settings *settings, girthline_error *error) {
  const char *why;
  FILE *file = gn_file_open(path, &why);
  if (!file) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s", path, why);
  list l = {.path = path, .csv = gn_csv_reader(file), .error = error};
  const girthline_status status = read_records(&l, in, settings);
  gn_csv_clear(&l.csv);
  fclose(file);
  return status;
}
