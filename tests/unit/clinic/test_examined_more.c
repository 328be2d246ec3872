// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What several recordings say together, from both sides of each limit and of more than one recording at a time.
#include "examined_made.h"

#define AFTER(minutes) "[recording after " minutes "]\nfile = x.wav\nminutes_after_exercise = " minutes "\n"

static void measures_are_pooled_within_recordings(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC);
  girthline_result *a = result(&m, 0), *b = result(&m, 1);
  intervals(a, (const double[]){1.0, 1.2, 1.0, 1.2}, 4); // three differences of 200 ms, of which the gap behind takes one
  a->rhythm.intervals[3].span.start_s += 2, a->rhythm.intervals[3].span.end_s += 2;
  intervals(b, (const double[]){2.0, 2.1}, 2); // one of 100 ms
  a->rhythm.rmssd_ms = 200, b->rhythm.rmssd_ms = 100;
  a->rhythm.longest_interval_s = 3.5, b->rhythm.longest_interval_s = 2.1;
  a->rate.min_bpm = 50, a->rate.max_bpm = 60, b->rate.min_bpm = 28, b->rate.max_bpm = 30;
  together(&m);
  assert_near(m.x->rhythm.rmssd_ms, 1000 * sqrt((2 * 0.04 + 0.01) / 3), 1e-9);
  assert_near(m.x->rhythm.sdnn_ms, 1000 * sqrt((4 * 0.01 + 2 * 0.0025) / 4), 1e-9); // six intervals, two means
  assert_near(m.x->rhythm.interval_cv_percent, 100 * sqrt(0.045 / 4) / (8.5 / 6), 1e-9);
  assert_near(m.x->rhythm.longest_interval_s, 3.5, 0);
  assert_near(m.x->rate.min_bpm, 28, 0);
  assert_near(m.x->rate.max_bpm, 60, 0);
  assert_int_equal(m.x->rhythm.n_early, 2);
  assert_int_equal(m.x->rhythm.n_pauses, 2);
  done(&m);
  m = make(HORSE PULMONIC AORTIC);
  for (size_t i = 0; i < 2; i++) intervals(result(&m, i), (const double[]){1.5, 1.5}, 2);
  result(&m, 1)->rhythm.rmssd_ms = NAN; // lost in the onsets' jitter: what is left would be the larger ones only
  together(&m);
  assert_true(isnan(m.x->rhythm.rmssd_ms));
  done(&m);
}

static void the_surest_of_recordings_alike_gives_the_confidence(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC MITRAL);
  for (size_t i = 0; i < 3; i++) result(&m, i)->rhythm.confidence = i == 1 ? 0.95 : 0.8;
  together(&m);
  assert_near(m.x->rhythm.confidence, 0.95, 0);
  done(&m);
  m = make(HORSE PULMONIC);
  result(&m, 0)->rhythm.pattern = GIRTHLINE_PATTERN_UNDETERMINED;
  together(&m);
  assert_true(isnan(m.x->rhythm.confidence));
  done(&m);
}

static void a_rate_at_the_range_s_end_is_within(void **state) {
  (void)state;
  static const struct { double bpm; girthline_standing standing; } ROWS[] = {
      {27.9, GIRTHLINE_BELOW}, {28, GIRTHLINE_WITHIN}, {44, GIRTHLINE_WITHIN}, {44.1, GIRTHLINE_ABOVE}}; // a horse's 28 to 44
  for (int i = 0; i < 4; i++) {
    made m = make(HORSE PULMONIC);
    result(&m, 0)->rate.settled_bpm = ROWS[i].bpm;
    together(&m);
    assert_int_equal(m.x->rate.standing, ROWS[i].standing);
    done(&m);
  }
}

