// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/date.h"

#include <stddef.h>
#include <string.h>

static bool leap(long y) { return (y % 4 == 0 && y % 100 != 0) || y % 400 == 0; }

static long month_length(long y, long m) {
  static const int LENGTHS[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return LENGTHS[m - 1] + (m == 2 && leap(y));
}

static long day_number(long y, long m, long d) {
  long days = 365 * (y - 1970) + (y - 1) / 4 - (y - 1) / 100 + (y - 1) / 400 - (1969 / 4 - 1969 / 100 + 1969 / 400);
  for (long k = 1; k < m; k++) days += month_length(y, k);
  return days + d - 1;
}

// Exactly n digits; -1 when they are not there.
static long digits(const char **at, int n) {
  long value = 0;
  for (int i = 0; i < n; i++) {
    if ((*at)[i] < '0' || (*at)[i] > '9') return -1;
    value = value * 10 + ((*at)[i] - '0');
  }
  *at += n;
  return value;
}

static bool hours(const char **at, bool seconds) {
  const long h = digits(at, 2);
  if (h < 0 || h > 23 || *(*at)++ != ':') return false;
  const long m = digits(at, 2);
  if (m < 0 || m > 59) return false;
  if (!seconds || **at != ':') return true;
  (*at)++;
  const long s = digits(at, 2);
  return s >= 0 && s <= 60;
}

static bool time_of_day(const char *at) {
  if (*at++ != 'T' || !hours(&at, true)) return false;
  if (*at == 'Z') return !at[1];
  if (*at == '+' || *at == '-') {
    at++;
    return hours(&at, false) && !*at;
  }
  return !*at;
}

bool gn_date_parse(const char *text, bool coarse, gn_date *out) {
  const char *at = text;
  const long y = digits(&at, 4);
  if (y < 1900 || y > 9998) return false;
  *out = (gn_date){day_number(y, 1, 1), day_number(y + 1, 1, 1) - 1};
  if (!*at) return coarse;
  if (*at++ != '-') return false;
  const long m = digits(&at, 2);
  if (m < 1 || m > 12) return false;
  *out = (gn_date){day_number(y, m, 1), day_number(y, m, month_length(y, m))};
  if (!*at) return coarse;
  if (*at++ != '-') return false;
  const long d = digits(&at, 2);
  if (d < 1 || d > month_length(y, m)) return false;
  out->first = out->last = day_number(y, m, d);
  return !*at || time_of_day(at);
}
