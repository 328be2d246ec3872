// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Whether what was decoded is a heart at all.
#ifndef GN_SEGMENT_TRUST_H
#define GN_SEGMENT_TRUST_H

#include <girthline/limits.h>

#include "segment/candidate.h"
#include "segment/kinds.h"

/// What speaks for a heart in the window.
typedef struct gn_trust {
  size_t n_clear;        ///< beats with both sounds outside spoilt stretches
  double gain_per_beat;  ///< log likelihood over that of no beat at all, per beat
  double contrast_db[2]; ///< S1's and S2's peak over the louder of systole and diastole, both bands together
  double between_db;     ///< systole's level over diastole's, both bands together
  double usual_share;    ///< intervals between 0.5 and 1.8 of the median one, of the near or the far ones' where they come in turn
  double systole_sd;     ///< spread of log systole over the beats, apart where near and far ones come in turn
  double systole_offset; ///< log of this recording's systole over the species' expectation
  double alike_db;       ///< RMS difference between the two templates, where they lie best on each other
  double systole_share;  ///< the median systole, of the median interval, of the nearer one where they come in turn
  double in_turn_share;  ///< of the intervals, those that are long and short in turn
  double alternation_db; ///< by which both sounds of every second beat differ from the others, RMS, where they are nearly evenly spaced; else 0
  double midway_nats;    ///< what two sounds as far apart gain midway between a beat and the next at best, mean; NaN where a beat reaches there
  double elsewhere_share; ///< what two such sounds at a steady time after a beat gain at best, mean, of what its own gain; NaN where none has room
  double uneven;         ///< see gn_timing_uneven; 0 where it was not asked for
  gn_kinds kinds;        ///< none found mixed or otherwise each time where they were not asked for
} gn_trust;

/// The refusal of an account that may have left out every second beat.
#define GN_TRUST_MIDWAY "as many sounds again lie between the beats that were found, so the rate may be twice as high"

/// The refusals of an account that may have taken each sound for a beat.
#define GN_TRUST_FASTER "the sounds follow each other faster than such a heart can beat"
#define GN_TRUST_TOO_SHORT "the time between the paired sounds is too short for a heart at that rate"
#define GN_TRUST_TOO_LONG "the time between the paired sounds is too long for a heart at that rate"
#define GN_TRUST_ALTERNATE "every second beat that was found sounds otherwise, as the two sounds of one beat do"
#define GN_TRUST_IN_TURN "the beats that were found lie near and far in turn, as the two sounds of one beat do"
#define GN_TRUST_MIXED "the sounds are evenly spaced and of the same kinds under either name, as a heart's and knocks are together"
#define GN_TRUST_OTHERWISE "the sounds stand far out and are of another waveform each time, as bursts of noise are and a heart's sounds are not"
#define GN_TRUST_ONE_BURST "the two sounds are alike and it is loud between them, as at the ends of one burst of noise"
#define GN_TRUST_UNPAIRED "what repeats does not come as pairs of short sounds, as a heart's do"

/// Needs the candidate's own scores in h (gn_candidate_decode was its last use).
gn_trust gn_trust_measure(const gn_hearing *h, const gn_candidate *c);

/// true where the sounds are so much alike and, frame by frame, so evenly spaced that their exact times have to be known.
bool gn_trust_asks_times(const girthline_segment_limits *limits, const gn_trust *t);

/// true where the two sounds stand so far out, so evenly and so like each other on average that their kinds have to be known.
bool gn_trust_asks_kinds(const girthline_segment_limits *limits, const gn_trust *t);

/// true where they stand so far out that no noise hides whether they repeat from beat to beat.
bool gn_trust_asks_repeats(const gn_trust *t);

/// true where each sound was taken for a beat, as long and short intervals in turn tell, and what was taken for S2 comes too soon for one.
bool gn_trust_is_single(const girthline_segment_limits *limits, const gn_trust *t);

/// Why this is not accepted as a heart, as a sentence; NULL when it is.
const char *gn_trust_refusal(const girthline_segment_limits *limits, const gn_trust *t, const girthline_profile *profile, double interval_s);

/// true where both sounds of six and more beats stand out as the clearer one must, and each beat gains what a covered one must: for
/// accounts that had less to go by.
bool gn_trust_plain(const girthline_segment_limits *limits, const gn_trust *t);

#endif
