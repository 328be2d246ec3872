// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What several commands are told about a recording by a word. Each returns 0, or says the nearest known word (or all of them) and returns
/// the exit code.
#ifndef GN_CLI_OPTIONS_RECORDING_H
#define GN_CLI_OPTIONS_RECORDING_H

#include <girthline/settings.h>

int gn_options_species(const char *command, const char *value, girthline_species *species);
int gn_options_side(const char *command, const char *value, girthline_side *side);
int gn_options_area(const char *command, const char *value, girthline_area *area);

#endif
