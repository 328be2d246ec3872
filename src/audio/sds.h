// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// MIDI Sample Dump files mended before decoding. Source: MIDI 1.0 Detailed Specification, Sample Dump Standard.
#ifndef GN_AUDIO_SDS_H
#define GN_AUDIO_SDS_H

#include <stdbool.h>

#include "audio/source.h"

/// Leave out all from the first packet on that is not whole or does not begin as one, and promise no more. Returns whether less is there than
/// was promised; other forms are left alone.
bool gn_sds_mend(gn_source *source);

#endif
