// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "finding.h"
#include "findings/parts.h"

// A result whose murmur fits the flow pattern in every point.
static girthline_result *fitting(void) {
  girthline_result *r = healthy_horse();
  r->settings.side = GIRTHLINE_LEFT;
  r->settings.area = GIRTHLINE_AORTIC;
  set_murmur(r, flow_murmur());
  return r;
}

static gn_leaning leaning(const girthline_result *r) { return gn_findings_leaning(r, &r->murmur.phases[0], NULL, 0); }

static void the_flow_pattern_fits_where_every_point_holds(void **state) {
  (void)state;
  girthline_result *r = fitting();
  assert_int_equal(leaning(r), GN_LEANS_FLOW);
  r->settings.area = GIRTHLINE_PULMONIC;
  r->murmur.phases[0].timing = GIRTHLINE_MID;
  r->murmur.phases[0].loudness = GIRTHLINE_AS_LOUD;
  assert_int_equal(leaning(r), GN_LEANS_FLOW);
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  const girthline_finding *f = finding_of(r, "murmur-systole");
  assert_int_equal(f->urgency, GIRTHLINE_ROUTINE);
  assert_non_null(strstr(f->text, "fits the pattern of a flow murmur"));
  assert_non_null(strstr(f->advice, "echocardiography"));
  girthline_result_free(r);
}

// A page shows the same numbers beside these words, out of the JSON report's tenths.
static void levels_are_rounded_as_the_page_does(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  r->murmur.present = GIRTHLINE_NO;
  r->murmur.detection_limit_db[0] = -22.5;
  r->murmur.detection_limit_db[1] = -26.46;
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  assert_non_null(strstr(finding_of(r, "murmur-none")->text, "−23 dB in systole and −27 dB in diastole"));
  girthline_result_free(r);
}

static void one_point_missing_and_it_does_not_fit(void **state) {
  (void)state;
  for (int k = 0; k < 15; k++) {
    girthline_result *r = fitting();
    girthline_murmur_phase *p = &r->murmur.phases[0];
    switch (k) {
    case 0: r->settings.side = GIRTHLINE_SIDE_UNKNOWN; break;
    case 1: r->settings.side = GIRTHLINE_RIGHT; break;
    case 2: r->settings.area = GIRTHLINE_MITRAL; break;
    case 3: r->settings.area = GIRTHLINE_AREA_UNKNOWN; break;
    case 4: r->settings.species = GIRTHLINE_FOAL; break;
    case 5: r->settings.species = GIRTHLINE_DOG; break;
    case 6: r->settings.species_assumed = true; break;
    case 7: r->rate.standing = GIRTHLINE_ABOVE; break;
    case 8: r->rate.standing = GIRTHLINE_STANDING_UNKNOWN; break;
    case 9: r->settings.minutes_after_exercise = 3; break;
    case 10: p->ends_before_s2 = GIRTHLINE_UNKNOWN; break;
    case 11: p->loudness = GIRTHLINE_LOUDER; break;
    case 12: p->timing = GIRTHLINE_HOLO; break;
    case 13: p->shape = GIRTHLINE_PLATEAU; break;
    case 14: set_names(r, 0.6f, 0.7f); break;
    default: break;
    }
    char why[700] = "";
    const gn_leaning l = gn_findings_leaning(r, p, why, sizeof why);
    assert_true(l != GN_LEANS_FLOW && why[0]);
    if (k != 5) assert_memory_equal(why, "It does not fit the pattern of a flow murmur. ", 46); // a dog is not held against it
    if (k == 2) assert_non_null(strstr(why, "The place is not the left heart base"));
    if (k == 3) assert_non_null(strstr(why, "was not stated as the place"));
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    assert_null(strstr(finding_of(r, "murmur-systole")->text, "flow murmur"));
    girthline_result_free(r);
  }
}

