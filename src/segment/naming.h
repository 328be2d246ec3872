// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Which sound is S1 and which S2, and how sure that is.
#ifndef GN_SEGMENT_NAMING_H
#define GN_SEGMENT_NAMING_H

#include "segment/candidate.h"

/// Settle the names of a candidate's sounds, exchanging them and learning anew where the other way round is likelier.
/// *log_odds: for the names as they stand afterwards. -1 when memory is refused.
int gn_naming_settle(gn_hearing *h, gn_candidate *c, double *log_odds);

/// Probability that the names are not exchanged, from the log odds; calibrated.
double gn_naming_confidence(double log_odds);

#endif