static void a_recording_s_second_murmur_and_one_after_exercise_are_heard_too(void **state) {
  (void)state;
  made m = make(HORSE AORTIC MITRAL AFTER("5"));
  for (size_t i = 0; i < 3; i++) {
    girthline_murmur *own = &result(&m, i)->murmur;
    own->phases[own->n_phases] = own->phases[0];
    if (i == 0) own->phases[own->n_phases++].phase = GIRTHLINE_DIASTOLE;
    if (i == 1) own->phases[0].shape = GIRTHLINE_PLATEAU;
    if (i == 2) own->phases[own->n_phases++].phase = GIRTHLINE_CONTINUOUS;
  }
  together(&m);
  assert_int_equal(m.x->n_murmurs, 3);
  assert_int_equal(m.x->murmurs[0].n_heard, 2); // not the one after exercise: it is heard at rest
  assert_true(m.x->murmurs[0].differs);         // in shape alone
  assert_false(m.x->murmurs[0].after_exercise);
  assert_int_equal(m.x->murmurs[1].phase, GIRTHLINE_DIASTOLE);
  assert_true(m.x->murmurs[2].phase == GIRTHLINE_CONTINUOUS && m.x->murmurs[2].after_exercise);
  assert_non_null(strstr(m.x->murmurs[2].reasons, "It was heard only after exercise."));
  done(&m);
}

static void an_area_of_a_side_that_was_recorded_elsewhere_is_called_missing(void **state) {
  (void)state;
  made m = make(HORSE MITRAL "[recording r]\nfile = r.wav\nside = right\narea = other\n");
  together(&m);
  assert_int_equal(m.x->n_not_recorded, 3);
  assert_non_null(strstr(m.x->not_recorded[0].consequence, "left pulmonic area not recorded"));
  assert_non_null(strstr(m.x->not_recorded[1].consequence, "left aortic area not recorded"));
  assert_non_null(strstr(m.x->not_recorded[2].consequence, "right side recorded, but not stated"));
  done(&m);
}

static made of_kind(const char *species, const char *kind, girthline_urgency urgency) {
  char text[200];
  snprintf(text, sizeof text, "[animal]\nspecies = %s\n%s%s", species, PULMONIC, MITRAL);
  made m = make(text);
  for (size_t i = 0; i < 2; i++) {
    regular(result(&m, i));
    result(&m, i)->findings[0].kind = kind;
    result(&m, i)->findings[0].urgency = i ? urgency : GIRTHLINE_ROUTINE;
  }
  return m;
}

static void the_most_urgent_of_what_recordings_ask_for_is_kept(void **state) {
  (void)state;
  made m = of_kind("horse", "murmur-systole", GIRTHLINE_BEFORE_WORK);
  together(&m);
  assert_int_equal(finding(&m, "murmur-systole")->urgency, GIRTHLINE_BEFORE_WORK);
  done(&m);
  m = of_kind("horse", "early-beats", GIRTHLINE_BEFORE_WORK);
  together(&m);
  assert_int_equal(finding(&m, "early-beats")->urgency, GIRTHLINE_BEFORE_WORK);
  done(&m);
  m = of_kind("horse", "rate-within", GIRTHLINE_SOON);
  together(&m);
  assert_int_equal(finding(&m, "rate-within")->urgency, GIRTHLINE_SOON);
  done(&m);
  m = of_kind("horse", "extra-sounds", GIRTHLINE_ROUTINE); // stays with its recording
  together(&m);
  assert_null(finding(&m, "extra-sounds"));
  done(&m);
}

// "Anaemia, fever and colic" is published for horses; a foal's open duct is no reason to hurry; early beats ask for an ECG beside a murmur.
static void a_murmur_s_words_go_by_the_animal_and_its_rhythm(void **state) {
  (void)state;
  static const struct { const char *species; girthline_pattern pattern; bool equine, ecg; girthline_urgency urgency; } ROWS[] = {
      {"horse", GIRTHLINE_REGULAR, true, false, GIRTHLINE_SOON}, {"foal", GIRTHLINE_REGULAR, true, false, GIRTHLINE_ROUTINE},
      {"dog", GIRTHLINE_EARLY_BEATS, false, true, GIRTHLINE_SOON}, {"dog", GIRTHLINE_PAUSES, false, false, GIRTHLINE_SOON}};
  for (int i = 0; i < 4; i++) {
    made m = of_kind(ROWS[i].species, "pauses", GIRTHLINE_ROUTINE);
    for (size_t k = 0; k < 2; k++) {
      result(&m, k)->rhythm.pattern = ROWS[i].pattern;
      result(&m, k)->murmur.phases[0].loudness = GIRTHLINE_LOUDER, result(&m, k)->murmur.phases[0].timing = GIRTHLINE_HOLO;
      result(&m, k)->murmur.phases[0].level_db = 8;
    }
    together(&m);
    const gn_exam_finding *f = finding(&m, "murmur-systole");
    if (!f) fail_msg("%s: nothing", ROWS[i].species);
    if (!f) return;
    assert_int_equal(strstr(f->evidence, "Anaemia, fever and colic") != NULL, ROWS[i].equine);
    assert_int_equal(strstr(f->advice, "With this rhythm, an ECG at rest as well") != NULL, ROWS[i].ecg);
    assert_int_equal(f->urgency, ROWS[i].urgency);
    done(&m);
  }
}

