// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "analyse.h"

// A murmur louder in some beats than in others by some dB: of the intervals told, nearly all hold the level that it has in the middle.
static void the_interval_of_a_level_holds_what_was_laid(void **state) {
  (void)state;
  enum { SEEDS = 40 };
  static const double LEVEL_DB = -10, SPREAD_DB = 4;
  int held = 0;
  for (uint64_t seed = 1; seed <= SEEDS; seed++) {
    heart *h = heart_new(2000, 16, 0.9, 0.33);
    gn_random random = gn_random_of(seed);
    for (size_t i = 0; i < h->n_beats; i++) {
      const double level_db = LEVEL_DB + SPREAD_DB * gn_random_normal(&random), amplitude = sqrt(2 * gn_from_db(level_db)) * h->s1_rms;
      heart_tone(h, h->beats[i].s1_onset_s + 0.115, 0.21, 220, amplitude);
    }
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    const double *interval_db = r->murmur.phases[0].level_db_interval;
    held += interval_db[0] <= LEVEL_DB && interval_db[1] >= LEVEL_DB;
    girthline_result_free(r);
    heart_free(h);
  }
  if (8 * held < 7 * SEEDS) fail_msg("%d of %d intervals hold the level", held, SEEDS);
}

// One of this level against the limit that the heart without it was given, in steady noise, at a place and pitch that change with the seed.
static bool found_beside_limit(int phase, double beside_db, uint64_t seed) {
  static const double HZ[] = {150, 200, 280, 360};
  const double from_s = phase ? 0.45 + 0.1 * (double)(seed % 3) : 0.14, to_s = phase ? from_s + 0.2 : 0.31;
  heart *h = heart_new(2000, 25, 0.9, 0.33);
  heart_noise(h, 0, 1e9, 0.002 * (1 + 2 * (double)(seed % 4)), 500 * seed);
  girthline_result *r = analyse(h);
  const double limit_db = r->murmur.detection_limit_db[phase];
  girthline_result_free(r);
  heart_murmur(h, from_s, to_s, HZ[seed / 2 % 4], limit_db + beside_db);
  r = analyse(h);
  const bool found = r->murmur.present == GIRTHLINE_YES;
  girthline_result_free(r);
  heart_free(h);
  return found;
}

// The softest murmur that would have shown is one that shows, and far softer ones do not. Nine in ten are wanted at the limit: of so many, three quarters
// lie three times their scatter lower.
static void the_limit_parts_what_is_found_from_what_is_not(void **state) {
  (void)state;
  enum { SEEDS = 48 };
  for (int phase = 0; phase < 2; phase++) {
    int at_limit = 0, below = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
      at_limit += found_beside_limit(phase, 0, seed);
      below += found_beside_limit(phase, -10, seed);
    }
    if (4 * at_limit < 3 * SEEDS || 10 * below > 2 * SEEDS) fail_msg("phase %d: %d found at the limit, %d 10 dB below it, of %d", phase, at_limit, below, SEEDS);
  }
}

// What is softer than -24 dB is told only where it is sure: hardly any noise is no promise to find it.
static void a_quiet_heart_promises_nothing_that_may_be_turned_down(void **state) {
  (void)state;
  static const double SELDOM_TOLD_DB = -25, NOISES[] = {1e-5, 1e-4, 5e-4};
  for (size_t i = 0; i < sizeof NOISES / sizeof NOISES[0]; i++) {
    heart *h = heart_new(2000, 25, 0.9, 0.33);
    heart_noise(h, 0, 1e9, NOISES[i], 500);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, GIRTHLINE_NO);
    for (int phase = 0; phase < 2; phase++) assert_true(r->murmur.detection_limit_db[phase] > SELDOM_TOLD_DB);
    girthline_result_free(r);
    heart_free(h);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_interval_of_a_level_holds_what_was_laid),
      cmocka_unit_test(the_limit_parts_what_is_found_from_what_is_not),
      cmocka_unit_test(a_quiet_heart_promises_nothing_that_may_be_turned_down),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
