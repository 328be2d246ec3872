// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "heard.h"

#include <string.h>

#include "segment/naming.h"
#include "segment/trust.h"

static void assert_true_names(const gn_candidate *c) {
  assert_true(c->n_beats >= 18);
  for (size_t i = 0; i < c->n_beats; i++) {
    assert_near(fmod((double)c->beats[i].s1 - 60 + 225, 150), 75, 1); // a whole number of intervals from the first
    assert_near((double)(c->beats[i].s2 - c->beats[i].s1), 45, 1);
  }
}

static void the_account_chosen_has_the_beats_of_the_heart(void **state) {
  (void)state;
  heard *t = hear_forty();
  double log_odds;
  assert_int_equal(gn_naming_settle(&t->h, &t->h.list[0], &log_odds), 0);
  assert_true(log_odds > 2);
  assert_true_names(&t->h.list[0]);
  assert_near(gn_candidate_interval_n(&t->h.list[0]), 150, 0.5);
  assert_near(gn_candidate_period_s(&t->h, &t->h.list[0], 1500), 1.5, 0.03);
  assert_near(gn_candidate_period_s(&t->h, &t->h.list[0], -100), gn_candidate_period_s(&t->h, &t->h.list[0], 0), 0);
  heard_clear(t);
}

static void exchanged_names_come_back(void **state) {
  (void)state;
  heard *t = hear_forty();
  gn_candidate *c = &t->h.list[0];
  double log_odds;
  assert_int_equal(gn_naming_settle(&t->h, c, &log_odds), 0);
  const gn_model before = c->model;
  c->n_beats--;
  for (size_t i = 0; i < c->n_beats; i++) c->beats[i] = (gn_beat_frames){c->beats[i].s2, c->beats[i + 1].s1};
  for (size_t k = 0; k < GN_TEMPLATE_MOST; k++)
    for (size_t b = 0; b < GN_N_BANDS; b++) c->model.s1[k][b] = before.s2[k][b], c->model.s2[k][b] = before.s1[k][b];
  assert_int_equal(gn_naming_settle(&t->h, c, &log_odds), 0);
  assert_true(log_odds > 2);
  assert_true_names(c);
  heard_clear(t);
}

static void too_few_beats_say_nothing_about_names(void **state) {
  (void)state;
  heard *t = hear_forty();
  gn_candidate *c = &t->h.list[0];
  double log_odds = 7;
  c->n_beats = 2;
  assert_int_equal(gn_naming_settle(&t->h, c, &log_odds), 0);
  assert_near(log_odds, 0, 0);
  heard_clear(t);
}

// A horse at 40 a minute with a systole of 0.45 s, one beat followed by a pause.
static void times_speak_for_names_as_much_as_against_the_others(void **state) {
  (void)state;
  enum { N = 8 };
  girthline_beat right[N], wrong[N];
  double for_right, for_wrong, alone;
  for (int i = 0; i < N; i++) {
    const double at_s = 1.5 * i + (i > 4 ? 1.5 : 0), shaken_s = i % 2 ? 0.02 : -0.02; // S1 alone: systole and diastole differ alike
    right[i] = (girthline_beat){.s1_onset_s = at_s + shaken_s, .s2_onset_s = at_s + 0.45};
    wrong[i] = (girthline_beat){.s1_onset_s = at_s + 0.45, .s2_onset_s = i == 4 ? (double)NAN : at_s + 1.5 - shaken_s};
  }
  const girthline_profile *p = hear_profile(GIRTHLINE_HORSE);
  assert_int_equal(gn_naming_of_beats(p, right, N, &for_right), 0);
  assert_int_equal(gn_naming_of_beats(p, wrong, N, &for_wrong), 0);
  assert_true(for_right > 5);
  assert_near(for_wrong, -for_right, 0.1);
  assert_int_equal(gn_naming_of_beats(p, right, 2, &alone), 0); // one systole and the diastole behind it
  assert_near(alone, 0, 0);
}

