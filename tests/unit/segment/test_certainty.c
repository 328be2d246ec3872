// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "heard.h"

#include <string.h>

#include "segment/certainty.h"

enum { MOST_BEATS = 40, ODD = 6 };

// A clean heart of 40 a minute with its beats; p: one posterior for each, to be given.
typedef struct patient {
  heard *t;
  gn_candidate *c;
  gn_posterior p[MOST_BEATS];
} patient;

static patient heart_of_40(void) {
  patient h = {.t = hear_forty()};
  h.c = &h.t->h.list[0];
  assert_int_equal(gn_candidate_refine(&h.t->h, h.c, 1), 0);
  assert_in_range(h.c->n_beats, 15, 30);
  return h;
}

static void forget(patient *h) { heard_clear(h->t); }

static void find(patient *h, float posterior) {
  assert_in_range(h->c->n_beats, 1, MOST_BEATS);
  for (size_t i = 0; i < h->c->n_beats; i++) h->p[i] = (gn_posterior){posterior, 1, 0.9f};
  assert_int_equal(gn_certainty_find(&h->t->h, h->c, h->p), 0);
}

static size_t strays(patient *h) {
  size_t n = 0;
  find(h, 1);
  for (size_t i = 0; i < h->c->n_beats; i++) n += isnan(h->p[i].s1) ? 1 : 0;
  return n;
}

static void a_beat_too_many_that_gains_little_is_a_stray(void **state) {
  (void)state;
  patient h = heart_of_40();
  gn_candidate *c = h.c;
  gn_beat_frames *more = gn_new(c->n_beats + 1, sizeof *more);
  for (size_t i = 0; i < c->n_beats; i++) more[i + (i > 5)] = c->beats[i];
  more[6] = (gn_beat_frames){more[5].s1 + 60, more[5].s1 + 105};
  gn_free(c->beats);
  c->beats = more;
  c->n_beats++;
  assert_int_equal(strays(&h), 1);
  assert_true(isnan(h.p[6].s1));
  assert_near(h.p[5].unbroken, 0.81, 1e-6); // the doubts of both parts
  assert_near(h.p[4].unbroken, 0.9, 1e-6);
  gn_memory_refuse(1);
  assert_int_equal(gn_certainty_find(&h.t->h, c, h.p), -1);
  gn_memory_refuse(0);
  float *s1 = h.t->h.scores.s1 + h.t->h.scores.pad;
  const float before = s1[c->beats[6].s1];
  s1[c->beats[6].s1] = 0.9f * s1[c->beats[5].s1]; // an S1 like the others, if hardly an S2: a beat that came early
  assert_int_equal(strays(&h), 0);
  s1[c->beats[6].s1] = before;
  memmove(c->beats + 6, c->beats + 7, (--c->n_beats - 6) * sizeof *c->beats);
  s1[c->beats[8].s1] = -20; // one that all but vanishes, where one is due, stays
  assert_int_equal(strays(&h), 0);
  forget(&h);
}

// The shares that were right of beats with such a posterior, on simulated hearts.
static void confidence_rises_with_the_posterior_and_stays_a_share(void **state) {
  (void)state;
  const struct { float posterior; double confidence, within; } right[] = {{0.90f, 0.65, 0.02}, {0.97f, 0.83, 0.02}, {0.999f, 0.985, 0.01}};
  patient h = heart_of_40();
  for (size_t k = 0; k < sizeof right / sizeof *right; k++) {
    find(&h, right[k].posterior);
    for (size_t i = 0; i < h.c->n_beats; i++) assert_near(h.p[i].s1, right[k].confidence, right[k].within);
  }
  float before = 0;
  for (int k = 0; k <= 100; k++) {
    find(&h, 0.01f * (float)k);
    assert_true(h.p[3].s1 >= before && h.p[3].s1 <= 1);
    before = h.p[3].s1;
  }
  forget(&h);
}

