// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/numbers.h"

#include <math.h>
#include <stdbool.h>

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

const char *gn_numbers_percent(double confidence, double *percent) {
  const double permille = round(1000 * confidence);
  *percent = fmin(floor(permille / 10), 99);
  return permille > 990 ? "over " : "";
}

const char *gn_numbers_just(double bpm, const double range_bpm[2]) {
  const double whole = floor(bpm + 0.5);
  const bool outside = bpm < range_bpm[0] || bpm > range_bpm[1];
  return outside && whole >= range_bpm[0] && whole <= range_bpm[1] ? "just " : "";
}
