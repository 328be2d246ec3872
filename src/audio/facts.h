// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Facts in words: encoding, date, and the file's name as messages show it.
#ifndef GN_AUDIO_FACTS_H
#define GN_AUDIO_FACTS_H

#include <stddef.h>

/// Container and coding in words from libsndfile's format number: "WAV, 16-bit PCM".
void gn_audio_encoding(int format, char *text, size_t size);

/// A date as recorders write it, to ISO 8601: "2026-05-03T14:22:11", or shorter where the rest is missing. date:
/// year first, one separator of any kind between the numbers; a time may follow in it or come by itself in `time` (may
/// be NULL). "" where there is no date that can exist.
void gn_audio_date(const char *date, const char *time, char *text, size_t size);

/// A name fit for a message: valid UTF-8, its last 300 bytes or fewer.
void gn_audio_shown_name(const char *name, char *text, size_t size);

#endif
