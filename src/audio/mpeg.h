// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A look at MPEG audio (MP3) before the decoder sees it: the decoder prints on standard error where it is handed
/// something else or a recording that was cut off, and a library may not print. Source: ISO/IEC 11172-3, 13818-3.
#ifndef GN_AUDIO_MPEG_H
#define GN_AUDIO_MPEG_H

#include <stdbool.h>

#include "audio/source.h"

/// The bytes at `at` begin with the mark of an MPEG frame but no frame follows them: not MPEG audio after all.
bool gn_mpeg_only_resembles(gn_source *source, int64_t at);

/// Where the first frame carries an encoder's table of contents with a wrong number of bytes (the file was cut off, or
/// grew), put the right number there. Returns whether it did.
bool gn_mpeg_mend(gn_source *source, int64_t at);

#endif
