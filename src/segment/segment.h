// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Cycle length through time, and the first and second sound of every beat.
#ifndef GN_SEGMENT_SEGMENT_H
#define GN_SEGMENT_SEGMENT_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "base/features.h"
#include "base/signal.h"

typedef struct gn_segment gn_segment;

gn_segment *gn_segment_new(const girthline_profile *profile);
void gn_segment_free(gn_segment *s); ///< accepts NULL

/// Other limits than the usual ones, before the first window; copied.
void gn_segment_limit(gn_segment *s, const girthline_segment_limits *limits);

/// A window that is heard afresh may take a second thread.
void gn_segment_share(gn_segment *s);

/// Decode a window. *beats (owned by s, until the next call): the beats of the whole window in time order; none when the
/// window is refused (see gn_segment_reason). What one taught is where the next begins. Fails only when memory is refused.
girthline_status gn_segment_window(gn_segment *s, const gn_features *features, const girthline_beat **beats, size_t *n_beats);

/// Decide the names of the window's beats anew where a loud murmur may have taken a sound's place (see cycle_naming.h): window holds
/// the sound that was decoded last, spoilt its spans without evidence. The beats that gn_segment_window gave change in place; where it
/// refused them for the time between their sounds alone, the other names may bring them back (*n_beats).
girthline_status gn_segment_reconsider(gn_segment *s, const gn_signal *window, const girthline_span *spoilt, size_t n_spoilt, size_t *n_beats);

/// true where in most beats so far a murmur runs from S1 to S2 without a gap, so that S1 is not heard alone.
bool gn_segment_murmur_hides_s1(const gn_segment *s);

/// What the onset finding alone adds to an interval's standard deviation, ms; NaN before any beat.
double gn_segment_onset_jitter_ms(const gn_segment *s);

/// Why the last window gave no beats, or "" when it did. A sentence.
const char *gn_segment_reason(const gn_segment *s);

#endif
