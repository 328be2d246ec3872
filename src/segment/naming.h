// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Which sound is S1 and which S2, and how sure that is.
#ifndef GN_SEGMENT_NAMING_H
#define GN_SEGMENT_NAMING_H

#include <girthline/result.h>

#include "segment/candidate.h"

/// Settle the names of a candidate's sounds, exchanging them and learning anew where the other way round is likelier.
/// *log_odds: for the names as they stand afterwards. -1 when memory is refused.
int gn_naming_settle(gn_hearing *h, gn_candidate *c, double *log_odds);

/// What the times of a window's beats say for their names, log odds: systole by species and rate, and the steadier gap. 0 where fewer than two
/// have both sounds and a next one. -1 when memory is refused.
int gn_naming_of_beats(const girthline_profile *profile, const girthline_beat *beats, size_t n, double *log_odds);

/// Log odds of other names to act on where a murmur speaks against the names decoded: for less those stay.
#define GN_NAMING_ADOPT 2.0
/// Names so adopted are believed up to these log odds (choice).
#define GN_NAMING_SURE_MOST 5.0

#define GN_NAMING_SYSTOLE_SD 0.12 ///< spread of log systole around a species' expectation
/// How far a systole departs from what the species expects at that rate, in standard deviations of its logarithm.
double gn_naming_systole_z(double systole_s, double expected_s);

/// What the time between two decoded sounds that departs so from a systole's tells for other names, log odds: as S1 to S2 it lies about what is expected,
/// as other sounds anywhere within a range whose end is so many times its beginning.
double gn_naming_time_odds(double z, double range);

/// x, no further than most to either side of 0.
double gn_naming_limited(double x, double most);

/// Probability that the names are not exchanged, from the log odds; calibrated.
double gn_naming_confidence(double log_odds);

/// How far from even chances other names of these log odds are, in log odds: even chances lie where they are adopted.
double gn_naming_margin(double log_odds);

/// Confidence of names adopted at these log odds.
double gn_naming_adopted_confidence(double log_odds);

#endif
