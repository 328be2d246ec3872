// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <girthline/settings.h>
#include <girthline/version.h>

#include <string.h>

girthline_settings girthline_settings_default(void) {
  return (girthline_settings){.species = GIRTHLINE_HORSE, .species_assumed = true, .age_days = -1, .minutes_after_exercise = -1, .threads = 1};
}

const char *girthline_version(void) { return GIRTHLINE_VERSION; }

static const char *const SIDES[] = {NULL, "left", "right"};
static const char *const AREAS[] = {NULL, "pulmonic", "aortic", "mitral", "tricuspid", "other"};

static int find(const char *const *names, int n, const char *name) {
  for (int i = 1; i < n; i++)
    if (name && !strcmp(names[i], name)) return i;
  return -1;
}

const char *girthline_side_name(girthline_side side) { return side <= GIRTHLINE_RIGHT ? SIDES[side] : NULL; }

const char *girthline_area_name(girthline_area area) { return area <= GIRTHLINE_AREA_OTHER ? AREAS[area] : NULL; }

bool girthline_side_parse(const char *name, girthline_side *out) {
  const int i = find(SIDES, 3, name);
  if (i > 0) *out = (girthline_side)i;
  return i > 0;
}

bool girthline_area_parse(const char *name, girthline_area *out) {
  const int i = find(AREAS, 6, name);
  if (i > 0) *out = (girthline_area)i;
  return i > 0;
}
