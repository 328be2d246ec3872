// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The animals this program knows, and what is usual for each.
#ifndef GIRTHLINE_SPECIES_H
#define GIRTHLINE_SPECIES_H

#include <stdbool.h>

#include <girthline/api.h>

GIRTHLINE_API_BEGIN

typedef enum girthline_species {
  GIRTHLINE_HORSE = 0,
  GIRTHLINE_FOAL,
  GIRTHLINE_DONKEY,
  GIRTHLINE_DOG,
  GIRTHLINE_CAT,
  GIRTHLINE_CATTLE,
  GIRTHLINE_CALF,
  GIRTHLINE_SHEEP,
  GIRTHLINE_GOAT,
  GIRTHLINE_HUMAN,
  GIRTHLINE_N_SPECIES
} girthline_species;

/// What the method expects of a species. Every number's source stands beside it in src/base/species.c.
typedef struct girthline_profile {
  girthline_species species;
  const char *name;            ///< as given on the command line: "horse", ...
  double usual_bpm[2];         ///< usual resting range, beats a minute; depends on age where age_matters
  bool age_matters;            ///< without an age the standing of the rate is not determined
  double possible_bpm[2];      ///< rates the decoder looks for, beats a minute
  double systole_at_1s_s;      ///< S1 onset to S2 onset at an interval of 1 s, seconds
  double systole_exponent;     ///< systole = systole_at_1s_s * interval^exponent
  double systole_share_most;   ///< systole is never more than this share of the interval
  double s1_length_s;          ///< usual length of S1, seconds
  double s2_length_s;          ///< usual length of S2, seconds
  double s3_after_s2_s[2];     ///< range of the S2-to-S3 delay, seconds
  double s4_before_s1_s[2];    ///< range of the S4-to-S1 lead, seconds
  double breaths_per_min[2];   ///< usual resting breathing rate
  bool s3_s4_normal;           ///< S3 and S4 are heard in healthy animals of this kind
  bool breathing_arrhythmia_marked; ///< a marked breathing arrhythmia is usual
} girthline_profile;

/// The profile of a species at an age. age_days < 0: unknown. Never NULL for a valid species; the pointer is to
/// constant data or to *store when the age changes a number (store may not be NULL).
const girthline_profile *girthline_profile_of(girthline_species species, double age_days, girthline_profile *store);

/// Species by its name ("horse"). Returns false when the name is unknown.
bool girthline_species_parse(const char *name, girthline_species *out);

/// "horse", "foal", ... ; NULL when out of range.
const char *girthline_species_name(girthline_species species);

GIRTHLINE_API_END
#endif
