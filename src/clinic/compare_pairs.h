// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Which recording of the one visit belongs to which of the other.
#ifndef GN_CLINIC_COMPARE_PAIRS_H
#define GN_CLINIC_COMPARE_PAIRS_H

#include "clinic/compare_inside.h"

typedef void (*gn_pair_visitor)(void *user, const gn_pair *pair);

/// Each place that both visits recorded, in the first visit's order: at rest with at rest, after exercise with the same time
/// after it; of several of one kind the one judged best. What has no partner gets a row that says so. -1: memory refused.
int gn_compare_each_pair(gn_comparison *comparison, const char *barrier, gn_pair_visitor visitor, void *user);

bool gn_compare_same_recording(const json_t *first, const json_t *second); ///< two reports, by the hash of what they are of

/// Of two reports of one place and time, whether the first is the one that counts: it has the better grade, else more that can be used.
bool gn_compare_better(const json_t *a, const json_t *b);

#endif