// Where both gaps are as long, the one that keeps its length is systole: what varies with the filling is diastole.
static void of_two_gaps_as_long_the_steadier_follows_s1(void **state) {
  (void)state;
  enum { N = 21 };
  const girthline_profile *p = hear_profile(GIRTHLINE_HORSE);
  girthline_beat steady_first[N], steady_last[N];
  double t = 1;
  for (size_t i = 0; i < N; i++) {
    const double other_s = 0.4 + 0.03 * ((double)(i % 5) - 2); // 0.34 to 0.46, 0.40 in the middle
    steady_first[i] = (girthline_beat){.s1_onset_s = t, .s2_onset_s = t + 0.4};
    steady_last[i] = (girthline_beat){.s1_onset_s = t, .s2_onset_s = t + other_s};
    t += 0.4 + other_s;
  }
  double first, last;
  assert_int_equal(gn_naming_of_beats(p, steady_first, N, &first), 0);
  assert_int_equal(gn_naming_of_beats(p, steady_last, N, &last), 0);
  assert_true(first > 1 && last < -1);
  assert_near(first, -last, 0.1);
}

// A cat at 230 a minute: both gaps 0.13 s long; what they vary by, and what every onset is off by.
static double odds_of_a_fast_heart(double systole_sd_s, double diastole_sd_s, double off_sd_s, uint64_t seed) {
  enum { N = 101 };
  girthline_beat beats[N];
  gn_random r = gn_random_of(seed);
  double t = 1, log_odds;
  for (size_t i = 0; i < N; i++) {
    const double second = t + 0.13 + systole_sd_s * gn_random_normal(&r);
    beats[i] = (girthline_beat){.s1_onset_s = t + off_sd_s * gn_random_normal(&r), .s2_onset_s = second + off_sd_s * gn_random_normal(&r)};
    t = second + 0.13 + diastole_sd_s * gn_random_normal(&r);
  }
  assert_int_equal(gn_naming_of_beats(hear_profile(GIRTHLINE_CAT), beats, N, &log_odds), 0);
  return log_odds;
}

static void milliseconds_tell_systole_where_the_onsets_are_as_good(void **state) {
  (void)state;
  enum { N_SEEDS = 20 };
  double noisy = 0, alike = 0;
  for (uint64_t seed = 1; seed <= N_SEEDS; seed++) {
    assert_true(odds_of_a_fast_heart(0.001, 0.003, 0.001, seed) > 2);
    assert_true(odds_of_a_fast_heart(0.003, 0.001, 0.001, seed) < -2);
    noisy += fabs(odds_of_a_fast_heart(0.001, 0.003, 0.012, seed)) / N_SEEDS; // the onsets are off by four times what the gaps differ by
    alike += odds_of_a_fast_heart(0.003, 0.003, 0.001, seed) / N_SEEDS;
  }
  assert_true(noisy < 1);
  assert_near(alike, 0, 1);
}

static void name_confidence_is_a_half_at_even_odds_and_never_certainty(void **state) {
  (void)state;
  assert_near(gn_naming_confidence(0), 0.5, 1e-12);
  for (double x = -20; x < 20; x += 0.5) {
    assert_true(gn_naming_confidence(x + 0.5) >= gn_naming_confidence(x));
    assert_true(gn_naming_confidence(x) > 0 && gn_naming_confidence(x) <= 0.995);
  }
}

