// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The names of the sounds and a loud murmur between them, decided together on the average cycle.
#ifndef GN_SEGMENT_CYCLE_NAMING_H
#define GN_SEGMENT_CYCLE_NAMING_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>

#include "base/signal.h"

/// What lies between two decoded sounds, 150 to 400 Hz.
typedef struct gn_cycle_gap {
  double depth_db; ///< how far the quieter tenth of it is under the loudest of it
  double over_db;  ///< and over the cycle's quiet
  double falls_db; ///< the first half over the second
} gn_cycle_gap;

/// The stretch of sound around what was decoded as S1, on the average cycle; times in seconds from that sound's onset.
typedef struct gn_cycle_block {
  bool closed;             ///< it begins after the second sound of the beat before and is over before this beat's
  double start_s, end_s;   ///< start_s is negative
  double contrast_db;      ///< its crest over the cycle's quiet, 150 to 400 Hz
  double rise_db;          ///< how suddenly it begins: the 40 ms after its start against the 40 ms before
  double before_db;        ///< what lies ahead of the decoded S1, against the crest
  double low_db;           ///< where it begins: the heart sounds' own band against 150 to 400 Hz
  double softer_db;        ///< by how much the decoded S2 is softer than the decoded S1, in the heart sounds' band
  double duller_db;        ///< by how much its upper band lies lower against the heart sounds' band
  double stands_db;        ///< the decoded S2 over the mean of what lies ahead of it since S1, in the heart sounds' band
  gn_cycle_gap gap[2];     ///< from the decoded S1 to S2, and from the S2 before to S1
  double interval_s, systole_s; ///< as decoded, medians
} gn_cycle_block;

/// Log odds that the stretch is a systole (S1 soft at its start, a murmur, S2 where S1 was decoded) and what was decoded as S2 a third
/// sound, rather than as decoded; doubted: rather than no heart at all. -HUGE_VAL where that cannot be.
double gn_cycle_odds(const gn_cycle_block *block, const girthline_profile *profile, bool doubted);

/// A window's beats and the spans of it without evidence.
typedef struct gn_cycle_beats {
  girthline_beat *beats;
  size_t n_beats;
  const girthline_span *spoilt;
  size_t n_spoilt;
  bool doubted; ///< the account was refused for the time between its sounds: that tells nothing for other names than none
} gn_cycle_beats;

typedef struct gn_cycle_outcome {
  bool renamed;
  bool hides_s1; ///< a murmur runs from S1 to S2 without a gap
  bool exchanged; ///< so it does once S1 and S2 are exchanged, which the caller has to do (gn_cycle_exchange)
} gn_cycle_outcome;

/// Where the odds say so, give the window's beats their other names in place: S1 where the murmur begins, S2 near the decoded S1. The
/// confidence of the names says how sure that is, or how much it takes from the names that stay. -1 when memory is refused.
int gn_cycle_name(const gn_signal *window, const girthline_profile *profile, const gn_cycle_beats *in, gn_cycle_outcome *out);

/// Each S2 becomes an S1, and the S1 behind it its S2; the first S1 is forgotten. Returns how many beats are left.
size_t gn_cycle_exchange(girthline_beat *beats, size_t n);

#endif
