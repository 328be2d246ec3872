// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "finding.h"

// What a reader is told in one case and not in the next: each sentence with the measure it hangs on.
typedef void make(girthline_result *r);
enum part { TEXT, EVIDENCE, ADVICE };
typedef struct row { make *made; girthline_species species; const char *kind; enum part part; const char *phrase; bool said; } row;

static void as_it_is(girthline_result *r) { (void)r; }
static void flow(girthline_result *r) { set_murmur(r, flow_murmur()); }
static void flow_right(girthline_result *r) { flow(r), r->settings.side = GIRTHLINE_RIGHT, r->settings.area = GIRTHLINE_TRICUSPID; }
static void holo(girthline_result *r) {
  flow(r);
  girthline_murmur_phase *p = r->murmur.phases;
  p->timing = GIRTHLINE_HOLO, p->shape = GIRTHLINE_PLATEAU, p->loudness = GIRTHLINE_LOUDER, p->musical = GIRTHLINE_YES;
}
static void diastolic(girthline_result *r) { flow(r), r->murmur.phases[0].phase = GIRTHLINE_DIASTOLE; }
static void continuous_poor(girthline_result *r) { flow(r), r->murmur.phases[0].phase = GIRTHLINE_CONTINUOUS, r->quality.grade = GIRTHLINE_POOR; }
static void no_limit_in_diastole(girthline_result *r) { r->murmur.detection_limit_db[1] = NAN; }
static void slow(girthline_result *r) { set_rate(r, 26, GIRTHLINE_BELOW); }
static void far_too_slow(girthline_result *r) { set_rate(r, 19, GIRTHLINE_BELOW); }
static void fast(girthline_result *r) { set_rate(r, 90, GIRTHLINE_ABOVE); }
static void fast_assumed(girthline_result *r) { fast(r), r->settings.species_assumed = true; }
static void settled(girthline_result *r) { r->rate.settled_from_s = 20, r->rate.max_bpm = 48, r->rate.min_bpm = 35; }
static void right_after(girthline_result *r) { set_rate(r, 90, GIRTHLINE_STANDING_UNKNOWN), r->settings.minutes_after_exercise = 0; }
static void long_after(girthline_result *r) { right_after(r), r->settings.minutes_after_exercise = 60; }
static void young(girthline_result *r) {
  set_rate(r, 80, GIRTHLINE_STANDING_UNKNOWN), r->settings.age_days = 100;
  assert_int_equal(gn_result_undetermine(r, "/rate/standing", "So young an animal is a foal."), 0);
}
static void no_age(girthline_result *r) { set_rate(r, 80, GIRTHLINE_STANDING_UNKNOWN); }
static void poor(girthline_result *r) { r->quality.grade = GIRTHLINE_POOR, r->quality.usable_s = 12; }
static void poor_clipped(girthline_result *r) { poor(r), r->quality.clipped_fraction = 0.1; }
static void all_spoilt(girthline_result *r) { poor(r), r->quality.usable_s = 0.4, r->quality.heart_to_noise_db = -3; }
static void silent(girthline_result *r) { r->quality.grade = GIRTHLINE_UNUSABLE, r->quality.silent = true, r->quality.usable_s = 0; }
static void one_limit(girthline_result *r) { r->limits.rhythm.pause_ratio = 1.7; }
static void eight_limits(girthline_result *r) {
  for (size_t i = 0; i < 8; i++) girthline_limit_set(girthline_limit_at(i), &r->limits, girthline_limit_at(i)->highest);
}
static void unsure_names(girthline_result *r) { set_names(r, 0.5f, 0.7f); }
static void holo_left(girthline_result *r) { holo(r), r->settings.side = GIRTHLINE_LEFT; }
static void holo_left_unsure(girthline_result *r) { holo_left(r), unsure_names(r); }
static void diastolic_unsure(girthline_result *r) { diastolic(r), unsure_names(r); }
static void unsure_names_given(girthline_result *r) { unsure_names(r), r->beats_given = true; }
static void no_order(girthline_result *r) { r->rhythm.pattern = GIRTHLINE_IRREGULAR, r->rhythm.rmssd_ms = 600; }
static void s4(girthline_result *r) { add_extra(r, GIRTHLINE_EXTRA_S4); }
static void no_order_s4(girthline_result *r) { no_order(r), s4(r); }
static void no_order_s3(girthline_result *r) { no_order(r), add_extra(r, GIRTHLINE_EXTRA_S3); }
static void no_order_no_rmssd(girthline_result *r) { no_order(r), r->rhythm.rmssd_ms = NAN; }
static void in_turn(girthline_result *r) { r->rhythm.pattern = GIRTHLINE_PATTERN_UNDETERMINED, r->rhythm.used_count = 20; }
static void in_turn_poor(girthline_result *r) { in_turn(r), poor(r); }
static void one_pause(girthline_result *r) { set_pauses(r, 1, 2, 10); }
static void long_pause(girthline_result *r) { set_pauses(r, 1, 3, 10); }
static void made_up_for(girthline_result *r) { set_pauses(r, 2, 1.65, 9), set_early(r, 2, false); } // a pause where each early beat is
static void made_up_for_once(girthline_result *r) { set_pauses(r, 2, 2, 9), set_early(r, 1, false); }
static void one_early_poor(girthline_result *r) { set_early(r, 1, false), poor(r); }
static void two_early_poor(girthline_result *r) { set_early(r, 2, false), poor(r); }
static void every_second_early(girthline_result *r) { set_early(r, 4, false), set_intervals(r, 9); }
static void two_of_four_early(girthline_result *r) { set_early(r, 2, false), set_intervals(r, 4); }
static void four_early(girthline_result *r) { set_early(r, 4, false), set_intervals(r, 10); }
static void every_second_long(girthline_result *r) { set_pauses(r, 4, 2, 9), set_intervals(r, 7); }
static void two_of_four_long(girthline_result *r) { set_pauses(r, 2, 2, 9), set_intervals(r, 4); }
static void four_in_a_row(girthline_result *r) { set_pauses(r, 4, 2, 3.2), set_intervals(r, 8); }
static void four_long(girthline_result *r) { set_pauses(r, 4, 2, 9), set_intervals(r, 10); }
static void fast_in_between(girthline_result *r) { fast(r), r->rate.mean_bpm = 43; }
static void fast_throughout(girthline_result *r) { fast(r), r->rate.mean_bpm = 45; }
static void fell_to_fast(girthline_result *r) { fast_in_between(r), settled(r); }
static void breathing(girthline_result *r) { r->rhythm.pattern = GIRTHLINE_CYCLIC, r->quality.breaths_per_min = 14; }
static void breathing_not_heard(girthline_result *r) { r->rhythm.pattern = GIRTHLINE_CYCLIC; }
static void s3(girthline_result *r) { add_extra(r, GIRTHLINE_EXTRA_S3); }
static void s3_only(girthline_result *r) { s3(r), r->extras[0].delay_s = r->extras[0].level_db = NAN; }
static void split2(girthline_result *r) { add_extra(r, GIRTHLINE_SPLIT_S2); }
static void click(girthline_result *r) { add_extra(r, GIRTHLINE_CLICK); }

