// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What an examination says in words: signs, recovery, places.
#include "examined_made.h"

#include <stdlib.h>

static void recovery_is_held_against_published_recovery(void **state) {
  (void)state;
  // Within 15 % by 15 minutes after light and 30 to 45 after hard work (Patteson 3.8.3).
  static const struct { double after; const char *minutes, *says; girthline_urgency urgency; } ROWS[] = {
      {45, "15", "back within 15 %", GIRTHLINE_ROUTINE}, {60, "5", "too early", GIRTHLINE_ROUTINE},     {60, "20", "after hard work it is not late yet", GIRTHLINE_ROUTINE},
      {60, "40", "at the end of what is published", GIRTHLINE_SOON}, {60, "50", "slower than published for light and for hard", GIRTHLINE_SOON},
  };
  for (int i = 0; i < 5; i++) {
    made m = series(40, ROWS[i].after, ROWS[i].minutes);
    const gn_exam_finding *f = finding(&m, "recovery");
    assert_non_null(f);
    if (!strstr(f->text, ROWS[i].says)) print_error("row %d: %s\n", i, f->text);
    assert_non_null(strstr(f->text, ROWS[i].says));
    assert_int_equal(f->urgency, ROWS[i].urgency);
    assert_near(m.x->recovery[0].over_resting_percent, 100 * (ROWS[i].after / 40 - 1), 1e-9);
    done(&m);
  }
}

static void a_rate_after_exercise_is_set_beside_rest_in_whole_percent(void **state) {
  (void)state;
  static const struct { double after; const char *minutes, *says; } ROWS[] = {
      {39.6, "30", "30 minutes after exercise the rate was 40 a minute (\xE2\x88\x92" "1 % against rest)."},
      {39.85, "1", "1 minute after exercise the rate was 40 a minute (as at rest)."},
      {50, "2.5", "2.5 minutes after exercise the rate was 50 a minute (+25 % against rest)."},
      {95.497, "0", "0 minutes after exercise the rate was 96 a minute (+139 % against rest)."}}; // 95.50 in the JSON report
  for (int i = 0; i < 4; i++) {
    made m = series(40, ROWS[i].after, ROWS[i].minutes);
    if (!strstr(finding(&m, "recovery")->text, ROWS[i].says)) fail_msg("%s", finding(&m, "recovery")->text);
    done(&m);
  }
}

// What is judged is the last rate there is: "by then" must not stand behind a later recording that gave none.
static void a_recording_without_a_rate_stands_behind_what_the_last_rate_shows(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC "[recording x]\nfile = x.wav\nminutes_after_exercise = 10\n[recording y]\nfile = y.wav\nminutes_after_exercise = 30\n");
  result(&m, 0)->rate.settled_bpm = 40;
  result(&m, 1)->rate.bpm = 44;
  result(&m, 2)->rate.bpm = NAN;
  together(&m);
  const char *text = finding(&m, "recovery")->text, *judged = strstr(text, "By then it was back"), *open = strstr(text, "30 minutes after exercise the rate was not determined.");
  assert_true(judged && open && strstr(text, "10 minutes after exercise the rate was 44") < judged && judged < open);
  done(&m);
}

static void pauses_that_vanish_with_exercise_are_not_called_harmless(void **state) {
  (void)state;
  made m = series(40, 60, "5"); // the made result has a pause at rest
  const gn_exam_finding *f = finding(&m, "rhythm-after-exercise");
  assert_non_null(f);
  assert_non_null(strstr(f->text, "no pauses were heard"));
  assert_non_null(strstr(f->advice, "Pauses that vanish with exercise do not exclude disease."));
  assert_non_null(strstr(f->advice, "An ECG at rest first; exercise only on a veterinarian's decision."));
  done(&m);
}

static void two_recordings_of_one_place_are_told_apart_by_their_names(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC MITRAL "[recording second]\nfile = n.wav\nside = left\narea = mitral\n[recording late]\nfile = l.wav\nside = left\narea = mitral\n"
                                      "minutes_after_exercise = 2.5\n");
  together(&m);
  char place[GN_EXAM_PLACE_BYTES];
  assert_string_equal(gn_exam_place(m.x, 0, place), "left pulmonic area");
  assert_string_equal(gn_exam_place(m.x, 1, place), "left mitral area (m)");
  assert_string_equal(gn_exam_place(m.x, 2, place), "left mitral area (second)");
  assert_string_equal(gn_exam_place(m.x, 3, place), "left mitral area, 2.5 min after exercise");
  done(&m);
}

