// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Days of the calendar (ISO 8601, the Gregorian one throughout).
#ifndef GN_CLINIC_DATE_H
#define GN_CLINIC_DATE_H

#include <stdbool.h>

/// A date may be given to the day, the month or the year: first and last are the days it can mean, counted from
/// 1970-01-01.
typedef struct gn_date {
  long first, last;
} gn_date;

/// "2026-05-17", with "T" and a time of day behind it, which is checked; where `coarse`, "2026-05" and "2026" too.
bool gn_date_parse(const char *text, bool coarse, gn_date *out);

#endif
