// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What repeats between the beats: is there a murmur, when in the cycle, of what shape, pitch and level.
#ifndef GN_MURMUR_MURMUR_H
#define GN_MURMUR_MURMUR_H

#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "base/signal.h"

typedef struct gn_murmur gn_murmur;

gn_murmur *gn_murmur_new(const girthline_profile *profile, double analysis_fs_hz);
void gn_murmur_free(gn_murmur *m); ///< accepts NULL

/// A murmur was seen to run from S1 to S2 without a gap: it hides what S1 alone would sound like, so that nothing in systole can be held
/// against S1.
void gn_murmur_hides_s1(gn_murmur *m);

/// gn_murmur_lay and gn_murmur_finish may take a second thread.
void gn_murmur_share(gn_murmur *m);

/// Collect the beat-aligned picture from the beats whose S1 lies in [from_s, to_s); beats holds their neighbours too.
/// spoilt: spans that hide the heart, time order. Memory is bounded: with many beats an even selection is kept.
girthline_status gn_murmur_collect(gn_murmur *m, const gn_signal *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats,
                                   const girthline_span *spoilt, size_t n_spoilt);

/// Lay the collected beats on each other, into the average cycle of result->pictures, and learn what is usual in them: what gn_murmur_finish begins
/// with, and other threads may do while other stages finish. Of result it takes nothing but limits, which have to stay where they are.
girthline_status gn_murmur_lay(gn_murmur *m, girthline_result *result);

/// Fill result->murmur, and what gn_murmur_lay does where it was not asked; every null gets its reason.
girthline_status gn_murmur_finish(gn_murmur *m, girthline_result *result);

#endif