// "No murmur was found" would be a statement that a recording too noisy for one does not bear.
static void a_right_side_that_shows_nothing_is_not_called_free_of_a_murmur(void **state) {
  (void)state;
  static const struct { girthline_tristate present; const char *says; } ROWS[] = {{GIRTHLINE_UNKNOWN, "Whether there is a murmur on the right was not determined."},
                                                                              {GIRTHLINE_NO, "No murmur was found on the right."}};
  for (int i = 0; i < 2; i++) {
    made m = make(HORSE "[signs]\njugular_right = full\n" TRICUSPID);
    result(&m, 0)->murmur.present = ROWS[i].present;
    result(&m, 0)->murmur.n_phases = 0;
    together(&m);
    assert_non_null(strstr(finding(&m, "jugular")->text, ROWS[i].says));
    done(&m);
  }
}

// One number is no range.
static void recordings_of_one_rate_are_told_without_a_range(void **state) {
  (void)state;
  static const struct { double other; const char *says; } ROWS[] = {{38.4, "(2 recordings). "}, {38.6, "(2 recordings, 38 to 39)"}};
  for (int k = 0; k < 2; k++) {
    made m = make(HORSE PULMONIC AORTIC);
    result(&m, 0)->rate.bpm = result(&m, 0)->rate.settled_bpm = 38;
    result(&m, 1)->rate.bpm = result(&m, 1)->rate.settled_bpm = ROWS[k].other;
    together(&m);
    assert_non_null(strstr(finding(&m, "rate-within")->text, ROWS[k].says));
    done(&m);
  }
}

