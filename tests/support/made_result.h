// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A result made by hand: every field filled with a number the tests know.
#ifndef TESTS_MADE_RESULT_H
#define TESTS_MADE_RESULT_H

#include <girthline/result.h>

/// A resting horse with n_beats beats at 40 a minute, one pause, one early beat, an S4, a systolic murmur and a finding.
/// NULL when memory is refused.
girthline_result *made_result(size_t n_beats);

#endif
