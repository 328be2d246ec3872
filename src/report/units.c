// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/units.h"

#include <string.h>

static bool digit(char c) { return c >= '0' && c <= '9'; }
static bool goes_on(char c) { return digit(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80; } // a word

bool gn_unit_space(const char *text, size_t at) {
  static const char *const UNITS[] = {"%", "s", "ms", "min", "dB", "Hz"};
  if (at == 0 || text[at] != ' ' || !digit(text[at - 1])) return false;
  for (size_t i = 0; i < sizeof UNITS / sizeof *UNITS; i++) {
    const size_t n = strlen(UNITS[i]);
    if (!strncmp(text + at + 1, UNITS[i], n) && !goes_on(text[at + 1 + n])) return true;
  }
  return false;
}