static void a_heart_is_trusted_and_each_lack_refused_in_its_own_words(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_HORSE);
  const girthline_limits usual = girthline_limits_default();
  const gn_trust good = {.n_clear = 20, .gain_per_beat = 20, .contrast_db = {20, 18}, .usual_share = 0.95, .systole_sd = 0.06, .alike_db = 3, .systole_share = 0.33, .midway_nats = NAN, .elsewhere_share = NAN};
  assert_null(gn_trust_refusal(&usual.segment, &good, p, 1.5));
  gn_trust bad[8];
  for (size_t i = 0; i < 8; i++) bad[i] = good, bad[i].n_clear = 9; // too few to make up for what is lacking
  bad[0].n_clear = 1;
  bad[1].gain_per_beat = 3.9;
  bad[2].contrast_db[1] = 2.9;
  bad[3].usual_share = 0.5;
  bad[4].alike_db = 0.8, bad[4].systole_share = 0.62;
  bad[5].contrast_db[0] = bad[5].contrast_db[1] = 9.9;
  bad[6].systole_sd = 0.17;
  bad[7].systole_offset = -0.3, bad[7].usual_share = 0.65;
  static const char *const WORDS[] = {"two whole beats", "stands out", "pairs of short sounds", "no beat", "evenly spaced", "pairs of short sounds",
                                      "not steady", "not steady"};
  for (size_t i = 0; i < 8; i++) {
    const char *said = gn_trust_refusal(&usual.segment, &bad[i], p, 1.5);
    assert_non_null(said);
    assert_non_null(strstr(said, WORDS[i]));
  }
  // A loud murmur may all but cover one of the two sounds.
  gn_trust covered = good;
  covered.contrast_db[1] = 4;
  assert_null(gn_trust_refusal(&usual.segment, &covered, p, 1.5));
  // Many steady beats make up for a sound that is all but covered, unless their time is not a heart's.
  covered = bad[5];
  covered.n_clear = 20;
  assert_null(gn_trust_refusal(&usual.segment, &covered, p, 1.5));
  covered.systole_offset = 0.28;
  assert_non_null(gn_trust_refusal(&usual.segment, &covered, p, 1.5));
  // Nor a sound that nothing covers: slow knocks with nothing between them.
  covered = good;
  covered.contrast_db[1] = 1.5;
  assert_null(gn_trust_refusal(&usual.segment, &covered, p, 1.5));
  covered.contrast_db[0] = 26;
  assert_non_null(strstr(gn_trust_refusal(&usual.segment, &covered, p, 1.5), "pairs of short sounds"));
  covered = good;
  covered.systole_share = 0.72;
  assert_non_null(strstr(gn_trust_refusal(&usual.segment, &covered, p, 1.5), "too long for a heart"));
  // However steady it is: every second beat of a heart with one sound.
  covered = good;
  covered.systole_offset = 0.39;
  assert_null(gn_trust_refusal(&usual.segment, &covered, p, 1.5));
  covered.systole_offset = 0.41;
  assert_non_null(strstr(gn_trust_refusal(&usual.segment, &covered, p, 1.5), "too long for a heart"));
  const double least_s = 60 / p->possible_bpm[1];
  assert_null(gn_trust_refusal(&usual.segment, &good, p, least_s));
  assert_non_null(strstr(gn_trust_refusal(&usual.segment, &good, p, 0.97 * least_s), "faster than"));
}

// Sounds alike but unevenly spaced are a heart's, and so are evenly spaced ones that differ; knocks may be faster than any heart.
static void sounds_alike_in_even_steps_are_knocks(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_HORSE);
  const girthline_limits usual = girthline_limits_default();
  gn_trust t = {.n_clear = 9, .gain_per_beat = 20, .contrast_db = {20, 18}, .usual_share = 0.95, .systole_sd = 0.06, .alike_db = 0.8, .systole_share = 0.34, .midway_nats = NAN, .elsewhere_share = NAN};
  assert_null(gn_trust_refusal(&usual.segment, &t, p, 1.5));
  t.systole_share = 0.5;
  assert_non_null(strstr(gn_trust_refusal(&usual.segment, &t, p, 1.9 * 60 / p->possible_bpm[1]), "evenly spaced"));
  static const double TOO_EVEN[] = {0, 0.02, NAN};
  for (size_t i = 0; i < 3; i++) {
    t.uneven = TOO_EVEN[i];
    assert_non_null(gn_trust_refusal(&usual.segment, &t, p, 1.5));
  }
  t.uneven = 0.03;
  assert_null(gn_trust_refusal(&usual.segment, &t, p, 1.5));
  t.uneven = 0, t.alike_db = 1;
  assert_null(gn_trust_refusal(&usual.segment, &t, p, 1.5));
}

