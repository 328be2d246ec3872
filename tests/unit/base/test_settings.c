// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include <girthline/settings.h>

#include "base/memory.h"
#include "base/result.h"

static void the_defaults_are_a_resting_horse_of_unknown_age(void **state) {
  (void)state;
  const girthline_settings s = girthline_settings_default();
  assert_int_equal(s.species, GIRTHLINE_HORSE);
  assert_true(s.species_assumed && s.age_days < 0 && s.minutes_after_exercise < 0);
  assert_true(s.side == GIRTHLINE_SIDE_UNKNOWN && s.area == GIRTHLINE_AREA_UNKNOWN);
  assert_near(s.from_s, 0, 0);
  assert_near(s.to_s, 0, 0);
  assert_true(s.given == NULL && s.n_given == 0);
}

static void sides_and_areas_are_parsed_back(void **state) {
  (void)state;
  const char *areas[] = {NULL, "pulmonic", "aortic", "mitral", "tricuspid", "other"};
  for (int i = 1; i <= 5; i++) {
    girthline_area area = GIRTHLINE_AREA_UNKNOWN;
    assert_true(girthline_area_parse(areas[i], &area));
    assert_int_equal(area, i);
    assert_string_equal(girthline_area_name((girthline_area)i), areas[i]);
  }
  girthline_side side = GIRTHLINE_SIDE_UNKNOWN;
  assert_true(girthline_side_parse("right", &side) && side == GIRTHLINE_RIGHT);
  assert_true(girthline_side_parse("left", &side) && side == GIRTHLINE_LEFT);
  girthline_area area;
  assert_false(girthline_side_parse("Left", &side) || girthline_area_parse("apex", &area));
  assert_null(girthline_side_name(GIRTHLINE_SIDE_UNKNOWN));
  assert_null(girthline_area_name(GIRTHLINE_AREA_UNKNOWN));
}

static void a_new_result_claims_nothing(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  assert_true(isnan(r->rate.bpm) && isnan(r->rhythm.sdnn_ms) && isnan(r->quality.heart_to_noise_db));
  assert_true(r->murmur.present == GIRTHLINE_UNKNOWN && r->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED);
  assert_true(r->rate.standing == GIRTHLINE_STANDING_UNKNOWN && r->n_beats == 0);
  girthline_result_free(r);
  girthline_result_free(NULL);
}

static void the_first_reason_for_a_null_is_kept(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  assert_int_equal(gn_result_undetermine(r, "/rate/bpm", "only %d beats", 1), 0);
  assert_int_equal(gn_result_undetermine(r, "/rate/bpm", "later"), 0);
  assert_int_equal(gn_result_undetermine(r, "/rate/mean_bpm", "too"), 0);
  assert_int_equal(r->n_undetermined, 2);
  assert_string_equal(r->undetermined[0].pointer, "/rate/bpm");
  assert_string_equal(r->undetermined[0].reason, "only 1 beats");
  girthline_result_free(r);
}

static void a_refused_reason_leaves_the_result_whole(void **state) {
  (void)state;
  gn_memory_refuse(1);
  assert_null(gn_result_new());
  for (size_t k = 1; k <= 3; k++) {
    gn_memory_refuse(0);
    girthline_result *r = gn_result_new();
    gn_memory_refuse(k);
    assert_int_equal(gn_result_undetermine(r, "/rate/bpm", "because"), -1);
    gn_memory_refuse(0);
    assert_int_equal(r->n_undetermined, 0);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_defaults_are_a_resting_horse_of_unknown_age),
      cmocka_unit_test(sides_and_areas_are_parsed_back),
      cmocka_unit_test(a_new_result_claims_nothing),
      cmocka_unit_test(the_first_reason_for_a_null_is_kept),
      cmocka_unit_test(a_refused_reason_leaves_the_result_whole),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
