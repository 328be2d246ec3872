// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/numbers.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

// Where the C locale is refused (it is no allocation in the C libraries known), 0 leaves all as it is.
locale_t gn_numbers_plain(void) { return uselocale(newlocale(LC_ALL_MASK, "C", (locale_t)0)); }

void gn_numbers_restore(const locale_t *before) {
  const locale_t mine = uselocale(*before);
  if (mine != *before) freelocale(mine);
}

double gn_rounded(double value, int decimals) {
  double unit = 1;
  for (int i = 0; i < decimals; i++) unit *= 10;
  return fabs(value) < 1e11 ? round(value * unit) / unit : value;
}

double gn_whole(double value, int decimals) { return round(gn_rounded(value, decimals)); }

const char *gn_numbers_minutes(double minutes, char store[40]) {
  const int n = snprintf(store, 40, "%.12g", gn_rounded(minutes, 2));
  snprintf(store + n, 40 - (size_t)n, " minute%s", strcmp(store, "1") ? "s" : "");
  return store;
}

void gn_numbers_signed(const char *from, char *to, size_t size) {
  static const char MINUS[] = "\xE2\x88\x92";
  const char *const start = from;
  size_t n = 0;
  for (; *from && n + 1 < size; from++) {
    const bool minus = *from == '-' && from[1] >= '0' && from[1] <= '9' && (from == start || from[-1] == ' ' || from[-1] == '(');
    if (minus && from[1] == '0' && strspn(from + 1, "0123456789.") == 1) continue;
    if (minus && n + sizeof MINUS >= size) break;
    if (minus) memcpy(to + n, MINUS, sizeof MINUS - 1), n += sizeof MINUS - 1;
    else to[n++] = *from;
  }
  to[n] = '\0';
}

const char *gn_numbers_percent(double confidence, double *percent) {
  const double permille = round(1000 * confidence);
  *percent = fmin(floor(permille / 10), 99);
  return permille > 990 ? "over " : "";
}

const char *gn_numbers_just(double bpm, const double range_bpm[2]) {
  const double told = gn_rounded(bpm, 2), whole = gn_whole(bpm, 2);
  const bool outside = told < range_bpm[0] || told > range_bpm[1];
  return outside && whole >= range_bpm[0] && whole <= range_bpm[1] ? "just " : "";
}
