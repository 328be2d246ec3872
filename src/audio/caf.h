// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// CAF headers (phones write them) mended before decoding. Source: Core Audio Format Specification 1.0.
#ifndef GN_AUDIO_CAF_H
#define GN_AUDIO_CAF_H

#include <stdbool.h>

#include "audio/source.h"

/// Where the length of the sound reaches beyond the end of the file, or is 0 with bytes behind it, put in the length
/// that is there. Returns whether it did; other containers are left alone.
bool gn_caf_mend(gn_source *source);

#endif
