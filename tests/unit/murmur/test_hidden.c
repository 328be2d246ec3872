// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "base/memory.h"
#include "base/result.h"
#include "analyse.h"
#include "heart.h"
#include "murmur/murmur.h"

// From the very start of S1 on, which is then heard as nothing but it: as low and as high at its start as later.
static void a_murmur_that_hides_s1_is_found_where_it_was_seen_to_fill_systole(void **state) {
  (void)state;
  girthline_profile store;
  for (int told = 0; told < 2; told++) {
    heart *h = heart_new(2000, 3, 0.58, 0.17);
    for (size_t i = 0; i < h->n_beats; i++) {
      heart_tone(h, h->beats[i].s1_onset_s, 0.17, 60, 0.2);
      heart_tone(h, h->beats[i].s1_onset_s, 0.17, 180, 0.2);
    }
    gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HUMAN, -1, &store), h->fs_hz);
    girthline_result *r = gn_result_new();
    const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
    if (told) gn_murmur_hides_s1(m);
    assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
    assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
    if (told) assert_int_equal(r->murmur.present, GIRTHLINE_YES);
    if (told) assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_SYSTOLE);
    if (!told) assert_int_not_equal(r->murmur.present, GIRTHLINE_YES);
    gn_murmur_free(m);
    girthline_result_free(r);
    heart_free(h);
  }
}

// The first S1 lies before the recording: S2, S1, S2, S1, S2.
static void two_beats_from_s2_to_s2_are_whole_beats_too(void **state) {
  (void)state;
  girthline_profile store;
  heart *h = heart_new(2000, 3, 0.9, 0.33);
  gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HUMAN, -1, &store), h->fs_hz);
  girthline_result *r = gn_result_new();
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  h->beats[0].s1_onset_s = NAN;
  assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
  assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
  assert_int_equal(r->murmur.present, GIRTHLINE_NO);
  gn_murmur_free(m);
  girthline_result_free(r);
  heart_free(h);
}

// What the search for single sounds has named a click is not a murmur as well; without that it is told, for something is heard.
static void a_click_is_not_told_a_second_time_as_a_murmur(void **state) {
  (void)state;
  girthline_profile store;
  for (int named = 0; named < 2; named++) {
    heart *h = heart_new(2000, 25, 1.4, 0.45);
    for (size_t i = 0; i < h->n_beats; i++) heart_tone(h, h->beats[i].s1_onset_s + 0.25, 0.02, 130, HEART_AMPLITUDE);
    gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HORSE, -1, &store), h->fs_hz);
    girthline_result *r = gn_result_new();
    const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
    if (named) {
      r->extras = gn_new(1, sizeof *r->extras);
      r->n_extras = 1;
      r->extras[0] = (girthline_extra){.kind = GIRTHLINE_CLICK, .delay_s = 0.25, .beats_fraction = 1, .confidence = 1};
    }
    assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
    assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
    assert_int_equal(r->murmur.present, named ? GIRTHLINE_NO : GIRTHLINE_YES);
    gn_murmur_free(m);
    girthline_result_free(r);
    heart_free(h);
  }
}

// A rumble as low as the sounds, of two pieces with a short dip between; one piece alone may be a third sound.
static void a_low_rumble_with_a_dip_is_no_third_sound(void **state) {
  (void)state;
  for (int pieces = 1; pieces <= 2; pieces++) {
    heart *h = heart_new(2000, 4, 1.1, 0.33);
    heart_noise(h, 0, 1e9, 0.001, 7);
    for (int k = 0; k < pieces; k++) heart_murmur(h, 0.66 + 0.13 * k, 0.755 + 0.13 * k, 85, -10);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.present, pieces == 2 ? GIRTHLINE_YES : GIRTHLINE_NO);
    if (pieces == 2) assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_DIASTOLE);
    girthline_result_free(r);
    heart_free(h);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_murmur_that_hides_s1_is_found_where_it_was_seen_to_fill_systole),
      cmocka_unit_test(two_beats_from_s2_to_s2_are_whole_beats_too),
      cmocka_unit_test(a_low_rumble_with_a_dip_is_no_third_sound),
      cmocka_unit_test(a_click_is_not_told_a_second_time_as_a_murmur),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
