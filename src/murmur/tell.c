// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/relay.h"
#include "murmur/parts.h"

// Both detection limits and what each murmur is like: whoever is free takes the next of these four that is left.
enum { LIMITS = 2, PIECES = 4 };

typedef struct telling {
  const gn_murmur_test *test;
  const struct gn_murmur_locked *locked;
  const gn_murmur_beat *beats;
  const gn_murmur_evidence *found;
  double *limit_db;
  girthline_murmur_phase *phases;
  _Atomic size_t next;
} telling;

typedef struct teller {
  telling *of;
  int refused;
} teller;

static int describe(const telling *of, int phase) {
  gn_murmur_test own;
  if (!of->found[phase].found) return 0;
  if (gn_murmur_test_beside(of->test, &own)) return -1;
  const int refused = gn_murmur_describe(&own, of->locked, &of->found[phase], of->beats, &of->phases[phase]);
  gn_murmur_test_beside_clear(&own);
  return refused;
}

static void tell(void *piece) {
  teller *t = piece;
  telling *of = t->of;
  for (size_t i; !t->refused && (i = of->next++) < PIECES;)
    t->refused = i < LIMITS ? gn_murmur_limit_db(of->test, of->locked, (int)i, &of->limit_db[i]) : describe(of, (int)i - LIMITS);
}

int gn_murmur_tell(const gn_murmur_test *test, const struct gn_murmur_locked *locked, const gn_murmur_beat *beats, const gn_murmur_evidence found[2],
                   double limit_db[2], girthline_murmur_phase phases[2]) {
  telling of = {test, locked, beats, found, limit_db, phases, 0};
  teller both[2] = {{&of, 0}, {&of, 0}};
  gn_relay_both(tell, &both[0], &both[1], test->shares);
  return both[0].refused || both[1].refused ? -1 : 0;
}
