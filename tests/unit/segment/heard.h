// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A window listened to, up to its accounts.
#ifndef TESTS_HEARD_H
#define TESTS_HEARD_H

#include "hear.h"

#include "segment/candidate.h"

typedef struct heard {
  gn_features f;
  gn_durations d;
  gn_hearing h;
} heard;

/// Features, which it takes over, listened to until one account stands first.
static inline heard *hear_features(gn_features f, girthline_species species) {
  heard *t = test_calloc(1, sizeof *t);
  const girthline_profile *p = hear_profile(species);
  const gn_lags lags = gn_lags_between(60 / p->possible_bpm[1], 60 / p->possible_bpm[0]);
  t->f = f;
  assert_int_equal(gn_durations_init(&t->d, &lags, 100, p), 0);
  assert_int_equal(gn_hearing_init(&t->h, &t->f, p, &t->d), 0);
  assert_int_equal(gn_candidate_choose(&t->h, NULL), 0);
  assert_true(t->h.n >= 1);
  return t;
}

/// A heart of 40 a minute.
static inline heard *hear_forty(void) { return hear_features(hear_heart(3000, 60, 150, 45), GIRTHLINE_HORSE); }

static inline void heard_clear(heard *t) {
  gn_hearing_clear(&t->h);
  gn_durations_clear(&t->d);
  gn_features_clear(&t->f);
  test_free(t);
}

#endif
