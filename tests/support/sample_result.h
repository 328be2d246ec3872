// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Results made by hand, for what is written out of them; and a sound that fits them.
#ifndef TESTS_SAMPLE_RESULT_H
#define TESTS_SAMPLE_RESULT_H

#include <girthline/result.h>

/// A resting horse of 30 s with a pause, an early beat, S4, a systolic murmur, breathing and a thump; every field filled.
girthline_result *sample_result_full(void);

/// Nothing determined, every null with its reason.
girthline_result *sample_result_empty(void);

/// A 16-bit WAV of 4000 Hz that fits sample_result_full; the caller frees *data with free().
void sample_sound(void **data, size_t *n_bytes);

/// The caution's and findings' texts, file names and tags as an attacker would write them.
extern const char *const SAMPLE_HOSTILE[];

#endif