// The flow pattern is published for horses; its points say nothing of other animals, and work is the horse's.
static void other_animals_are_not_held_against_the_horses_pattern(void **state) {
  (void)state;
  const girthline_species other[] = {GIRTHLINE_DOG, GIRTHLINE_CAT, GIRTHLINE_DONKEY, GIRTHLINE_CATTLE, GIRTHLINE_GOAT};
  for (size_t k = 0; k < sizeof other / sizeof other[0]; k++) {
    girthline_result *r = fitting();
    r->settings.species = other[k];
    r->settings.area = GIRTHLINE_MITRAL;
    r->rate.standing = GIRTHLINE_ABOVE;
    char why[700] = "";
    assert_int_equal(gn_findings_leaning(r, &r->murmur.phases[0], why, sizeof why), GN_LEANS_ECHO);
    assert_null(strstr(why, "left heart base"));
    assert_null(strstr(why, "adult horse."));
    assert_non_null(strstr(why, "published for adult horses"));
    assert_int_equal(strstr(why, "Ljungvall") != NULL, other[k] == GIRTHLINE_DOG);
    assert_int_equal(strstr(why, "nothing published is used") != NULL, other[k] != GIRTHLINE_DOG);
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, "murmur-systole");
    assert_int_equal(f->urgency, gn_findings_equine(other[k]) ? GIRTHLINE_BEFORE_WORK : GIRTHLINE_SOON);
    assert_non_null(strstr(f->evidence, "published for adult horses"));
    girthline_result_free(r);
  }
}

// WEVA 2023: a left-sided systolic murmur counts as regurgitation until it fits the flow pattern.
static void a_left_sided_systolic_murmur_that_does_not_fit_asks_for_echocardiography(void **state) {
  (void)state;
  girthline_result *r = fitting();
  r->settings.area = GIRTHLINE_MITRAL;
  assert_int_equal(leaning(r), GN_LEANS_ECHO);
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  const girthline_finding *f = finding_of(r, "murmur-systole");
  assert_int_equal(f->urgency, GIRTHLINE_SOON);
  assert_non_null(strstr(f->evidence, "WEVA 2023"));
  assert_non_null(strstr(f->advice, "Echocardiography"));
  girthline_result_free(r);
}

static void with_an_irregular_or_fast_heart_it_weighs_more(void **state) {
  (void)state;
  girthline_result *r = fitting();
  r->settings.area = GIRTHLINE_MITRAL;
  r->rhythm.pattern = GIRTHLINE_IRREGULAR;
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  assert_int_equal(finding_of(r, "murmur-systole")->urgency, GIRTHLINE_BEFORE_WORK);
  assert_non_null(strstr(finding_of(r, "murmur-systole")->advice, "ECG at rest"));
  girthline_result_free(r);
}

static void diastole_asks_for_echocardiography_beyond_a_short_early_squeak(void **state) {
  (void)state;
  girthline_result *r = fitting();
  girthline_murmur_phase *p = &r->murmur.phases[0];
  p->phase = GIRTHLINE_DIASTOLE;
  p->start_fraction = 0.02, p->end_fraction = 0.15, p->peak_hz = 220;
  assert_int_equal(leaning(r), GN_LEANS_YOUNG);
  set_names(r, 0.6f, 0.7f); // it may lie in systole
  assert_int_equal(leaning(r), GN_LEANS_ECHO);
  r->beats[0].name_confidence = 0.9f;
  assert_int_equal(leaning(r), GN_LEANS_YOUNG);
  p->end_fraction = 0.6;
  assert_int_equal(leaning(r), GN_LEANS_ECHO);
  p->end_fraction = 0.15;
  r->settings.species = GIRTHLINE_DOG;
  assert_int_equal(leaning(r), GN_LEANS_ECHO);
  r->settings.species = GIRTHLINE_HORSE;
  r->settings.species_assumed = true;
  assert_int_equal(leaning(r), GN_LEANS_ECHO);
  r->settings.species_assumed = false;
  r->settings.age_days = 2000; // over five years; the squeak is that of young horses
  assert_int_equal(leaning(r), GN_LEANS_ECHO);
  r->settings.age_days = 900;
  assert_int_equal(leaning(r), GN_LEANS_YOUNG);
  const girthline_pattern patterns[] = {GIRTHLINE_REGULAR, GIRTHLINE_PAUSES, GIRTHLINE_EARLY_BEATS, GIRTHLINE_IRREGULAR};
  for (int k = 0; k < 4; k++) {
    r->rhythm.pattern = patterns[k];
    assert_int_equal(leaning(r), k < 2 ? GN_LEANS_YOUNG : GN_LEANS_ECHO);
  }
  girthline_result_free(r);
}

