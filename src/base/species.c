// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <girthline/species.h>
#include <girthline/result.h>

#include <string.h>

// Starting values; sources: see docs/references.md.
static const girthline_profile PROFILES[GIRTHLINE_N_SPECIES] = {
    {GIRTHLINE_HORSE, "horse", {28, 44}, false, {16, 240}, 0.400, 0.45, 0.62, 0.120, 0.085, {0.10, 0.25}, {0.08, 0.30}, {8, 16}, true, false},
    {GIRTHLINE_FOAL, "foal", {60, 100}, true, {40, 260}, 0.300, 0.42, 0.60, 0.090, 0.065, {0.07, 0.18}, {0.05, 0.20}, {20, 40}, true, false},
    {GIRTHLINE_DONKEY, "donkey", {36, 68}, false, {20, 250}, 0.370, 0.45, 0.62, 0.110, 0.080, {0.09, 0.22}, {0.07, 0.27}, {12, 44}, true, false},
    {GIRTHLINE_DOG, "dog", {60, 160}, false, {36, 270}, 0.245, 0.42, 0.60, 0.070, 0.050, {0.06, 0.16}, {0.05, 0.15}, {10, 30}, false, true},
    {GIRTHLINE_CAT, "cat", {120, 220}, false, {80, 320}, 0.240, 0.42, 0.60, 0.050, 0.035, {0.05, 0.12}, {0.04, 0.12}, {16, 40}, false, false},
    {GIRTHLINE_CATTLE, "cattle", {48, 84}, false, {28, 220}, 0.360, 0.45, 0.62, 0.110, 0.080, {0.09, 0.22}, {0.07, 0.25}, {10, 30}, true, false},
    {GIRTHLINE_CALF, "calf", {80, 140}, true, {50, 260}, 0.300, 0.42, 0.60, 0.080, 0.060, {0.07, 0.18}, {0.05, 0.20}, {20, 50}, true, false},
    {GIRTHLINE_SHEEP, "sheep", {60, 120}, false, {40, 260}, 0.290, 0.42, 0.60, 0.075, 0.055, {0.06, 0.16}, {0.05, 0.18}, {12, 34}, true, false},
    {GIRTHLINE_GOAT, "goat", {70, 135}, false, {40, 260}, 0.290, 0.42, 0.60, 0.075, 0.055, {0.06, 0.16}, {0.05, 0.18}, {12, 30}, true, false},
    {GIRTHLINE_HUMAN, "human", {60, 100}, false, {36, 230}, 0.330, 0.40, 0.60, 0.110, 0.085, {0.09, 0.20}, {0.05, 0.16}, {12, 20}, false, false},
};

const girthline_profile *girthline_profile_of(girthline_species species, double age_days, girthline_profile *store) {
  (void)age_days;
  (void)store;
  return (unsigned)species < GIRTHLINE_N_SPECIES ? &PROFILES[species] : NULL;
}

bool girthline_species_parse(const char *name, girthline_species *out) {
  for (int i = 0; i < GIRTHLINE_N_SPECIES; i++)
    if (!strcmp(PROFILES[i].name, name)) {
      *out = PROFILES[i].species;
      return true;
    }
  return false;
}

const char *girthline_species_name(girthline_species species) {
  return (unsigned)species < GIRTHLINE_N_SPECIES ? PROFILES[species].name : NULL;
}

const char *girthline_caution(girthline_species species) {
  (void)species;
  return "";
}
