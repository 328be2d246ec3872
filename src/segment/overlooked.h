// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A heart sound that was overlooked because a loud murmur was taken for another one.
#ifndef GN_SEGMENT_OVERLOOKED_H
#define GN_SEGMENT_OVERLOOKED_H

#include <girthline/result.h>

#include "segment/candidate.h"

/// The sound between the decoded ones that stands out most, as the second one of a heart whose other sound was decoded and whose third
/// "sound" is a murmur.
typedef struct gn_overlooked {
  bool in_diastole;  ///< the decoded S1 is the murmur and the decoded S2 is S1; else the decoded S2 is the murmur
  double systole_s;  ///< from S1 to it
  double log_odds;   ///< that it is so rather than as decoded; -HUGE_VAL where there is no such sound
} gn_overlooked;

/// Look for one in the account's average cycle; doubted: the account was refused, so that its own systole tells nothing for it.
/// -1 when memory is refused.
int gn_overlooked_find(const gn_hearing *h, const gn_candidate *c, bool doubted, gn_overlooked *out);

/// Where a third sound, or a murmur behind S2, was decoded as S2, and S2 itself is left over in what is called systole: learn and decode the account
/// with it. h's scores may be others afterwards. -1 when memory is refused.
int gn_overlooked_sooner(gn_hearing *h, gn_candidate *c);

/// true where the odds are enough to act on.
bool gn_overlooked_holds(const gn_overlooked *o);

/// Give n beats their other names: an S2 that would lie behind end_s is missing. Returns how many beats are left.
size_t gn_overlooked_name(const gn_overlooked *o, const girthline_profile *profile, double end_s, girthline_beat *beats, size_t n);

#endif