// Move a beat, with what its sounds gain, to so many intervals of 150 frames behind the one before; its sounds gain this share of the others' then.
static void move(patient *h, size_t i, double intervals, double share) {
  gn_candidate *c = h->c;
  float *s1 = h->t->h.scores.s1 + h->t->h.scores.pad, *s2 = h->t->h.scores.s2 + h->t->h.scores.pad;
  const gn_gains usual = gn_certainty_gains(&h->t->h, &c->beats[i - 2]);
  c->beats[i].s1 = c->beats[i - 1].s1 + (long)(150 * intervals);
  c->beats[i].s2 = c->beats[i].s1 + 45;
  s1[c->beats[i].s1] = (float)(share * usual.s1);
  if (c->beats[i].s2 < (long)h->t->f.n) s2[c->beats[i].s2] = (float)(share * (usual.both - usual.s1));
}

static float confidence_of(patient *h, size_t i) {
  find(h, 1);
  return h->p[i].s1;
}

static void a_beat_out_of_time_is_as_sure_as_it_gains_of_the_usual(void **state) {
  (void)state;
  patient h = heart_of_40();
  const float sure = confidence_of(&h, ODD);
  assert_true(sure > 0.999f);
  const double gains[] = {0.2, 0.4, 0.6, 0.8, 1.0};
  float before = 0;
  for (size_t k = 0; k < sizeof gains / sizeof *gains; k++) { // between two that lie where they should
    move(&h, ODD, 0.6, gains[k]);
    assert_true(confidence_of(&h, ODD) > before && h.p[ODD].s1 < sure);
    assert_true(h.p[ODD - 1].s1 > 0.95f && h.p[ODD + 1].s1 > 0.95f); // with one usual interval each, and all they should gain
    before = h.p[ODD].s1;
  }
  assert_true(before > 0.95f);
  move(&h, ODD, 0.6, 0.3); // of such beats half were right
  assert_near(confidence_of(&h, ODD), 0.45, 0.1);
  move(&h, ODD, 1.0, 0.3); // one as faint in its time is none the less sure
  assert_near(confidence_of(&h, ODD), sure, 0);
  forget(&h);
}

static void one_usual_interval_speaks_for_a_beat(void **state) {
  (void)state;
  patient h = heart_of_40();
  memmove(h.c->beats + ODD, h.c->beats + ODD + 1, (--h.c->n_beats - ODD) * sizeof *h.c->beats); // now a pause follows the one before
  move(&h, ODD - 1, 1.0, 0.3);
  assert_near(confidence_of(&h, ODD - 1), 0.8, 0.08); // of 259 that gained 0.2 to 0.4 of the usual 219 were right
  forget(&h);
}

static void the_last_beat_is_held_against_the_one_before_it(void **state) {
  (void)state;
  patient h = heart_of_40();
  const size_t last = h.c->n_beats - 1;
  move(&h, last, 0.6, 1);
  assert_true(confidence_of(&h, last) > 0.95f);
  move(&h, last, 0.6, 0.2);
  assert_true(confidence_of(&h, last) < 0.5f);
  move(&h, last, 1.0, 0.2);
  assert_true(confidence_of(&h, last) > 0.999f);
  move(&h, last, 0.6, 0.2);
  memset(h.t->f.spoilt + h.c->beats[last].s2 - 5, 1, 11); // what it gains is not known
  assert_true(confidence_of(&h, last) > 0.999f);
  forget(&h);
}

static void few_beats_have_no_usual_gain(void **state) {
  (void)state;
  patient h = heart_of_40();
  h.c->n_beats = 4;
  move(&h, 2, 0.6, 0.1);
  assert_true(confidence_of(&h, 2) > 0.999f);
  forget(&h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_beat_too_many_that_gains_little_is_a_stray),
      cmocka_unit_test(confidence_rises_with_the_posterior_and_stays_a_share),
      cmocka_unit_test(a_beat_out_of_time_is_as_sure_as_it_gains_of_the_usual),
      cmocka_unit_test(one_usual_interval_speaks_for_a_beat),
      cmocka_unit_test(the_last_beat_is_held_against_the_one_before_it),
      cmocka_unit_test(few_beats_have_no_usual_gain),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