static void a_continuous_murmur_of_a_young_foal_is_listened_to_again(void **state) {
  (void)state;
  for (int k = 0; k < 3; k++) {
    girthline_result *r = fitting();
    r->settings.species = GIRTHLINE_FOAL;
    r->settings.age_days = k == 0 ? 3 : k == 1 ? 40 : -1;
    r->murmur.phases[0].phase = GIRTHLINE_CONTINUOUS;
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, "murmur-continuous");
    assert_int_equal(f->urgency, k == 0 ? GIRTHLINE_ROUTINE : GIRTHLINE_SOON);
    assert_non_null(strcasestr(f->advice, "echocardiography"));
    girthline_result_free(r);
  }
}

static void none_is_said_with_how_soft_it_could_have_been(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  assert_non_null(strstr(finding_of(r, "murmur-none")->text, "none above \xE2\x88\x92" "20 dB in systole and \xE2\x88\x92" "22 dB in diastole"));
  girthline_result_free(r);
}

static void how_common_murmurs_are_is_said_of_systolic_ones_only(void **state) {
  (void)state;
  for (int phase = GIRTHLINE_SYSTOLE; phase <= GIRTHLINE_DIASTOLE; phase++) {
    girthline_result *r = fitting();
    r->murmur.phases[0].phase = (girthline_phase)phase;
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, phase == GIRTHLINE_SYSTOLE ? "murmur-systole" : "murmur-diastole");
    assert_int_equal(strstr(f->evidence, "846 racehorses") != NULL, phase == GIRTHLINE_SYSTOLE);
    girthline_result_free(r);
  }
}

static void a_level_that_rounds_to_nothing_has_no_sign(void **state) {
  (void)state;
  girthline_result *r = fitting();
  r->murmur.phases[0].level_db = -0.3;
  r->murmur.phases[0].level_db_interval[0] = -0.6;
  r->murmur.phases[0].level_db_interval[1] = -0.2;
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  const girthline_finding *f = finding_of(r, "murmur-systole");
  assert_non_null(strstr(f->evidence, "Level 0 dB against S1."));
  assert_non_null(strstr(f->evidence, "Over the beats \xE2\x88\x92" "1 to 0 dB"));
  girthline_result_free(r);
}

static void both_phases_have_a_finding_each(void **state) {
  (void)state;
  girthline_result *r = fitting();
  r->murmur.phases[1] = flow_murmur();
  r->murmur.phases[1].phase = GIRTHLINE_DIASTOLE;
  r->murmur.n_phases = 2;
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  assert_non_null(finding_of(r, "murmur-systole"));
  assert_string_equal(finding_of(r, "murmur-diastole")->evidence_keys[0], "/murmur/phases/1");
  girthline_result_free(r);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_flow_pattern_fits_where_every_point_holds),
      cmocka_unit_test(levels_are_rounded_as_the_page_does),
      cmocka_unit_test(one_point_missing_and_it_does_not_fit),
      cmocka_unit_test(other_animals_are_not_held_against_the_horses_pattern),
      cmocka_unit_test(a_left_sided_systolic_murmur_that_does_not_fit_asks_for_echocardiography),
      cmocka_unit_test(with_an_irregular_or_fast_heart_it_weighs_more),
      cmocka_unit_test(diastole_asks_for_echocardiography_beyond_a_short_early_squeak),
      cmocka_unit_test(a_continuous_murmur_of_a_young_foal_is_listened_to_again),
      cmocka_unit_test(none_is_said_with_how_soft_it_could_have_been),
      cmocka_unit_test(how_common_murmurs_are_is_said_of_systolic_ones_only),
      cmocka_unit_test(a_level_that_rounds_to_nothing_has_no_sign),
      cmocka_unit_test(both_phases_have_a_finding_each),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
