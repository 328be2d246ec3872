// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The recording written again with its heart sounds as RIFF cue points and labels ("S1", "S2", ...), whole or its best
/// stretch. Source: Multimedia Programming Interface and Data Specifications 1.0 (RIFF, WAVE, cue, LIST adtl), August 1991.
#ifndef GN_REPORT_MARKED_H
#define GN_REPORT_MARKED_H

#include <stdint.h>
#include <stdio.h>

#include <girthline/report.h>

#include "report/buffer.h"
#include "report/sink.h"

/// Part of a recording in frames; n_frames may be UINT64_MAX: to the end.
typedef struct gn_stretch { uint64_t first, n_frames; } gn_stretch;

/// Write the whole recording with marks. An uncompressed RIFF WAVE keeps its sample bytes and its other chunks (its own
/// cue points and labels are replaced); any other form is decoded: the channel used, 24-bit PCM.
/// GIRTHLINE_CANNOT_READ, _NOT_AUDIO, _LIMIT (over 4 GiB), _NO_MEMORY, _CANNOT_WRITE (the sink stopped).
girthline_status gn_marked_write(const girthline_report_input *input, gn_sink sink, girthline_error *error);

/// The same for its best stretch alone, without the other chunks. Without a best stretch: GIRTHLINE_CANNOT_WRITE.
girthline_status gn_clip_write(const girthline_report_input *input, gn_sink sink, girthline_error *error);

/// The cue chunk, the label list and the writer's name, ready to stand at a file's end, for the sounds inside the
/// stretch. Empty of cues where there are none.
void gn_marks_build(gn_buffer *out, const girthline_result *result, double rate_hz, gn_stretch stretch);

/// The decoded form (marked_decode.c).
girthline_status gn_marked_decode(const girthline_report_input *input, gn_stretch stretch, const gn_buffer *marks, gn_sink sink, girthline_error *error);

void gn_put_u16(gn_buffer *out, unsigned value); ///< little-endian
void gn_put_u32(gn_buffer *out, uint64_t value);
/// "RIFF", the size of what follows, "WAVE".
void gn_put_riff_head(gn_buffer *out, uint64_t n_bytes_after);

#endif
