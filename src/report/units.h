// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A number and its unit stand on one line.
#ifndef GN_REPORT_UNITS_H
#define GN_REPORT_UNITS_H

#include <stdbool.h>
#include <stddef.h>

#define GN_NO_BREAK "\xC2\xA0" ///< the space no line ends at

/// Whether text[at] is the space between a number and its unit (%, s, ms, min, dB, Hz).
bool gn_unit_space(const char *text, size_t at);

#endif