static made with_sign(const char *sign) {
  char text[300];
  snprintf(text, sizeof text, "%s[signs]\n%s\n%s%s", HORSE, sign, PULMONIC, TRICUSPID);
  made m = make(text);
  for (size_t i = 0; i < 2; i++) intervals(result(&m, i), (const double[]){1.5, 1.5}, 2); // 40 a minute
  return m;
}

static void signs_are_judged_from_both_sides_of_their_limits(void **state) {
  (void)state;
  static const struct { const char *sign, *kind, *says; girthline_urgency urgency; } ROWS[] = {
      {"breaths_per_min = 8", "breathing-rate", "within the usual 8 to 16", GIRTHLINE_ROUTINE}, {"breaths_per_min = 7", "breathing-rate", "below", GIRTHLINE_ROUTINE},
      {"breaths_per_min = 16", "breathing-rate", "within", GIRTHLINE_ROUTINE}, {"breaths_per_min = 24", "breathing-rate", "above", GIRTHLINE_ROUTINE}, // half as fast again
      {"breaths_per_min = 25", "breathing-rate", "above", GIRTHLINE_SOON}, {"capillary_refill_s = 2.1", "capillary-refill", "longer than", GIRTHLINE_SOON},
      {"pulse_per_min = 36", "pulse", "They agree within what counting can tell.", GIRTHLINE_ROUTINE}, // four a minute: one beat in 15 s
      {"pulse_per_min = 35", "pulse-deficit", "a pulse deficit of 5 a minute", GIRTHLINE_SOON}, {"pulse_per_min = 44", "pulse", "They agree", GIRTHLINE_ROUTINE},
      {"pulse_per_min = 45", "pulse", "More pulses than beats", GIRTHLINE_ROUTINE}, {"jugular_left = full", "jugular", "On the right a murmur was heard", GIRTHLINE_SOON}};
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    made m = with_sign(ROWS[i].sign);
    together(&m);
    const gn_exam_finding *f = finding(&m, ROWS[i].kind);
    if (!f || !strstr(f->text, ROWS[i].says)) fail_msg("%s: %s", ROWS[i].sign, f ? f->text : "nothing");
    assert_int_equal(f->urgency, ROWS[i].urgency);
    done(&m);
  }
  // More pulses than beats: the rate may have been read too low.
  static const struct { const char *sign, *advice; } COUNTED[] = {{"pulse_per_min = 45", "do not rely on that rate"}, {"pulse_per_min = 44", "Nothing beyond the usual examination."}};
  for (size_t i = 0; i < 2; i++) {
    made counted = with_sign(COUNTED[i].sign);
    together(&counted);
    assert_non_null(strstr(finding(&counted, "pulse")->advice, COUNTED[i].advice));
    done(&counted);
  }
  made m = with_sign("pulse_per_min = 30");
  result(&m, 0)->rhythm.pattern = GIRTHLINE_EARLY_BEATS;
  together(&m);
  assert_int_equal(finding(&m, "pulse-deficit")->urgency, GIRTHLINE_BEFORE_WORK);
  done(&m);
}

