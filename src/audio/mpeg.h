// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A look at MPEG audio (MP3) before the decoder sees it: the decoder prints on standard error where it is handed
/// something else or a recording that was cut off, or is asked for its last frame, and a library may not print. Source:
/// ISO/IEC 11172-3, 13818-3.
#ifndef GN_AUDIO_MPEG_H
#define GN_AUDIO_MPEG_H

#include <stdbool.h>

#include "audio/source.h"

/// The bytes at `at` begin with the mark of an MPEG frame but no frame follows them: not MPEG audio after all.
bool gn_mpeg_only_resembles(gn_source *source, int64_t at);

/// Leave out what follows the last frame of an unbroken row of frames (tags within the row are fine), and put the right
/// number of bytes into an encoder's table of contents in the first frame. Behind a damaged place the time would be
/// wrong, so the recording ends there. Returns whether sound was cut off or the number was wrong. *most_n: the most samples
/// that the whole frames can hold; of such a table INT64_MAX where its frames are all there and 0 where
/// they are not; -1 where it is not known.
bool gn_mpeg_mend(gn_source *source, int64_t at, int64_t *most_n);

#endif