// Random knocks far over the background: some of them pass for beats, the others stay unexplained.
static void loud_sounds_have_to_tell_much_for_the_time_they_take(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_HORSE);
  const girthline_limits usual = girthline_limits_default();
  gn_trust t = {.n_clear = 20, .gain_per_beat = 10, .contrast_db = {24, 18}, .usual_share = 0.95, .systole_sd = 0.06, .alike_db = 3, .systole_share = 0.3, .midway_nats = NAN, .elsewhere_share = NAN};
  assert_null(gn_trust_refusal(&usual.segment, &t, p, 1.5)); // not so loud
  t.contrast_db[0] = 30;
  assert_non_null(strstr(gn_trust_refusal(&usual.segment, &t, p, 1.5), "knocks"));
  assert_null(gn_trust_refusal(&usual.segment, &t, p, 1.4)); // not so long
  t.gain_per_beat = 11;
  assert_null(gn_trust_refusal(&usual.segment, &t, p, 1.5));
}

static void many_faint_beats_at_a_steady_time_are_a_heart(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_CAT);
  const girthline_limits usual = girthline_limits_default();
  const gn_trust faint = {.n_clear = 20, .gain_per_beat = 1.6, .contrast_db = {13, 8}, .usual_share = 0.95, .systole_sd = 0.03, .alike_db = 3,
                          .systole_share = 0.42, .midway_nats = NAN, .elsewhere_share = NAN};
  assert_null(gn_trust_refusal(&usual.segment, &faint, p, 0.36));
  gn_trust less[5];
  for (size_t i = 0; i < 5; i++) less[i] = faint;
  less[0].n_clear = 19;
  less[1].gain_per_beat = 1.4;
  less[2].usual_share = 0.8;
  less[3].systole_sd = 0.08;
  less[4].systole_offset = -0.25;
  for (size_t i = 0; i < 5; i++) assert_non_null(strstr(gn_trust_refusal(&usual.segment, &less[i], p, 0.36), "stands out"));
}

// Of a heart of 100 a minute every second beat: what lies midway is as good as a beat. Of all its beats: nothing is there.
static void beats_left_out_are_heard_midway_between_the_others(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_DOG);
  const girthline_limits usual = girthline_limits_default();
  heard *t = hear_features(hear_heart(2400, 30, 60, 19), GIRTHLINE_DOG);
  gn_candidate *c = &t->h.list[0];
  assert_int_equal(gn_candidate_refine(&t->h, c, 1), 0);
  assert_true(gn_trust_measure(&t->h, c).midway_nats < -10);
  size_t n = 0;
  for (size_t i = 0; i < c->n_beats; i += 2) c->beats[n++] = c->beats[i];
  c->n_beats = n;
  const gn_trust half = gn_trust_measure(&t->h, c);
  assert_true(half.midway_nats > 5);
  gn_trust said = {.n_clear = 20, .gain_per_beat = 20, .contrast_db = {20, 18}, .usual_share = 1, .systole_sd = 0.03, .alike_db = 3, .systole_share = 0.17, .elsewhere_share = NAN};
  said.midway_nats = half.midway_nats;
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 1.2), GN_TRUST_MIDWAY);
  said.midway_nats = -9; // as of the least silent of hearts
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 1.2));
  c->n_beats = 5; // four intervals: may be chance
  assert_true(isnan(gn_trust_measure(&t->h, c).midway_nats));
  heard_clear(t);
}

// Sounds every 0.3 s that leave 0.18 s to one behind them; every second pair is softer by so many dB below 60 Hz and louder above.
static heard *hear_alternating(float db) {
  gn_random r = gn_random_of(5);
  gn_features f = hear_empty(2400);
  for (long i = 0; i < 78; i++) {
    const float by = i % 2 ? db : 0;
    hear_bump(&f, 30 + 30 * i, 10, 16 - by, 12 + by);
    hear_bump(&f, 48 + 30 * i, 7, 14 - by, 12 + by);
  }
  hear_waver(&f, &r);
  heard *t = hear_features(f, GIRTHLINE_DOG);
  gn_candidate *c = &t->h.list[0];
  gn_free(c->beats);
  c->n_beats = 78;
  c->beats = gn_new(c->n_beats, sizeof *c->beats);
  assert_non_null(c->beats);
  for (long i = 0; i < 78; i++) c->beats[i] = (gn_beat_frames){30 + 30 * i, 48 + 30 * i};
  return t;
}

