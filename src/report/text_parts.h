// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The sentences of the text summary, one measure each, without layout.
#ifndef GN_REPORT_TEXT_PARTS_H
#define GN_REPORT_TEXT_PARTS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>

#include "report/buffer.h"

/// A finding's advice; "" where the finding before gives the same, so that it is read once.
const char *gn_text_advice(const girthline_result *result, size_t finding);

/// The rate to head a recording with: the settled one at rest; after exercise, where a fall is recovery, that of the whole.
double gn_text_bpm(const girthline_result *result);
void gn_text_rate(gn_buffer *out, const girthline_result *result);
void gn_text_rhythm(gn_buffer *out, const girthline_result *result);
void gn_text_murmur(gn_buffer *out, const girthline_result *result);
/// Why the answer on rhythm, or on the murmurs heard, is uncertain ("the recording is poor"), as the findings have it; NULL: it is not.
const char *gn_text_rhythm_doubt(const girthline_result *result);
const char *gn_text_murmur_doubt(const girthline_result *result);
/// Whether only a part of the recording was analysed, as --from and --to ask for.
bool gn_text_is_part(const girthline_result *result);
void gn_text_length(gn_buffer *out, const girthline_result *result); ///< "20.0 s", and which part of it; nothing where it is not known
void gn_text_quality(gn_buffer *out, const girthline_result *result);
void gn_text_problems(gn_buffer *out, const girthline_quality *quality); ///< nothing where none, nor of silence
void gn_text_beats(gn_buffer *out, const girthline_result *result);
void gn_text_extra(gn_buffer *out, const girthline_extra *extra);
/// What it does at S2 ("ends before S2"); NULL: not known.
const char *gn_text_murmur_end(const girthline_murmur_phase *phase);
void gn_text_murmur_phase(gn_buffer *out, const girthline_murmur_phase *phase);
void gn_text_variability(gn_buffer *out, const girthline_rhythm *rhythm); ///< nothing where none was measured

const char *gn_text_bars(const girthline_result *result); ///< what the bars over a stretch of sound are

/// Said where the header was mended.
#define GN_TEXT_REPAIRED \
  "The file's header gave another length than the file holds and was mended while reading. If it was cut off while it was copied, copy it again."

#define GN_TEXT_N_MEASURES 15

/// Measure i and every later one that is missing for the same reason: "rate, rhythm: the reason". Marks them in said.
/// false: measure i is known.
bool gn_text_unknown(gn_buffer *out, const girthline_result *result, size_t i, bool said[GN_TEXT_N_MEASURES]);

#endif
