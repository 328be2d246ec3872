// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the caller says about a recording, and which part of it to read.
#ifndef GIRTHLINE_SETTINGS_H
#define GIRTHLINE_SETTINGS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/api.h>
#include <girthline/limits.h>
#include <girthline/species.h>

GIRTHLINE_API_BEGIN

typedef enum girthline_side { GIRTHLINE_SIDE_UNKNOWN = 0, GIRTHLINE_LEFT, GIRTHLINE_RIGHT } girthline_side;

typedef enum girthline_area {
  GIRTHLINE_AREA_UNKNOWN = 0,
  GIRTHLINE_PULMONIC,
  GIRTHLINE_AORTIC,
  GIRTHLINE_MITRAL,
  GIRTHLINE_TRICUSPID,
  GIRTHLINE_AREA_OTHER
} girthline_area;

typedef enum girthline_sound_name { GIRTHLINE_S1 = 0, GIRTHLINE_S2, GIRTHLINE_S3, GIRTHLINE_S4 } girthline_sound_name;

/// One sound given by hand.
typedef struct girthline_given_sound {
  double time_s; ///< onset, seconds from the recording's first sample
  girthline_sound_name sound;
} girthline_given_sound;

/// Open struct; start from girthline_settings_default().
typedef struct girthline_settings {
  girthline_species species;       ///< default horse
  bool species_assumed;            ///< the caller did not name a species; default true
  double age_days;                 ///< < 0: unknown (default -1)
  girthline_side side;             ///< default unknown
  girthline_area area;             ///< default unknown
  double minutes_after_exercise;   ///< < 0: at rest (default -1)
  double from_s, to_s;             ///< part to analyse, seconds; to_s <= 0: to the end (default 0, 0)
  const girthline_given_sound *given; ///< sounds given by hand in time order; NULL: decode them (default)
  size_t n_given;
  const girthline_limits *limits; ///< the method's own, kept by the caller until the analysis is done; NULL: the usual ones (default)
  int threads; ///< most that work on one recording, the caller's among them; 0: 2 where there is more than one processor. At most 4 have
               ///< anything to do, and only where the recording lasts several minutes (near its end one more may work for some milliseconds);
               ///< the result is the same to the bit. Default 1
} girthline_settings;

girthline_settings girthline_settings_default(void);

const char *girthline_side_name(girthline_side side); ///< "left", "right"; NULL for unknown
const char *girthline_area_name(girthline_area area); ///< "pulmonic", ...; NULL for unknown
bool girthline_side_parse(const char *name, girthline_side *out);
bool girthline_area_parse(const char *name, girthline_area *out);

GIRTHLINE_API_END
#endif
