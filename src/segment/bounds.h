// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the final times of a window's beats have to hold: onsets were moved since the beats were chosen.
#ifndef GN_SEGMENT_BOUNDS_H
#define GN_SEGMENT_BOUNDS_H

#include <stddef.h>

#include <girthline/result.h>

#include "base/signal.h"

#define GN_BROKEN 1e-6f ///< girthline_beat.unbroken: judged, and surely not the next beat

/// A sound lasts to the next one, or to the end of the window, at most. One that begins behind either, or within a hidden span, is none
/// (its times are NaN), and a beat whose first sound is such a one is left out. hidden: n_hidden spans in which nothing can be measured, in any order.
/// Returns how many of the n beats (in time order) are left, at the front.
size_t gn_beats_bound(girthline_beat *beats, size_t n, const gn_signal *window, const girthline_span *hidden, size_t n_hidden);

#endif
