// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Numbers as a report gives them, a word for rounded ones, and a decimal point whatever locale the program that called has set.
#ifndef GN_BASE_NUMBERS_H
#define GN_BASE_NUMBERS_H

#include <locale.h>
#include <stddef.h>

/// First line of a public function that writes numbers into a text: until it returns, this thread is in the C locale. Other threads
/// are not touched. May be nested.
#define GN_PLAIN_NUMBERS __attribute__((cleanup(gn_numbers_restore), unused)) const locale_t numbers_before_ = gn_numbers_plain()

locale_t gn_numbers_plain(void); ///< what was before
void gn_numbers_restore(const locale_t *before);

/// A value as the JSON report gives it. What is rounded further elsewhere is rounded from there, so that both say the same. decimals 0 to 6;
/// from 1e11 on the value as it is; NaN stays.
double gn_rounded(double value, int decimals);
double gn_whole(double value, int decimals); ///< to a whole number from there, ties away from zero (printf's go to the even)

/// Minutes as the JSON report gives them, with a unit that fits: "1 minute", "2.5 minutes". Returns store.
const char *gn_numbers_minutes(double minutes, char store[40]);

/// Copy a text with a true minus (U+2212) before each number under zero, and no sign before a whole number rounded to 0. What does not fit
/// into size bytes (from 1) is cut; always terminated.
void gn_numbers_signed(const char *from, char *to, size_t size);

/// A confidence, 0 to 1, in whole percent of the three places the JSON report gives, never rounded up and never 100: "over " and 99 where it is
/// more than that, else "".
const char *gn_numbers_percent(double confidence, double *percent);

/// "just " where a rate outside the range is within it as the whole number that people read; else "".
const char *gn_numbers_just(double bpm, const double range_bpm[2]);

#endif
