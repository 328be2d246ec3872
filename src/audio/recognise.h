// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What a file is that cannot be read as a recording, by its content, and what to do about it.
#ifndef GN_AUDIO_RECOGNISE_H
#define GN_AUDIO_RECOGNISE_H

#include "audio/source.h"

/// Bytes of an ID3v2 tag at the start (0: none); the audio begins behind it.
int64_t gn_recognise_tag_length(gn_source *source);

/// Before decoding: NOT_AUDIO with a sentence where the content is a form known not to be read; else OK.
girthline_status gn_recognise_refuse(gn_source *source, const char *shown, girthline_error *error);

/// After the decoder refused: the best sentence that can be said. Returns NOT_AUDIO.
girthline_status gn_recognise_explain(gn_source *source, const char *shown, girthline_error *error);

/// The name of a WAV format tag that is not read; NULL for those that are and for unknown ones.
const char *gn_recognise_wav_tag(unsigned tag);

#endif
