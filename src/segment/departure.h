// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Sounds by themselves: where each first departs from what precedes it.
#ifndef GN_SEGMENT_DEPARTURE_H
#define GN_SEGMENT_DEPARTURE_H

#include <stddef.h>

#include <girthline/result.h>

#include "base/signal.h"

/// Where the sound whose onset is near onset_s begins by itself, seconds from the recording's start, and what that is worth against an onset
/// read in the average of many: 0 (it hardly stands over what precedes it, or the window does not reach around it) to 1.
typedef struct gn_departure { double at_s, weight; } gn_departure;

/// The place that best splits the sound's surroundings, in a band that leaves out what swells slowly, into a quiet part and a loud one.
/// Filtered forwards only: nothing rings ahead. Source: Maeda 1985, Zisin 38:365 (the change point by Akaike's criterion, for earthquakes).
gn_departure gn_departure_find(const gn_signal *window, double onset_s);

/// Bring the onsets of a kind of sound back to it where they lie astray as a whole (a murmur runs into it), as the sounds' low part, which
/// murmurs have little of, what runs ahead of it, and what repeats tell; then move the onsets of n beats to where their sounds begin by themselves,
/// each by its weight; what has none moves as the others do on average.
/// Peaks and offsets stay where they are, but of sounds that the murmur was taken for: they move as a whole. 0, or -1 when memory is refused (what was
/// brought back by then stays so).
int gn_departure_sharpen(const gn_signal *window, girthline_beat *beats, size_t n);

#endif
