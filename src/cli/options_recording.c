// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/options_recording.h"

#include <stdio.h>

#include "cli/say.h"

static int wrong_name(const char *command, const char *option, const char *value, const char *const *names, size_t n) {
  const char *near = gn_cli_nearest(value, names, n);
  char list[200];
  size_t at = 0;
  for (size_t i = 0; i < n && at < sizeof list; i++) at += (size_t)snprintf(list + at, sizeof list - at, "%s%s", i ? ", " : "", names[i]);
  if (near) return gn_cli_usage(command, "--%s %s is not known: did you mean %s?", option, value, near);
  return gn_cli_usage(command, "--%s %s is not known: name one of %s", option, value, list);
}

int gn_options_species(const char *command, const char *value, girthline_species *species) {
  const char *names[GIRTHLINE_N_SPECIES];
  for (int i = 0; i < GIRTHLINE_N_SPECIES; i++) names[i] = girthline_species_name((girthline_species)i);
  return girthline_species_parse(value, species) ? 0 : wrong_name(command, "species", value, names, GIRTHLINE_N_SPECIES);
}

int gn_options_side(const char *command, const char *value, girthline_side *side) {
  static const char *const SIDES[] = {"left", "right"};
  return girthline_side_parse(value, side) ? 0 : wrong_name(command, "side", value, SIDES, 2);
}

int gn_options_area(const char *command, const char *value, girthline_area *area) {
  static const char *const AREAS[] = {"pulmonic", "aortic", "mitral", "tricuspid", "other"};
  return girthline_area_parse(value, area) ? 0 : wrong_name(command, "area", value, AREAS, 5);
}