static void sounds_that_alternate_are_the_two_of_one_beat(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_DOG);
  const girthline_limits usual = girthline_limits_default();
  gn_trust said = {.n_clear = 70, .gain_per_beat = 20, .contrast_db = {20, 18}, .usual_share = 1, .systole_sd = 0.03, .alike_db = 3, .midway_nats = NAN, .elsewhere_share = NAN};
  heard *alike = hear_alternating(0), *other = hear_alternating(6);
  const gn_trust as_one = gn_trust_measure(&alike->h, &alike->h.list[0]), as_two = gn_trust_measure(&other->h, &other->h.list[0]);
  assert_near(as_one.systole_share, 0.6, 1e-9);
  assert_true(as_one.alternation_db < 0.15); // chance leaves 0.23: a spread of 1 dB over 39 beats of either kind
  assert_true(as_two.alternation_db > 3 && as_two.alternation_db < 6); // less than at their loudest as they die away
  said.systole_share = as_two.systole_share;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 0.3));
  said.alternation_db = as_two.alternation_db;
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 0.3), GN_TRUST_ALTERNATE);
  said.alternation_db = 2.4; // as hearts may
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 0.3));
  said.alternation_db = 2.6;
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 0.3), GN_TRUST_ALTERNATE);
  other->h.list[0].beats[39].s2 += 9; // one beat, even that in the middle, says little of how long a systole is
  assert_near(gn_trust_measure(&other->h, &other->h.list[0]).systole_share, 0.6, 1e-9);
  for (size_t i = 0; i < 78; i++) other->h.list[0].beats[i].s2 -= 9; // a slow heart's may alternate: every second beat may be early
  assert_near(gn_trust_measure(&other->h, &other->h.list[0]).alternation_db, 0, 0);
  heard_clear(alike);
  heard_clear(other);
}

// Each of two sounds taken for a beat: 0.18 s and 0.42 s in turn. Pairs that are no heart's anyhow tell so; those of a heart with every second beat early do not.
static void intervals_in_turn_are_a_systole_and_what_lies_behind_it(void **state) {
  (void)state;
  const girthline_profile *p = hear_profile(GIRTHLINE_DOG);
  const girthline_limits usual = girthline_limits_default();
  heard *t = hear_alternating(0);
  gn_candidate *c = &t->h.list[0];
  assert_near(gn_trust_measure(&t->h, c).in_turn_share, 0, 0);
  for (long i = 0; i < 78; i++) c->beats[i] = (gn_beat_frames){30 + 60 * (i / 2) + 18 * (i % 2), 39 + 60 * (i / 2) + 18 * (i % 2)};
  gn_trust said = {.n_clear = 70, .gain_per_beat = 20, .contrast_db = {20, 18}, .usual_share = 0.5, .systole_sd = 0.17, .alike_db = 3, .systole_share = 0.2, .midway_nats = NAN, .elsewhere_share = NAN};
  assert_non_null(strstr(gn_trust_refusal(&usual.segment, &said, p, 0.42), "not steady"));
  said.in_turn_share = gn_trust_measure(&t->h, c).in_turn_share;
  assert_near(said.in_turn_share, 1, 1e-9);
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 0.42), GN_TRUST_IN_TURN);
  said.systole_sd = 0.03, said.usual_share = 0.6;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 0.42));
  said.systole_offset = -0.21, said.usual_share = 0.9; // steady, and a fifth too short
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 0.42), GN_TRUST_IN_TURN);
  said.in_turn_share = 0.81;
  assert_string_equal(gn_trust_refusal(&usual.segment, &said, p, 0.42), GN_TRUST_IN_TURN);
  said.in_turn_share = 0.79;
  assert_null(gn_trust_refusal(&usual.segment, &said, p, 0.42));
  for (long i = 0; i < 78; i++) c->beats[i].s1 -= 12 * (i / 4); // a diastole of 0.42 and 0.3 s
  assert_near(gn_trust_measure(&t->h, c).in_turn_share, 1, 1e-9);
  c->n_beats = 5; // few
  assert_near(gn_trust_measure(&t->h, c).in_turn_share, 0, 0);
  c->n_beats = 78;
  for (long i = 0; i < 78; i++) c->beats[i] = (gn_beat_frames){30 + 60 * (i / 2) + 26 * (i % 2), 39 + 60 * (i / 2) + 26 * (i % 2)}; // 0.26 and 0.34 s: hardly unlike
  assert_near(gn_trust_measure(&t->h, c).in_turn_share, 0, 0);
  heard_clear(t);
}

