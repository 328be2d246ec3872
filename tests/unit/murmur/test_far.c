// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A murmur that fills its phase is the most of the noise near by: it is held against what lies further around.
#include "support.h"

#include "base/result.h"
#include "analyse.h"
#include "heart.h"

// Ten beats of a horse at rest, in loud breaths over a hiss.
static heart *slow_heart(uint64_t seed) {
  heart *h = heart_new(2000, 10, 1.6, 0.5);
  for (int k = 0; k < 9; k++) heart_noise(h, 0.3 + 2.3 * k, 1.6, 0.05, seed + (uint64_t)k);
  heart_noise(h, 0, 1e9, 0.02, seed + 100);
  return h;
}

// Of murmurs in twelve hearts, from where S1 leaves off up to S2, how many are found.
static int found_through_systole(double level_db) {
  int found = 0;
  for (uint64_t seed = 1; seed <= 12; seed++) {
    heart *h = slow_heart(700 * seed);
    heart_murmur(h, 0.115, 0.5, 220, level_db);
    girthline_result *r = analyse(h);
    found += r->murmur.present == GIRTHLINE_YES && r->murmur.phases[0].phase == GIRTHLINE_SYSTOLE;
    girthline_result_free(r);
    heart_free(h);
  }
  return found;
}

static void a_murmur_that_fills_a_long_systole_is_found(void **state) {
  (void)state;
  assert_true(found_through_systole(-13) >= 6); // none against the noise near by alone
}

static void breaths_are_no_murmur_of_a_slow_heart(void **state) {
  (void)state;
  for (uint64_t seed = 1; seed <= 12; seed++) {
    heart *h = slow_heart(1000 * seed);
    girthline_result *r = analyse(h);
    assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    girthline_result_free(r);
    heart_free(h);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_murmur_that_fills_a_long_systole_is_found),
      cmocka_unit_test(breaths_are_no_murmur_of_a_slow_heart),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
