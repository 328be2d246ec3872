// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// How sure each beat of an account is.
#ifndef GN_SEGMENT_CERTAINTY_H
#define GN_SEGMENT_CERTAINTY_H

#include "segment/candidate.h"

/// What a beat's sounds tell for it, nats; NaN where one of them lies without evidence.
typedef struct gn_gains {
  double s1, both;
} gn_gains;

/// Needs the scores in h to be the account's own.
gn_gains gn_certainty_gains(const gn_hearing *h, const gn_beat_frames *b);

/// Turn the posteriors of the first sounds (s1 in p, one for each beat) into the share of such beats that are right: straightened, and less where a
/// beat out of time gains little. Those of a loud heart that bursts of noise were taken for become NaN: with less than half of what its others gain,
/// and the beats on either side as near as one interval, so that nothing is missing without them; the beat before is then followed by the one
/// behind with the doubts of both. Needs the candidate's own scores in h. -1 when memory is refused.
int gn_certainty_find(const gn_hearing *h, const gn_candidate *c, gn_posterior *p);

#endif