// The heart of 40 a minute, each of its sounds taken for a beat; a sound alone is no pair.
static void single_sounds_are_paired_by_the_nearer(void **state) {
  (void)state;
  for (long skipped = 0; skipped < 2; skipped++) {
    heard *t = hear_forty();
    gn_candidate *c = &t->h.list[0];
    gn_free(c->beats);
    c->n_beats = 38 - (size_t)skipped;
    c->beats = gn_new(c->n_beats, sizeof *c->beats);
    assert_non_null(c->beats);
    for (long i = 0; i < (long)c->n_beats; i++) {
      const long k = i + skipped; // the first S1 is missing
      const long at = 60 + 150 * (k / 2) + 45 * (k % 2);
      c->beats[i] = (gn_beat_frames){at, at + 6};
    }
    assert_int_equal(gn_candidate_pair(&t->h, c), 0);
    assert_true_names(c);
    heard_clear(t);
  }
}

static void what_speaks_for_a_clean_heart_is_measured(void **state) {
  (void)state;
  heard *t = hear_forty();
  gn_candidate *c = &t->h.list[0];
  double log_odds;
  assert_int_equal(gn_naming_settle(&t->h, c, &log_odds), 0);
  assert_int_equal(gn_candidate_refine(&t->h, c, 1), 0);
  const gn_trust trust = gn_trust_measure(&t->h, c);
  assert_in_range(trust.n_clear, c->n_beats - 2, c->n_beats);
  assert_true(trust.gain_per_beat > 10);
  assert_near(trust.contrast_db[0], 16 + 12 - 6, 2.5);
  assert_near(trust.contrast_db[1], 10 + 15 - 6, 2.5);
  assert_near(trust.usual_share, 1, 0);
  assert_near(trust.systole_share, 0.3, 0.01);
  for (size_t k = 0; k < t->f.n; k++) t->f.spoilt[k] = 1;
  assert_int_equal(gn_trust_measure(&t->h, c).n_clear, 0);
  heard_clear(t);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_account_chosen_has_the_beats_of_the_heart),
      cmocka_unit_test(exchanged_names_come_back),
      cmocka_unit_test(too_few_beats_say_nothing_about_names),
      cmocka_unit_test(times_speak_for_names_as_much_as_against_the_others),
      cmocka_unit_test(of_two_gaps_as_long_the_steadier_follows_s1),
      cmocka_unit_test(milliseconds_tell_systole_where_the_onsets_are_as_good), cmocka_unit_test(name_confidence_is_a_half_at_even_odds_and_never_certainty),
      cmocka_unit_test(a_heart_is_trusted_and_each_lack_refused_in_its_own_words),
      cmocka_unit_test(sounds_alike_in_even_steps_are_knocks),
      cmocka_unit_test(loud_sounds_have_to_tell_much_for_the_time_they_take),
      cmocka_unit_test(many_faint_beats_at_a_steady_time_are_a_heart),
      cmocka_unit_test(beats_left_out_are_heard_midway_between_the_others),
      cmocka_unit_test(sounds_that_alternate_are_the_two_of_one_beat),
      cmocka_unit_test(intervals_in_turn_are_a_systole_and_what_lies_behind_it),
      cmocka_unit_test(single_sounds_are_paired_by_the_nearer),
      cmocka_unit_test(what_speaks_for_a_clean_heart_is_measured),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