#define HORSE GIRTHLINE_HORSE
#define FOAL GIRTHLINE_FOAL
#define DOG GIRTHLINE_DOG
static const row ROWS[] = {
    {flow, HORSE, "murmur-systole", TEXT, "A murmur lies in early systole, rising and falling and softer than the heart sounds.", true},
    {flow, HORSE, "murmur-systole", TEXT, "It sounds musical.", false},
    {flow, HORSE, "murmur-systole", TEXT, "It cannot be sorted from this recording.", true},
    {flow, HORSE, "murmur-systole", ADVICE, "Say on which side and at which valve area", true},
    {flow, HORSE, "murmur-systole", EVIDENCE, "Level \u221212 dB against S1. Over the beats \u221214 to \u221210 dB (95 %). Strongest near 140 Hz. In 95 % of the clean beats.", true},
    {flow_right, HORSE, "murmur-systole", ADVICE, "Say on which side and at which valve area", false},
    {flow_right, HORSE, "murmur-systole", TEXT, "Recorded on the right, tricuspid area.", true},
    {holo, HORSE, "murmur-systole", TEXT, "runs through the whole of systole, even and louder than the heart sounds. It sounds musical.", true},
    {flow, FOAL, "murmur-systole", EVIDENCE, "a duct that is still open", true},
    {flow, HORSE, "murmur-systole", EVIDENCE, "a duct that is still open", false},
    {diastolic, FOAL, "murmur-diastole", EVIDENCE, "a duct that is still open", false},
    {diastolic, FOAL, "murmur-diastole", TEXT, "older horses", false},
    {diastolic, HORSE, "murmur-diastole", TEXT, "above all in older horses", true},
    {continuous_poor, HORSE, "murmur-continuous", TEXT, "A steady sound of the room or the recorder looks alike.", true},
    {continuous_poor, HORSE, "murmur-continuous", ADVICE, "with the chest piece off the animal", true},
    {no_limit_in_diastole, HORSE, "murmur-none", TEXT, "none above", false},
    {no_limit_in_diastole, HORSE, "murmur-none", EVIDENCE, "in diastole", false},
    {as_it_is, HORSE, "murmur-none", EVIDENCE, "in systole: \u221220 dB against S1. Softest that could have been heard in diastole: \u221222 dB.", true},
    {slow, HORSE, "rate-below", EVIDENCE, "Usual at rest for horses: 28 to 44 a minute.", true},
    {slow, HORSE, "rate-below", TEXT, "Fit and quiet animals may run this slow", true},
    {slow, HORSE, "rate-below", ADVICE, "no sedation and no riding.", true},
    {slow, FOAL, "rate-below", TEXT, "no sign of fitness", true},
    {slow, FOAL, "rate-below", TEXT, "Fit and quiet", false},
    {slow, FOAL, "rate-below", ADVICE, "no sedation. A young animal that is dull or does not drink needs a veterinarian whatever its rate.", true},
    {slow, HORSE, "rate-below", ADVICE, "young animal", false},
    {far_too_slow, FOAL, "rate-below", ADVICE, "no sedation. With a rate this low, call a veterinarian now.", true},
    {far_too_slow, HORSE, "rate-below", ADVICE, "now", false},
    {far_too_slow, HORSE, "rate-below", TEXT, "Fit and quiet animals may run this slow", false},
    {far_too_slow, HORSE, "rate-below", ADVICE, "Check the species: horse was given", true},
    {slow, HORSE, "rate-below", ADVICE, "Check the species", false},
    {fast, HORSE, "rate-above", ADVICE, "Check the species: horse was given", true},
    {fast_assumed, HORSE, "rate-above", ADVICE, "Check the species", false},
    {fast, HORSE, "rate-above", EVIDENCE, "Under mild stress healthy horses", true},
    {fast, DOG, "rate-above", EVIDENCE, "Under mild stress healthy horses", false},
    {settled, HORSE, "rate-settled", TEXT, "steady from 20 s on, at 36 a minute", true},
    {settled, HORSE, "rate-settled", EVIDENCE, "Highest over 15 s: 48 a minute, lowest 35.", true},
    {right_after, HORSE, "rate-after-exercise", TEXT, "0 minutes after exercise the rate is 90 a minute", true},
    {right_after, HORSE, "rate-after-exercise", TEXT, "By now it would usually have come back", false},
    {long_after, HORSE, "rate-after-exercise", TEXT, "By now it would usually have come back", true},
    {young, HORSE, "rate-needs-species", ADVICE, "Analyse the recording again as that of a foal.", true},
    {young, HORSE, "rate-needs-species", EVIDENCE, "So young an animal is a foal.", true},
    {no_age, FOAL, "rate-needs-age", ADVICE, "Give the age in days.", true},
    {poor, HORSE, "recording-poor", EVIDENCE, "12 s of it were not spoilt. The heart sounds lie 20 dB over the quiet parts.", true},
    {all_spoilt, HORSE, "recording-poor", EVIDENCE, "All of it was spoilt. The heart sounds lie 3 dB under the quiet parts.", true},
    {poor, HORSE, "recording-poor", ADVICE, "Push the chest piece well forward behind the elbow", true},
    {poor, DOG, "recording-poor", ADVICE, "with the animal calm", true},
    {poor, HORSE, "recording-poor", ADVICE, "Set the recorder's level lower", false},
    {poor_clipped, HORSE, "recording-poor", ADVICE, "Set the recorder's level lower", true},
    {silent, HORSE, "recording-unusable", ADVICE, "Look at the cable, the battery", true},
    {silent, HORSE, "recording-unusable", ADVICE, "hair", false},
    {silent, DOG, "recording-unusable", ADVICE, "hair", false},
    {silent, HORSE, "recording-unusable", ADVICE, "has not gone", false},
    {silent, HORSE, "recording-unusable", EVIDENCE, "No two of its samples differ", true},
    {one_limit, HORSE, "settings-changed", TEXT, "1 of the method's limits was changed.", true},
    {one_limit, HORSE, "settings-changed", EVIDENCE, "rhythm.pause_ratio is 1.7, usually 1.6.", true},
    {one_limit, HORSE, "settings-changed", EVIDENCE, "more.", false},
    {eight_limits, HORSE, "settings-changed", TEXT, "8 of the method's limits were changed.", true},
    {eight_limits, HORSE, "settings-changed", EVIDENCE, "And 2 more.", true},
    {one_limit, HORSE, "settings-changed", ADVICE, "only with reports made with the same settings", true},
    {diastolic, HORSE, "murmur-diastole", TEXT, "commonly seen with a leak of the aortic valve", true},
    {diastolic_unsure, HORSE, "murmur-diastole", TEXT, "commonly seen with", false},
    {diastolic_unsure, HORSE, "murmur-diastole", TEXT, "It may lie in systole instead: the first and the second sound may be exchanged.", true},
    {holo_left, HORSE, "murmur-systole", EVIDENCE, "counts as regurgitation", true},
    {holo_left_unsure, HORSE, "murmur-systole", EVIDENCE, "counts as regurgitation", false},
    {holo_left_unsure, HORSE, "murmur-systole", TEXT, "It may lie in diastole instead: the first and the second sound may be exchanged.", true},
    {unsure_names, HORSE, "names-uncertain", EVIDENCE, "Mean confidence of the names: 0.60.", true},
    {unsure_names, HORSE, "names-uncertain", ADVICE, "Feel the pulse or the apex beat", true},
    {unsure_names_given, HORSE, "names-uncertain", TEXT, NULL, false},
    {no_order, HORSE, "irregular", EVIDENCE, "RMSSD 600 ms; healthy resting Warmbloods", true},
    {no_order, DOG, "irregular", EVIDENCE, "RMSSD 600 ms. ", true},
    {no_order_no_rmssd, DOG, "irregular", EVIDENCE, "RMSSD", false},
    {no_order, HORSE, "irregular", ADVICE, "Nobody should ride or sedate the animal before.", true},
    {no_order, FOAL, "irregular", ADVICE, "Nobody should sedate the animal before.", true},
    {no_order, DOG, "irregular", ADVICE, "Nobody should sedate the animal before.", true},
    {no_order, HORSE, "irregular", EVIDENCE, "No S4 was found; a missing S4 alone proves nothing.", true},
    {no_order_s3, HORSE, "irregular", EVIDENCE, "No S4 was found", true},
    {no_order_s4, HORSE, "irregular", EVIDENCE, "An S4 was heard, which speaks of atria that beat.", true},
    {in_turn, HORSE, "rhythm-uneven", EVIDENCE, "The intervals are even. Intervals are from heart sounds", true}, // what the rhythm stage says of them
    {in_turn, HORSE, "rhythm-uneven", ADVICE, "Record again", false},
    {in_turn, HORSE, "rhythm-uneven", ADVICE, "an ECG at rest settles it", true},
    {in_turn_poor, HORSE, "rhythm-uneven", TEXT, "but this recording does not carry that", true},
    {one_pause, HORSE, "pauses", TEXT, "There is one pause", true},
    {one_pause, HORSE, "pauses", TEXT, "second-degree AV block, which many fit resting horses have", true},
    {one_pause, DOG, "pauses", TEXT, "second-degree AV block", false},
    {one_pause, DOG, "pauses", TEXT, "less usual in dogs than in horses; a missed soft beat looks alike.", true},
    {one_pause, FOAL, "pauses", EVIDENCE, "resting ECGs of horses", false},
    {made_up_for, HORSE, "pauses", TEXT, "Each follows an early beat directly", true},
    {made_up_for, HORSE, "pauses", TEXT, "AV block", false},
    {made_up_for_once, HORSE, "pauses", TEXT, "Each follows", false},
    {made_up_for_once, HORSE, "pauses", TEXT, "second-degree AV block", true},
    {one_pause, HORSE, "pauses", EVIDENCE, "15 % of resting ECGs of horses", true},
    {one_pause, DOG, "pauses", EVIDENCE, "resting ECGs of horses", false},
    {long_pause, HORSE, "pauses", ADVICE, "ask for the ECG soon, before the animal is ridden or sedated.", true},
    {long_pause, FOAL, "pauses", ADVICE, "ask for the ECG soon, before the animal is sedated.", true},
    {one_pause, FOAL, "pauses", ADVICE, "sedated", false},
    {one_pause, HORSE, "pauses", EVIDENCE, "Intervals are from heart sounds, not from an ECG.", true},
    {every_second_early, HORSE, "early-beats", TEXT, "Every second beat comes early: short and long intervals come in turn.", true},
    {every_second_long, HORSE, "pauses", TEXT, "premature beats that each bring a pause make the same.", true},
    {four_long, HORSE, "pauses", TEXT, "premature", false},
    {two_of_four_long, HORSE, "pauses", TEXT, "premature", false}, // two may be chance
    {four_in_a_row, HORSE, "pauses", TEXT, "premature", false},    // directly: not in turn
    {two_of_four_early, HORSE, "early-beats", TEXT, "2 beats come early in an otherwise even rhythm.", true},
    {four_early, HORSE, "early-beats", TEXT, "4 beats come early in an otherwise even rhythm.", true},
    {fast_in_between, HORSE, "rate-above", TEXT, "This is the rate by the usual interval; counted over all beats it is 43, within the range.", true},
    {fast_throughout, HORSE, "rate-above", TEXT, "counted over all beats", false},
    {fell_to_fast, HORSE, "rate-above", TEXT, "counted over all beats", false},
    {one_early_poor, HORSE, "early-beats", TEXT, "An early beat was seen, but", true},
    {two_early_poor, HORSE, "early-beats", TEXT, "Early beats were seen, but", true},
    {breathing, HORSE, "cyclic", EVIDENCE, "The intervals are even. Breathing was heard 14 times a minute.", true},
    {breathing_not_heard, HORSE, "cyclic", EVIDENCE, "Breathing was heard", false},
    {breathing, DOG, "cyclic", ADVICE, "If it does not, an ECG settles it.", true},
    {breathing, HORSE, "cyclic", ADVICE, "Where it is marked or does not, an ECG at rest settles it", true},
    {s3, DOG, "extra-S3", TEXT, "An S3 is heard. In dogs an S3 is not expected at rest", true},
    {s3, DOG, "extra-S3", EVIDENCE, "In 80 % of the usable beats. Median 150 ms after S2. Level \u221212 dB against S1.", true},
    {s4, DOG, "extra-S4", EVIDENCE, "Median 150 ms before S1.", true},
    {s3_only, DOG, "extra-S3", EVIDENCE, "Median", false},
    {s3_only, DOG, "extra-S3", EVIDENCE, "Level", false},
    {split2, DOG, "split-S2", TEXT, "S2 is heard in two parts. A split sound may be normal", true},
    {click, HORSE, "click", TEXT, "A click is heard in systole. A click between the sounds is commonly seen with a valve leaf", true},
    {click, HORSE, "click", ADVICE, "Listen for a late systolic murmur after it", true},
    {s4, HORSE, "extra-S4", EVIDENCE, "An S4 in 80 % of the usable beats. Two, three or four sounds are heard in normal horses", true},
    {s4, GIRTHLINE_CATTLE, "extra-S4", EVIDENCE, "in normal horses, and", false},
};

