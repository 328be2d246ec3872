// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/exam_value.h"

#include <stdio.h>
#include <string.h>

#include "base/nearest.h"
#include "clinic/date.h"

// "12", "-0.5", ".5": digits and one point, nothing else; read here, since the C library would follow the locale.
static bool plain_number(const char *text, double *out) {
  const char *at = text + (*text == '-' || *text == '+');
  double whole = 0, part = 0, unit = 1;
  size_t n = 0;
  for (; *at >= '0' && *at <= '9' && n < 15; at++, n++) whole = whole * 10 + (*at - '0');
  if (*at == '.')
    for (at++; *at >= '0' && *at <= '9' && n < 15; at++, n++) {
      part = part * 10 + (*at - '0');
      unit *= 10;
    }
  *out = (whole + part / unit) * (*text == '-' ? -1 : 1);
  return n && !*at;
}

static const char *check_number(const gn_exam_key *key, gn_exam_value *value, char *store, size_t n_store) {
  const char *const text = value->text;
  if (strchr(text, ',')) return "write the number with a decimal point, not a comma";
  if (!plain_number(text, &value->number)) return "that is not a plain number; write it without its unit";
  if (value->number >= key->least && value->number <= key->most) return NULL;
  snprintf(store, n_store, "the number must lie from %g to %g", key->least, key->most);
  return store;
}

static const char *one_of(const char *text, const char *const *names, size_t n, char *store) {
  enum { STORE = 200 };
  const char *near = gn_nearest(text, names, n);
  size_t at = 0;
  if (near) {
    snprintf(store, STORE, "that is not known; did you mean %s?", near);
    return store;
  }
  at = (size_t)snprintf(store, STORE, "that is not known; write one of ");
  for (size_t i = 0; i < n && at < STORE; i++) at += (size_t)snprintf(store + at, STORE - at, "%s%s", i ? ", " : "", names[i]);
  return store;
}

static const char *check_species(const gn_exam_value *value, char *store) {
  const char *names[GIRTHLINE_N_SPECIES];
  girthline_species species;
  for (int i = 0; i < GIRTHLINE_N_SPECIES; i++) names[i] = girthline_species_name((girthline_species)i);
  return girthline_species_parse(value->text, &species) ? NULL : one_of(value->text, names, GIRTHLINE_N_SPECIES, store);
}

static const char *check_place(gn_exam_kind kind, const gn_exam_value *value, char *store) {
  static const char *const SIDES[] = {"left", "right"}, *const AREAS[] = {"pulmonic", "aortic", "mitral", "tricuspid", "other"};
  girthline_side side;
  girthline_area area;
  if (kind == GN_KIND_SIDE) return girthline_side_parse(value->text, &side) ? NULL : one_of(value->text, SIDES, 2, store);
  return girthline_area_parse(value->text, &area) ? NULL : one_of(value->text, AREAS, 5, store);
}

const char *gn_exam_value_check(const gn_exam_key *key, gn_exam_value *value, char *store, size_t n_store) {
  gn_date date;
  switch (key->kind) {
  case GN_KIND_NUMBER: return check_number(key, value, store, n_store);
  case GN_KIND_SPECIES: return check_species(value, store);
  case GN_KIND_SIDE:
  case GN_KIND_AREA: return check_place(key->kind, value, store);
  case GN_KIND_DATE: return gn_date_parse(value->text, false, &date) ? NULL : "that is no day; write it as 2026-05-17";
  case GN_KIND_BORN: return gn_date_parse(value->text, true, &date) ? NULL : "that is no date; write it as 2019-04-23, 2019-04 or 2019";
  case GN_KIND_WORD:
  case GN_KIND_PROSE: break;
  }
  return NULL;
}