// Each recording says of it "record again"; together they may not ask for more.
static void what_no_recording_carries_is_uncertain_in_the_examination_too(void **state) {
  (void)state;
  for (int carried = 0; carried < 2; carried++) {
    made m = make(HORSE PULMONIC MITRAL);
    for (size_t i = 0; i < 2; i++) {
      girthline_result *r = result(&m, i);
      r->rhythm.pattern = GIRTHLINE_IRREGULAR;
      r->murmur.phases[0] = (girthline_murmur_phase){.phase = GIRTHLINE_SYSTOLE, .timing = GIRTHLINE_HOLO, .level_db = 8, .loudness = GIRTHLINE_LOUDER, .confidence = 0.9};
      r->quality.grade = i && carried ? GIRTHLINE_GOOD : GIRTHLINE_POOR;
    }
    together(&m);
    const gn_exam_finding *f = finding(&m, "murmur-systole");
    assert_int_equal(strstr(f->text, "It is uncertain: noise that comes with the beats looks alike.") != NULL, !carried);
    assert_int_equal(strstr(f->text, "It asks for echocardiography.") != NULL, carried);
    assert_int_equal(f->urgency, carried ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
    assert_int_equal(m.x->murmurs[0].leaning, carried ? GIRTHLINE_ASKS_FOR_ECHO : GIRTHLINE_LEANS_UNDETERMINED);
    assert_int_equal(strstr(m.x->rhythm.explanation, "It is uncertain: the recording is poor.") != NULL, !carried);
    char said[200] = "", why[600] = "";
    gn_exam_murmur_words(m.x, said, why);
    assert_int_equal(strstr(why, "It is uncertain") != NULL, !carried);
    done(&m);
  }
}

// Beside an even recording and one too short; brought up with its own place alone, and said where it is not brought up, too.
static void an_uneven_rhythm_without_a_name_is_told_of_an_examination(void **state) {
  (void)state;
  static const char *const UNEVEN = "Left aortic area: Short and long intervals come in turn.";
  for (int k = 0; k < 7; k++) { // even or too short; in the middle uneven, too short, or poor; and one that swings beside the uneven one
    made m = make(HORSE PULMONIC AORTIC MITRAL);
    for (size_t i = 0; i < 3; i++) {
      girthline_result *r = result(&m, i);
      r->rhythm.used_count = i == 2 ? 4 : 20;
      if (i == 0) regular(r), r->rhythm.pattern = k % 2 ? GIRTHLINE_PATTERN_UNDETERMINED : k == 6 ? GIRTHLINE_CYCLIC : GIRTHLINE_REGULAR, r->rhythm.used_count = k % 2 ? 4 : 20;
      if (i > 0) r->rhythm.pattern = GIRTHLINE_PATTERN_UNDETERMINED;
      snprintf(r->rhythm.explanation, sizeof r->rhythm.explanation, i == 2 ? "Only 4 usable intervals." : "Short and long intervals come in turn.");
    }
    if (k / 2 == 1) result(&m, 1)->rhythm.used_count = 4;
    if (k / 2 == 2) result(&m, 1)->quality.grade = GIRTHLINE_POOR;
    together(&m);
    assert_int_equal(strstr(m.x->rhythm.explanation, UNEVEN) != NULL, k < 2 || k == 6);
    assert_int_equal(strstr(m.x->rhythm.explanation, "in the one resting recording that could show it") != NULL, k == 2 || k == 4);
    assert_int_equal(m.x->rhythm.pattern, k == 2 || k == 4 ? GIRTHLINE_REGULAR : GIRTHLINE_PATTERN_UNDETERMINED);
    assert_int_equal(isfinite(m.x->rhythm.confidence), k == 2 || k == 4);
    assert_int_equal(strstr(m.x->rhythm.explanation, "enough even beats") != NULL, k == 3 || k == 5);
    char *json = gn_exam_json(m.x, NULL), want[700];
    snprintf(want, sizeof want, "\"/rhythm/pattern\": \"%s\"", m.x->rhythm.explanation);
    assert_int_equal(strstr(json, want) != NULL, k != 2 && k != 4);
    girthline_text_free(json);
    done(&m);
  }
}

// Patteson, Equine Cardiology 3.5.2: between S2 and S3, very short, high, in fit young horses.
static void a_short_early_squeak_is_called_so_in_the_examination_too(void **state) {
  (void)state;
  static const struct { double end_fraction; girthline_grade grade; const char *words; } ROWS[] = {
      {0.15, GIRTHLINE_GOOD, "It fits the short early squeak that many fit young horses have; a leak of the aortic valve begins at the same moment."},
      {0.15, GIRTHLINE_POOR, "It cannot be sorted from these recordings."},
      {0.6, GIRTHLINE_GOOD, "It asks for echocardiography."}};
  for (size_t i = 0; i < 3; i++) {
    made m = make(HORSE AORTIC);
    regular(result(&m, 0));
    result(&m, 0)->quality.grade = ROWS[i].grade;
    result(&m, 0)->murmur.phases[0] = (girthline_murmur_phase){.phase = GIRTHLINE_DIASTOLE, .timing = GIRTHLINE_EARLY, .level_db = -10, .loudness = GIRTHLINE_SOFTER,
                                                               .peak_hz = 220, .end_fraction = ROWS[i].end_fraction, .confidence = 0.95};
    together(&m);
    const gn_exam_finding *f = finding(&m, "murmur-diastole");
    char said[200] = "", why[600] = "";
    gn_exam_murmur_words(m.x, said, why);
    for (size_t k = 0; k < 3; k++) {
      assert_int_equal(strstr(f->text, ROWS[k].words) != NULL, k == i);
      assert_int_equal(strstr(why, ROWS[k].words) != NULL, k == i);
    }
    assert_int_equal(f->urgency, i == 2 ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
    done(&m);
  }
}

static void a_murmur_too_little_speaks_for_is_uncertain_in_the_examination_too(void **state) {
  (void)state;
  made m = make(HORSE MITRAL);
  result(&m, 0)->murmur.phases[0] = (girthline_murmur_phase){.phase = GIRTHLINE_CONTINUOUS, .timing = GIRTHLINE_HOLO, .level_db = 8, .loudness = GIRTHLINE_LOUDER, .confidence = 0.69};
  together(&m);
  assert_non_null(strstr(finding(&m, "murmur-continuous")->text, "It is uncertain: a steady sound of the room or the recorder looks alike."));
  done(&m);
}

static void a_reason_ends_with_one_stop(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC);
  girthline_result *r = result(&m, 0);
  r->rate.bpm = NAN;
  r->rhythm.pattern = GIRTHLINE_PATTERN_UNDETERMINED;
  r->murmur.present = GIRTHLINE_UNKNOWN;
  r->murmur.n_phases = 0;
  static const char *const POINTERS[] = {"/rate/bpm", "/rhythm/pattern", "/murmur/present"};
  for (int i = 0; i < 3; i++) assert_int_equal(gn_result_undetermine(r, POINTERS[i], "It is a reason."), 0);
  together(&m);
  char *text = gn_exam_text_report(m.x, &(girthline_report_options){.width = 400}, NULL);
  assert_non_null(strstr(text, "Rate: not determined: It is a reason. Rhythm: not determined: It is a reason. Between the beats: not determined: It is a reason. The recording is"));
  girthline_text_free(text);
  done(&m);
}

static void signs_are_held_against_usual_values(void **state) {
  (void)state;
  made m = make(HORSE "[signs]\ncapillary_refill_s = 2\nbreaths_per_min = 30\njugular_left = full\n[elsewhere]\necg = even\n" PULMONIC);
  together(&m);
  assert_int_equal(finding(&m, "capillary-refill")->urgency, GIRTHLINE_ROUTINE); // 2 s: common practice, no source
  assert_non_null(strstr(finding(&m, "capillary-refill")->evidence, "common practice, no source"));
  assert_int_equal(finding(&m, "breathing-rate")->urgency, GIRTHLINE_SOON); // over 1.5 times 16 (teaching range 8 to 16)
  assert_non_null(strstr(finding(&m, "jugular")->text, "as written: full."));
  assert_non_null(strstr(finding(&m, "jugular")->text, "right side was not recorded"));
  assert_non_null(strstr(finding(&m, "elsewhere")->text, "ECG: even."));
  done(&m);
}

static void a_pulse_deficit_is_said_beyond_what_counting_can_tell(void **state) {
  (void)state;
  static const struct { const char *pulse; const char *kind; } ROWS[] = {{"37", "pulse"}, {"30", "pulse-deficit"}, {"60", "pulse"}};
  for (int i = 0; i < 3; i++) {
    char text[300];
    snprintf(text, sizeof text, "%s[signs]\npulse_per_min = %s\n%s", HORSE, ROWS[i].pulse, PULMONIC);
    made m = make(text);
    intervals(result(&m, 0), (const double[]){1.5, 1.5}, 2); // 40 a minute
    together(&m);
    assert_near(m.x->pulse_deficit_per_min, 40 - atof(ROWS[i].pulse), 1e-9);
    assert_non_null(finding(&m, ROWS[i].kind));
    done(&m);
  }
}

static void no_sentence_states_a_disease_or_prompts_to_exercise(void **state) {
  (void)state;
  static const char *const NEVER[] = {"diagnos", "is healthy", "suffers", "has atrial fibrillation", "has a leak", "rule out", "rules out", "confirm", "lunge", "exercise the horse", "exercise the animal", "ride it", "harmless"};
  made m = make(HORSE "[signs]\ncapillary_refill_s = 3\npulse_per_min = 20\nbreaths_per_min = 40\njugular_left = full\n" PULMONIC MITRAL TRICUSPID
                      "[recording x]\nfile = x.wav\nminutes_after_exercise = 50\n");
  result(&m, 1)->rhythm.pattern = GIRTHLINE_IRREGULAR;
  result(&m, 3)->rhythm.pattern = GIRTHLINE_IRREGULAR;
  result(&m, 3)->rate.bpm = 90;
  together(&m);
  for (size_t i = 0; i < m.x->n_findings; i++)
    for (size_t k = 0; k < sizeof NEVER / sizeof *NEVER; k++) {
      const gn_exam_finding *f = &m.x->findings[i];
      const bool said = strstr(f->text, NEVER[k]) || strstr(f->advice, NEVER[k]) || strstr(f->evidence, NEVER[k]);
      if (said) print_error("%s says \"%s\"\n", f->kind, NEVER[k]);
      assert_false(said);
    }
  assert_int_equal(finding(&m, "rhythm-after-exercise")->urgency, GIRTHLINE_BEFORE_WORK);
  done(&m);
}

static void a_human_gets_no_advice_but_research_and_teaching(void **state) {
  (void)state;
  made m = make("[animal]\nspecies = human\n" PULMONIC);
  together(&m);
  assert_true(m.x->n_findings > 0);
  assert_int_equal(m.x->n_not_recorded, 0);
  for (size_t i = 0; i < m.x->n_findings; i++) {
    assert_int_equal(m.x->findings[i].urgency, GIRTHLINE_ROUTINE);
    assert_non_null(strstr(m.x->findings[i].advice, "research and teaching only"));
  }
  done(&m);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(recovery_is_held_against_published_recovery),
      cmocka_unit_test(a_rate_after_exercise_is_set_beside_rest_in_whole_percent),
      cmocka_unit_test(a_recording_without_a_rate_stands_behind_what_the_last_rate_shows),
      cmocka_unit_test(pauses_that_vanish_with_exercise_are_not_called_harmless),
      cmocka_unit_test(two_recordings_of_one_place_are_told_apart_by_their_names),
      cmocka_unit_test(a_right_side_that_shows_nothing_is_not_called_free_of_a_murmur),
      cmocka_unit_test(a_reason_ends_with_one_stop),
      cmocka_unit_test(recordings_of_one_rate_are_told_without_a_range),
      cmocka_unit_test(an_uneven_rhythm_without_a_name_is_told_of_an_examination),
      cmocka_unit_test(what_no_recording_carries_is_uncertain_in_the_examination_too),
      cmocka_unit_test(a_short_early_squeak_is_called_so_in_the_examination_too),
      cmocka_unit_test(a_murmur_too_little_speaks_for_is_uncertain_in_the_examination_too),
      cmocka_unit_test(signs_are_held_against_usual_values),
      cmocka_unit_test(a_pulse_deficit_is_said_beyond_what_counting_can_tell),
      cmocka_unit_test(no_sentence_states_a_disease_or_prompts_to_exercise),
      cmocka_unit_test(a_human_gets_no_advice_but_research_and_teaching),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