static void each_sentence_is_told_where_its_measure_says_so(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    girthline_result *r = healthy_horse();
    r->settings.species = ROWS[i].species;
    ROWS[i].made(r);
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, ROWS[i].kind);
    const char *text = !f ? "" : ROWS[i].part == TEXT ? f->text : ROWS[i].part == EVIDENCE ? f->evidence : f->advice;
    const bool said = ROWS[i].phrase ? strstr(text, ROWS[i].phrase) != NULL : f != NULL;
    if (said != ROWS[i].said || (ROWS[i].phrase && !f)) print_error("row %zu, %s: \"%s\" %s in: %s\n", i, ROWS[i].kind, ROWS[i].phrase ? ROWS[i].phrase : "", said ? "is" : "is not", text);
    assert_true(said == ROWS[i].said && (f || !ROWS[i].phrase));
    girthline_result_free(r);
  }
}

// The fields a finding rests on, for a reader who goes back to the numbers.
static const struct { make *made; const char *kind, *keys; } KEYS[] = {
    {slow, "rate-below", "/rate/settled_bpm /rate/usual_range_bpm"}, {fast, "rate-above", "/rate/settled_bpm /rate/usual_range_bpm"},
    {settled, "rate-settled", "/rate/settled_bpm /rate/settled_from_s"}, {right_after, "rate-after-exercise", "/recording/minutes_after_exercise /rate/bpm"},
    {one_pause, "rate-within", "/rate/settled_bpm /rate/usual_range_bpm"}, {young, "rate-needs-species", "/rate/settled_bpm /rate/standing"},
    {one_pause, "pauses", "/rhythm/pauses /rhythm/longest_interval_s /rhythm/rmssd_ms"}, {two_early_poor, "early-beats", "/rhythm/early /rhythm/intervals"},
    {no_order, "irregular", "/rhythm/pattern /rhythm/interval_cv_percent /rhythm/rmssd_ms"},
    {breathing, "cyclic", "/rhythm/pattern /rhythm/explanation /quality/breaths_per_min"}, {as_it_is, "regular", "/rhythm/pattern /rhythm/intervals /rhythm/rmssd_ms"},
    {s4, "extra-S4", "/extra_sounds"}, {as_it_is, "murmur-none", "/murmur/present /murmur/detection_limit_db"},
    {flow, "murmur-systole", "/murmur/phases/0 /recording/side /recording/area /rate/standing"},
    {poor, "recording-poor", "/quality/grade /quality/usable_s /quality/heart_to_noise_db"}, {one_limit, "settings-changed", "/tool/settings_hash"},
    {unsure_names, "names-uncertain", "/beats"},
};

