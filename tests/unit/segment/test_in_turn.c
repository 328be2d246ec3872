// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "heard.h"

#include "segment/trust.h"

// A heart whose every second beat comes early, with a shorter systole; frames.
enum { FRAMES = 3300, NEAR = 90, FAR = 225, SYSTOLE = 47, EARLY_SYSTOLE = 40, BEATS = 20, NOWHERE = BEATS };

// Beats of that heart; one, `turned`, is followed by the next at neither time, which turns their order round.
static void place(gn_beat_frames beats[BEATS], size_t turned) {
  long at = 20;
  bool early = false;
  for (size_t i = 0; i < BEATS; i++) {
    beats[i] = (gn_beat_frames){at, at + (early ? EARLY_SYSTOLE : SYSTOLE)};
    early = !early && i != turned;
    at += i == turned ? (NEAR + FAR) / 2 : early ? NEAR : FAR;
  }
}

static heard *hear(const gn_beat_frames beats[BEATS]) {
  gn_features f = hear_empty(FRAMES);
  gn_random r = gn_random_of(5);
  for (size_t i = 0; i < BEATS; i++) {
    hear_bump(&f, beats[i].s1, 13, 16, 12);
    hear_bump(&f, beats[i].s2, 8, 10, 15);
  }
  hear_waver(&f, &r);
  return hear_features(f, GIRTHLINE_HORSE);
}

// Of the first account, were these its beats: from the first on, `step` apart, so many.
static gn_trust measure(heard *t, const gn_beat_frames beats[BEATS], size_t first, size_t step, size_t most) {
  gn_candidate *c = &t->h.list[0];
  gn_free(c->beats);
  c->beats = gn_new(BEATS, sizeof *c->beats);
  assert_non_null(c->beats);
  c->n_beats = 0;
  for (size_t i = first; i < BEATS && c->n_beats < most; i += step) c->beats[c->n_beats++] = beats[i];
  return gn_trust_measure(&t->h, c);
}

static void near_and_far_beats_are_held_each_against_their_own_middle(void **state) {
  (void)state;
  const size_t turned[] = {NOWHERE, 1, 9, 10, 18};
  gn_beat_frames beats[BEATS];
  place(beats, NOWHERE);
  heard *t = hear(beats);
  for (size_t k = 0; k < sizeof turned / sizeof *turned; k++) {
    place(beats, turned[k]);
    const gn_trust of_all = measure(t, beats, 0, 1, BEATS);
    assert_true(of_all.in_turn_share > 0.8);
    assert_near(of_all.systole_sd, 0.02, 1e-9); // what is added; all together 47 and 40 frames spread by 0.1
    assert_near(of_all.usual_share, 1, 0);      // 90 and 225 together: half of them
    assert_near(of_all.systole_share, (SYSTOLE + EARLY_SYSTOLE) / 2.0 / NEAR, 0.04);
  }
  const gn_trust few = measure(t, beats, 0, 1, 6);
  assert_near(few.systole_sd, 0.02, 1e-9);
  assert_near(few.usual_share, 1, 0);
  heard_clear(t);
}

// Whether the early ones are left out or the others; midway between those left there is nothing.
static void beats_left_out_are_heard_at_a_steady_time_after_the_others(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_HORSE);
  const girthline_limits usual = girthline_limits_default();
  gn_trust said = {.n_clear = 20, .gain_per_beat = 20, .contrast_db = {20, 18}, .usual_share = 1, .systole_sd = 0.03, .alike_db = 3, .systole_share = 0.15, .midway_nats = NAN};
  gn_beat_frames beats[BEATS];
  place(beats, NOWHERE);
  heard *t = hear(beats);
  for (size_t first = 0; first < 2; first++) {
    const gn_trust half = measure(t, beats, first, 2, BEATS);
    assert_true(half.midway_nats < -8);
    assert_true(half.elsewhere_share > 0);
    said.elsewhere_share = half.elsewhere_share;
    assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 3.15), GN_TRUST_MIDWAY);
    assert_true(isnan(measure(t, beats, first, 2, 5).elsewhere_share)); // four intervals: may be chance
  }
  said.elsewhere_share = -0.31;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 3.15));
  assert_true(isnan(measure(t, beats, 0, 1, BEATS).elsewhere_share)); // there is no room
  heard_clear(t);
}

static void nothing_else_comes_at_a_steady_time_after_a_heart_s_beats(void **state) {
  (void)state;
  heard *t = hear_forty();
  assert_int_equal(gn_candidate_refine(&t->h, &t->h.list[0], 1), 0);
  assert_true(gn_trust_measure(&t->h, &t->h.list[0]).elsewhere_share < -0.5);
  heard_clear(t);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(near_and_far_beats_are_held_each_against_their_own_middle),
      cmocka_unit_test(beats_left_out_are_heard_at_a_steady_time_after_the_others),
      cmocka_unit_test(nothing_else_comes_at_a_steady_time_after_a_heart_s_beats),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
