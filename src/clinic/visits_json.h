// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Reading back the program's own JSON. In each call a missing key, another type and an empty text are the same: nothing.
#ifndef GN_CLINIC_VISITS_JSON_H
#define GN_CLINIC_VISITS_JSON_H

#include <math.h>
#include <stddef.h>

#include <jansson.h>

#include <girthline/status.h>

/// An examination as a tree; the caller gives it back with json_decref. `name` is said in faults.
girthline_status gn_visits_parse(const char *json, size_t n_bytes, const char *name, json_t **out, girthline_error *error);

const char *gn_visits_text(const json_t *object, const char *key);   ///< NULL: nothing
double gn_visits_number(const json_t *object, const char *key);      ///< NaN: nothing
json_t *gn_visits_report(const json_t *exam, size_t i);              ///< the report of recording i; borrowed
double gn_visits_rate(const json_t *report);                         ///< of a report or an examination: settled where it is known; NaN: none
const char *gn_visits_species(const json_t *exam);                   ///< as given, else the recordings', else "horse"

#endif
