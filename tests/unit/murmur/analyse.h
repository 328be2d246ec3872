// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the murmur stage says of a heart of closed form, heard whole as a human one.
#ifndef TESTS_ANALYSE_H
#define TESTS_ANALYSE_H

#include <string.h>

#include "support.h"

#include "base/result.h"
#include "base/signal.h"
#include "heart.h"
#include "murmur/murmur.h"

// breaths_per_min: as counted; NaN: not.
static inline girthline_result *analyse_beside(const heart *h, const girthline_span *spoilt, size_t n_spoilt, double breaths_per_min) {
  girthline_profile store;
  gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HUMAN, -1, &store), h->fs_hz);
  girthline_result *r = gn_result_new();
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  r->quality.breaths_per_min = breaths_per_min;
  assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, spoilt, n_spoilt), GIRTHLINE_OK);
  assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
  gn_murmur_free(m);
  return r;
}

static inline girthline_result *analyse_spoilt(const heart *h, const girthline_span *spoilt, size_t n_spoilt) {
  return analyse_beside(h, spoilt, n_spoilt, (double)NAN);
}

static inline girthline_result *analyse(const heart *h) { return analyse_spoilt(h, NULL, 0); }

/// Why the field is null; NULL where nothing is said.
static inline const char *reason_of(const girthline_result *r, const char *pointer) {
  for (size_t i = 0; i < r->n_undetermined; i++)
    if (!strcmp(r->undetermined[i].pointer, pointer)) return r->undetermined[i].reason;
  return NULL;
}

#endif