static void recovery_is_told_in_the_order_of_time_and_to_its_published_minutes(void **state) {
  (void)state;
  static const struct { const char *minutes, *says; } ROWS[] = {
      {"14.9", "too early"}, {"15", "slower than published for light work; after hard work it is not late yet"}, {"29.9", "not late yet"},
      {"30", "at the end of what is published for hard work"}, {"45", "at the end of what"}, {"45.1", "slower than published for light and for hard work"}};
  for (int i = 0; i < 6; i++) {
    made m = series(40, 60, ROWS[i].minutes);
    if (!strstr(finding(&m, "recovery")->text, ROWS[i].says)) fail_msg("%s", finding(&m, "recovery")->text);
    done(&m);
  }
  made m = make(HORSE PULMONIC AFTER("30") AFTER("5") AFTER("10"));
  result(&m, 3)->quality.grade = GIRTHLINE_UNUSABLE;
  together(&m);
  assert_near(m.x->recovery[0].minutes_after_exercise, 5, 0);
  assert_near(m.x->recovery[1].minutes_after_exercise, 10, 0);
  assert_near(m.x->recovery[2].minutes_after_exercise, 30, 0);
  assert_true(isnan(m.x->recovery[1].bpm)); // an unusable recording's rate is none
  assert_non_null(strstr(finding(&m, "rhythm-after-exercise")->text, "Recordings after exercise in which it was not determined: 1."));
  assert_non_null(strstr(finding(&m, "rhythm-after-exercise")->text, "Pauses heard after exercise: 2."));
  assert_null(strstr(finding(&m, "rhythm-after-exercise")->text, "Pauses at rest"));
  done(&m);
}

static void beats_that_come_early_after_exercise_are_told_before_work(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AFTER("5"));
  regular(result(&m, 1));
  result(&m, 1)->rhythm.n_early = 1;
  together(&m);
  assert_non_null(strstr(finding(&m, "rhythm-after-exercise")->text, "Beats that came early: 1."));
  assert_int_equal(finding(&m, "rhythm-after-exercise")->urgency, GIRTHLINE_BEFORE_WORK);
  done(&m);
}

static void one_file_named_for_two_places_is_told_first(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC MITRAL);
  together(&m);
  for (size_t i = 0; i < m.x->n_findings; i++) assert_string_not_equal(m.x->findings[i].kind, "recording-repeated"); // no hash is none's
  done(&m);
  m = make(HORSE PULMONIC AORTIC MITRAL);
  for (size_t i = 0; i < 3; i++) {
    snprintf(m.x->recordings[i].hash, sizeof m.x->recordings[i].hash, "xxh3-128:%d", i == 1);
    regular(result(&m, i));
    result(&m, i)->murmur.n_phases = 0, result(&m, i)->murmur.present = GIRTHLINE_NO;
  }
  together(&m);
  const gn_exam_finding *f = finding(&m, "recording-repeated");
  assert_string_equal(f->keys[0], "/recordings/2/report/recording/content_hash");
  assert_int_equal(f->n_keys, 1);
  assert_true(f < finding(&m, "murmur-none"));
  char words[300];
  snprintf(words, sizeof words, "The recordings %s and %s are one and the same", m.exam->recordings[0].name, m.exam->recordings[2].name);
  assert_non_null(strstr(f->text, words));
  done(&m);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(measures_are_pooled_within_recordings),
      cmocka_unit_test(the_surest_of_recordings_alike_gives_the_confidence),
      cmocka_unit_test(a_rate_at_the_range_s_end_is_within),
      cmocka_unit_test(a_recording_s_second_murmur_and_one_after_exercise_are_heard_too),
      cmocka_unit_test(an_area_of_a_side_that_was_recorded_elsewhere_is_called_missing),
      cmocka_unit_test(the_most_urgent_of_what_recordings_ask_for_is_kept),
      cmocka_unit_test(a_murmur_s_words_go_by_the_animal_and_its_rhythm),
      cmocka_unit_test(signs_are_judged_from_both_sides_of_their_limits),
      cmocka_unit_test(recovery_is_told_in_the_order_of_time_and_to_its_published_minutes),
      cmocka_unit_test(beats_that_come_early_after_exercise_are_told_before_work),
      cmocka_unit_test(one_file_named_for_two_places_is_told_first),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
