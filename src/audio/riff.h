// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// WAV headers (RIFF, RIFX, RF64) looked at before the decoder sees them: wrong lengths mended, contradictions refused.
/// Source: Multimedia Programming Interface and Data Specifications 1.0 (IBM and Microsoft, 1991); EBU Tech 3306 (RF64).
#ifndef GN_AUDIO_RIFF_H
#define GN_AUDIO_RIFF_H

#include <stdbool.h>

#include "audio/source.h"

/// *mended: the length of the sound was wrong or missing and stands right now, as seen through the source. Other
/// containers are left alone. Errors: NOT_AUDIO, LIMIT.
girthline_status gn_riff_mend(gn_source *source, const char *shown, bool *mended, girthline_error *error);

/// A rate and a number of channels that can be read; else NOT_AUDIO or LIMIT with the reason.
girthline_status gn_audio_check_form(double fs_hz, double channels, const char *shown, girthline_error *error);

#endif