static void a_finding_names_the_fields_it_rests_on(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof KEYS / sizeof *KEYS; i++) {
    girthline_result *r = healthy_horse();
    KEYS[i].made(r);
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, KEYS[i].kind);
    char keys[300] = "";
    assert_non_null(f);
    for (size_t k = 0; k < f->n_evidence_keys; k++) snprintf(keys + strlen(keys), sizeof keys - strlen(keys), "%s%s", k ? " " : "", f->evidence_keys[k]);
    assert_string_equal(keys, KEYS[i].keys);
    girthline_result_free(r);
  }
}

// A horse of a year is adult and may have a flow murmur; a day before that it is a foal.
static void a_horse_is_adult_from_its_first_birthday(void **state) {
  (void)state;
  for (int day = 364; day <= 365; day++) {
    girthline_result *r = healthy_horse();
    flow(r);
    r->settings.side = GIRTHLINE_LEFT, r->settings.area = GIRTHLINE_PULMONIC, r->settings.age_days = day;
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    assert_int_equal(strstr(finding_of(r, "murmur-systole")->text, "It fits the pattern of a flow murmur") != NULL, day == 365);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_sentence_is_told_where_its_measure_says_so),
      cmocka_unit_test(a_finding_names_the_fields_it_rests_on),
      cmocka_unit_test(a_horse_is_adult_from_its_first_birthday),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
