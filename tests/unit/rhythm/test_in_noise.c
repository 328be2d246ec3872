// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"

static void one_unsure_pause_in_a_noisy_recording_is_listed_and_is_no_pattern(void **state) {
  (void)state;
  const double ms[] = {1600, 1610, 1590, 1600, 3190, 1600, 1610, 1590, 1600, 1605};
  const double over_noise_db[] = {20, 4};
  for (int i = 0; i < 2; i++) {
    girthline_result *r = with_intervals_ms(ms, 10, 0.2);
    r->beats[4].confidence = 0.85f;
    r->quality.heart_to_noise_db = over_noise_db[i];
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, i ? GIRTHLINE_REGULAR : GIRTHLINE_PAUSES);
    assert_int_equal(r->rhythm.n_pauses, 1);
    girthline_result_free(r);
  }
}

static girthline_pattern in_noise(const double *ms, size_t n, float confidence) {
  girthline_result *r = with_intervals_ms(ms, n, 0.2);
  for (size_t i = 0; i < r->n_beats; i++) r->beats[i].confidence = confidence;
  r->quality.heart_to_noise_db = 4;
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
  const girthline_pattern p = r->rhythm.pattern;
  girthline_result_free(r);
  return p;
}

static void in_noise_one_event_is_a_pattern_where_its_beats_are_sure_and_it_looks_its_part(void **state) {
  (void)state;
  const double dropped[] = {1600, 1610, 1590, 1600, 3190, 1600, 1610, 1590, 1600, 1605};
  const double long_one[] = {1600, 1610, 1590, 1600, 2800, 1600, 1610, 1590, 1600, 1605};
  const double two_dropped[] = {1600, 1610, 1590, 1600, 4560, 1600, 1610, 1590, 1600, 1605}; // 2.85 times: each may fall short
  const double less_dropped[] = {1600, 1610, 1590, 1600, 2960, 1600, 1610, 1590, 1600, 1605}; // 1.85 times
  const double early[] = {1600, 1610, 1590, 1600, 1000, 1960, 1610, 1590, 1600, 1605};
  const double hardly[] = {1600, 1610, 1590, 1600, 1330, 1610, 1610, 1590, 1600, 1605};
  const double doubled[] = {1600, 1610, 1590, 1600, 950, 1300, 1610, 1590, 1600, 1605};
  assert_int_equal(in_noise(dropped, 10, 1), GIRTHLINE_PAUSES);
  assert_int_equal(in_noise(dropped, 10, 0.95f), GIRTHLINE_PAUSES);
  assert_int_equal(in_noise(dropped, 10, 0.85f), GIRTHLINE_REGULAR);
  assert_int_equal(in_noise(long_one, 10, 1), GIRTHLINE_REGULAR);
  assert_int_equal(in_noise(two_dropped, 10, 1), GIRTHLINE_PAUSES);
  assert_int_equal(in_noise(less_dropped, 10, 1), GIRTHLINE_REGULAR);
  assert_int_equal(in_noise(early, 10, 1), GIRTHLINE_EARLY_BEATS);
  assert_int_equal(in_noise(early, 10, 0.85f), GIRTHLINE_REGULAR);
  assert_int_equal(in_noise(hardly, 10, 1), GIRTHLINE_REGULAR);
  assert_int_equal(in_noise(doubled, 10, 1), GIRTHLINE_REGULAR);
}

// Of the two beats that bound a pause or an early beat the less sure one speaks.
static void in_noise_both_beats_of_an_event_have_to_be_sure(void **state) {
  (void)state;
  const double dropped[] = {1600, 1610, 1590, 1600, 3190, 1600, 1610, 1590, 1600, 1605};
  for (size_t unsure = 3; unsure <= 6; unsure++) { // beats 4 and 5 bound the pause
    girthline_result *r = with_intervals_ms(dropped, 10, 0.2);
    for (size_t i = 0; i < r->n_beats; i++) r->beats[i].confidence = i == unsure ? 0.85f : 1;
    r->quality.heart_to_noise_db = 4;
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, unsure == 4 || unsure == 5 ? GIRTHLINE_REGULAR : GIRTHLINE_PAUSES);
    girthline_result_free(r);
  }
}

// Of which two beats were dropped, with an atrial sound where each belongs: no noise makes both.
static void one_pause_in_noise_is_a_pattern_where_two_atrial_sounds_stand_in_it(void **state) {
  (void)state;
  const double ms[] = {1600, 1610, 1590, 1600, 4500, 1600, 1610, 1590, 1600, 1605}; // 2.81 times: no whole number
  for (size_t n_lone = 0; n_lone <= 2; n_lone++) {
    girthline_result *r = with_intervals_ms(ms, 10, 0.2);
    const double lone_s[] = {r->beats[4].s1_onset_s + 1.3, r->beats[4].s1_onset_s + 2.8};
    girthline_extra s4 = {.kind = GIRTHLINE_EXTRA_S4, .delay_s = 0.2};
    r->extras = &s4;
    r->n_extras = 1;
    r->beats[4].confidence = 0.85f;
    r->quality.heart_to_noise_db = 4;
    assert_int_equal(gn_rhythm_run(r, lone_s, n_lone, 5), GIRTHLINE_OK);
    r->extras = NULL;
    r->n_extras = 0;
    assert_int_equal(r->rhythm.pauses[0].n_atrial, n_lone);
    assert_int_equal(r->rhythm.pattern, n_lone == 2 ? GIRTHLINE_PAUSES : GIRTHLINE_REGULAR);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_unsure_pause_in_a_noisy_recording_is_listed_and_is_no_pattern),
      cmocka_unit_test(in_noise_one_event_is_a_pattern_where_its_beats_are_sure_and_it_looks_its_part),
      cmocka_unit_test(in_noise_both_beats_of_an_event_have_to_be_sure),
      cmocka_unit_test(one_pause_in_noise_is_a_pattern_where_two_atrial_sounds_stand_in_it),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
