// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <ctype.h>

#include "finding.h"

static bool says(const char *text, const char *word) { return strcasestr(text, word) != NULL; }

static bool names_an_examination(const char *advice) { return says(advice, "ECG") || says(advice, "echocardiography") || says(advice, "clinical examination"); }

// What holds for every finding whatever was measured.
static void hold_to_the_wording(const girthline_result *r) {
  assert_true(r->n_findings > 0);
  const bool uneven = r->rhythm.n_pauses > 0 || r->rhythm.pattern == GIRTHLINE_PAUSES || r->rhythm.pattern == GIRTHLINE_IRREGULAR || r->rhythm.pattern == GIRTHLINE_EARLY_BEATS;
  for (size_t i = 0; i < r->n_findings; i++) {
    const girthline_finding *f = &r->findings[i];
    assert_true(f->kind && f->kind[0] && f->text[0] && f->evidence[0] && f->advice[0]);
    assert_true(strlen(f->text) < 1190 && strlen(f->evidence) < 1590 && strlen(f->advice) < 1190); // nothing was cut
    const char *const parts[] = {f->text, f->evidence, f->advice};
    for (size_t k = 0; k < 3; k++) {
      assert_false(says(parts[k], "diagnos"));
      assert_false(says(parts[k], " has atrial fibrillation") || says(parts[k], "suffers"));
      assert_false(says(parts[k], "nan") || says(parts[k], "inf)"));
      assert_true(ispunct((unsigned char)parts[k][strlen(parts[k]) - 1]));
    }
    if (f->urgency > GIRTHLINE_ROUTINE) assert_true(names_an_examination(f->advice));
    if (r->settings.species == GIRTHLINE_HUMAN) assert_true(f->urgency == GIRTHLINE_ROUTINE && says(f->advice, "research and teaching only"));
    // "exercise" in advice only as a thing left to the veterinarian, as what does not exclude disease, or as the past.
    for (const char *at = f->advice; uneven && (at = strcasestr(at, "exercise")) != NULL; at += 8) {
      const bool left = !strncmp(at, "exercise only on a veterinarian's decision", 42);
      const bool warns = !strncmp(at, "exercise do not exclude disease", 31);
      assert_true(left || warns);
    }
    assert_false(says(f->advice, "lunge") || says(f->advice, "trot") || says(f->advice, "work the horse"));
    assert_true(f->n_evidence_keys > 0);
    for (size_t k = 0; k < f->n_evidence_keys; k++) assert_true(f->evidence_keys[k][0] == '/');
    if (i > 0) assert_true(f->urgency <= r->findings[i - 1].urgency);
  }
}

static girthline_result *put(girthline_result *r) {
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  hold_to_the_wording(r);
  return r;
}

typedef void change(girthline_result *r);
static void nothing_known(girthline_result *r) {
  r->rate.bpm = r->rate.mean_bpm = r->rate.settled_bpm = r->rate.min_bpm = r->rate.max_bpm = NAN;
  r->rate.standing = GIRTHLINE_STANDING_UNKNOWN;
  r->rhythm.pattern = GIRTHLINE_PATTERN_UNDETERMINED;
  r->rhythm.explanation[0] = '\0';
  r->rhythm.rmssd_ms = r->rhythm.longest_interval_s = r->rhythm.interval_cv_percent = NAN;
  r->murmur.present = GIRTHLINE_UNKNOWN;
  r->murmur.detection_limit_db[0] = r->murmur.detection_limit_db[1] = NAN;
  r->quality.grade = GIRTHLINE_UNUSABLE;
  r->quality.heart_to_noise_db = NAN;
}
static void slow(girthline_result *r) { set_rate(r, 20, GIRTHLINE_BELOW); }
static void fast(girthline_result *r) { set_rate(r, 90, GIRTHLINE_ABOVE); }
static void exercised(girthline_result *r) { set_rate(r, 80, GIRTHLINE_STANDING_UNKNOWN), r->settings.minutes_after_exercise = 50; }
static void one_pause(girthline_result *r) { set_pauses(r, 1, 2, 10); }
static void long_pauses(girthline_result *r) { set_pauses(r, 3, 2.9, 10); }
static void early_ones(girthline_result *r) { set_early(r, 4, false); }
static void early_run(girthline_result *r) { set_early(r, 3, true); }
static void no_order(girthline_result *r) { r->rhythm.pattern = GIRTHLINE_IRREGULAR, r->rhythm.rmssd_ms = 600; }
static void no_order_fast(girthline_result *r) { no_order(r), set_rate(r, 90, GIRTHLINE_ABOVE); }
static void breathing(girthline_result *r) { r->rhythm.pattern = GIRTHLINE_CYCLIC, r->quality.breaths_per_min = 14; }
static void s3(girthline_result *r) { add_extra(r, GIRTHLINE_EXTRA_S3); }
static void s4(girthline_result *r) { add_extra(r, GIRTHLINE_EXTRA_S4); }
static void split1(girthline_result *r) { add_extra(r, GIRTHLINE_SPLIT_S1); }
static void split2(girthline_result *r) { add_extra(r, GIRTHLINE_SPLIT_S2); }
static void click(girthline_result *r) { add_extra(r, GIRTHLINE_CLICK); }
static void settled(girthline_result *r) { r->rate.settled_from_s = 20, r->rate.max_bpm = 48, r->rate.mean_bpm = 40; }
static void assumed(girthline_result *r) { r->settings.species_assumed = true, r->beats_given = true, r->quality.usable_s = 12; }
static void poor(girthline_result *r) { r->quality.grade = GIRTHLINE_POOR, strcpy(r->quality.grade_reason, "Breathing covers half of it."); }
static void systolic(girthline_result *r) { set_murmur(r, flow_murmur()); }
static void holo(girthline_result *r) {
  girthline_murmur_phase p = flow_murmur();
  p.timing = GIRTHLINE_HOLO, p.shape = GIRTHLINE_PLATEAU, p.loudness = GIRTHLINE_LOUDER, p.musical = GIRTHLINE_YES;
  set_murmur(r, p);
  r->settings.side = GIRTHLINE_LEFT, r->settings.area = GIRTHLINE_MITRAL;
}
static void diastolic(girthline_result *r) {
  girthline_murmur_phase p = flow_murmur();
  p.phase = GIRTHLINE_DIASTOLE, p.timing = GIRTHLINE_HOLO;
  set_murmur(r, p);
}
static void continuous(girthline_result *r) {
  girthline_murmur_phase p = flow_murmur();
  p.phase = GIRTHLINE_CONTINUOUS, p.timing = GIRTHLINE_HOLO;
  set_murmur(r, p);
}
static void as_it_is(girthline_result *r) { (void)r; }
static change *const CHANGES[] = {as_it_is, nothing_known, slow, fast, exercised, one_pause, long_pauses, early_ones, early_run, no_order, no_order_fast, breathing, s3, s4,
                                  split1, split2, click, settled, assumed, poor, systolic, holo, diastolic, continuous};
#define N_CHANGES (sizeof CHANGES / sizeof *CHANGES)

static void every_finding_of_every_species_holds_to_the_wording(void **state) {
  (void)state;
  for (int s = 0; s < GIRTHLINE_N_SPECIES; s++)
    for (size_t a = 0; a < N_CHANGES; a++)
      for (size_t b = 0; b < 12; b += 1) { // rate and rhythm together with each other case
        if (a == b || (a >= 5 && a <= 8) || ((b >= 5 && b <= 8) && a < 12 && a != 0)) continue;
        girthline_result *r = healthy_horse();
        r->settings.species = (girthline_species)s;
        CHANGES[b](r);
        CHANGES[a](r);
        girthline_result_free(put(r));
      }
}

static void an_unusable_recording_has_one_finding_on_the_heart_that_claims_nothing(void **state) {
  (void)state;
  girthline_result *r = put(gn_result_new());
  assert_int_equal(r->n_findings, 2);
  assert_true(says(finding_of(r, "recording-unusable")->text, "rate, rhythm and murmurs stay open"));
  assert_true(says(finding_of(r, "recording-unusable")->advice, "has not gone"));
  assert_non_null(finding_of(r, "species-assumed"));
  girthline_result_free(r);
  r = healthy_horse();
  no_order_fast(r), holo(r), s3(r);
  r->quality.grade = GIRTHLINE_UNUSABLE;
  put(r);
  assert_int_equal(r->n_findings, 1);
  assert_int_equal(r->findings[0].urgency, GIRTHLINE_ROUTINE);
  assert_true(says(r->findings[0].text, "Something like a murmur was heard") && !says(r->findings[0].text, "murmurs stay open"));
  girthline_result_free(r);
}

// What a recording does not carry is not called, and asks for a better recording.
static void hold_to_doubt(girthline_result *r, const char *kind) {
  put(r);
  const girthline_finding *f = finding_of(r, kind);
  assert_true(f && f->urgency == GIRTHLINE_ROUTINE && says(f->text, "does not carry that") && says(f->advice, "Record again"));
  assert_false(says(f->advice, "before any work") || says(f->advice, "ride"));
  girthline_result_free(r);
}

static void a_poor_recording_carries_no_confident_advice(void **state) {
  (void)state;
  static const struct {
    change *made;
    const char *kind;
  } CASES[] = {{slow, "rate-below"},     {fast, "rate-above"},       {long_pauses, "pauses"}, {early_run, "early-beats"}, {no_order, "irregular"},
               {no_order_fast, "irregular"}, {breathing, "cyclic"}, {holo, "murmur-systole"}, {diastolic, "murmur-diastole"}, {click, "click"}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    girthline_result *r = healthy_horse();
    CASES[i].made(r), poor(r);
    hold_to_doubt(r, CASES[i].kind);
  }
}

static void a_pattern_or_murmur_of_low_confidence_is_not_called(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  no_order(r), r->rhythm.confidence = 0.69;
  hold_to_doubt(r, "irregular");
  r = healthy_horse();
  holo(r), r->murmur.phases[0].confidence = 0.69;
  hold_to_doubt(r, "murmur-systole");
}

static void what_asks_for_something_comes_first_and_what_is_usual_last(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  one_pause(r), s4(r), r->settings.species_assumed = true, r->quality.usable_s = 20;
  put(r);
  assert_string_equal(r->findings[0].kind, "pauses");
  assert_string_equal(r->findings[r->n_findings - 2].kind, "species-assumed");
  assert_string_equal(r->findings[r->n_findings - 1].kind, "recording-short");
  girthline_result_free(r);
  r = healthy_horse(); // rate and rhythm as usual are one finding
  put(r);
  assert_int_equal(r->n_findings, 2);
  assert_true(says(finding_of(r, "regular")->text, "regular at 36 a minute, within the usual range at rest."));
  girthline_result_free(r);
}

static void usual_sounds_of_a_horse_are_one_short_finding(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  r->extras = gn_new(3, sizeof *r->extras);
  r->n_extras = 3;
  const girthline_extra_kind kinds[] = {GIRTHLINE_EXTRA_S3, GIRTHLINE_EXTRA_S4, GIRTHLINE_SPLIT_S2};
  for (size_t i = 0; i < 3; i++) r->extras[i] = (girthline_extra){.kind = kinds[i], .beats_fraction = 0.5, .delay_s = 0.15, .level_db = -12, .confidence = 0.9};
  put(r);
  assert_string_equal(finding_of(r, "extra-S3")->text, "An S3 and an S4 and a split S2 are heard, as in many healthy horses.");
  assert_null(finding_of(r, "extra-S4"));
  assert_null(finding_of(r, "split-S2"));
  girthline_result_free(r);
}

static void numbers_below_zero_carry_a_minus(void **state) {
  (void)state;
  girthline_result *r = put(healthy_horse());
  assert_true(says(finding_of(r, "murmur-none")->text, "none above \xE2\x88\x92" "20 dB in systole"));
  assert_true(says(finding_of(r, "regular")->evidence, "52 \xC2\xB1 25 ms (Li\xC3\xA8" "ge"));
  girthline_result_free(r);
}

static girthline_result *with(change *c, girthline_species species) {
  girthline_result *r = healthy_horse();
  r->settings.species = species;
  c(r);
  return put(r);
}

static void s3_and_s4_are_normal_in_a_horse_and_not_in_a_dog_or_cat(void **state) {
  (void)state;
  change *const sounds[] = {s3, s4};
  const char *const kinds[] = {"extra-S3", "extra-S4"};
  for (int k = 0; k < 2; k++) {
    girthline_result *r = with(sounds[k], GIRTHLINE_HORSE);
    assert_int_equal(finding_of(r, kinds[k])->urgency, GIRTHLINE_ROUTINE);
    assert_true(says(finding_of(r, kinds[k])->text, "healthy"));
    girthline_result_free(r);
    for (girthline_species s = GIRTHLINE_DOG; s <= GIRTHLINE_CAT; s++) {
      r = with(sounds[k], s);
      assert_int_equal(finding_of(r, kinds[k])->urgency, GIRTHLINE_SOON);
      assert_true(says(finding_of(r, kinds[k])->text, "not expected") && says(finding_of(r, kinds[k])->advice, "echocardiography"));
      girthline_result_free(r);
    }
  }
}

static void breathing_arrhythmia_is_marked_in_dogs_and_less_so_in_horses(void **state) {
  (void)state;
  girthline_result *r = with(breathing, GIRTHLINE_DOG);
  assert_true(says(finding_of(r, "cyclic")->text, "normal and often marked"));
  girthline_result_free(r);
  r = with(breathing, GIRTHLINE_HORSE);
  assert_true(says(finding_of(r, "cyclic")->text, "less marked"));
  girthline_result_free(r);
}

static void pauses_ask_for_an_ecg_at_rest_first_and_longer_ones_soon(void **state) {
  (void)state;
  girthline_result *r = with(one_pause, GIRTHLINE_HORSE);
  const girthline_finding *f = finding_of(r, "pauses");
  assert_int_equal(f->urgency, GIRTHLINE_ROUTINE);
  assert_true(says(f->advice, "An ECG at rest first; exercise only on a veterinarian's decision."));
  assert_true(says(f->advice, "Pauses that vanish with exercise do not exclude disease."));
  girthline_result_free(r);
  r = with(long_pauses, GIRTHLINE_HORSE);
  assert_int_equal(finding_of(r, "pauses")->urgency, GIRTHLINE_SOON);
  girthline_result_free(r);
  r = healthy_horse();
  set_pauses(r, 2, 2.0, 3.2); // the second begins where the first ends
  put(r);
  assert_int_equal(finding_of(r, "pauses")->urgency, GIRTHLINE_SOON);
  assert_true(says(finding_of(r, "pauses")->text, "follow each other"));
  girthline_result_free(r);
  r = healthy_horse();
  set_pauses(r, 1, 4.0, 3.2);
  put(r);
  assert_int_equal(finding_of(r, "pauses")->urgency, GIRTHLINE_BEFORE_WORK);
  girthline_result_free(r);
}

static void an_irregular_heart_waits_for_its_ecg_before_work(void **state) {
  (void)state;
  girthline_result *r = with(no_order, GIRTHLINE_HORSE);
  const girthline_finding *f = finding_of(r, "irregular");
  assert_int_equal(f->urgency, GIRTHLINE_BEFORE_WORK);
  assert_true(says(f->text, "commonly seen with atrial fibrillation") && says(f->evidence, "Broux") && says(f->evidence, "215 ms"));
  assert_true(says(f->advice, "ride or sedate"));
  girthline_result_free(r);
  r = with(no_order_fast, GIRTHLINE_HORSE);
  assert_int_equal(r->findings[0].urgency, GIRTHLINE_NOW);
  girthline_result_free(r);
}

static void a_slow_heart_may_be_a_block_too(void **state) {
  (void)state;
  girthline_result *r = with(slow, GIRTHLINE_HORSE);
  const girthline_finding *f = finding_of(r, "rate-below");
  assert_true(says(f->text, "may be a block too") && says(f->advice, "ECG at rest") && f->urgency >= GIRTHLINE_SOON);
  girthline_result_free(r);
  r = healthy_horse();
  set_rate(r, 26, GIRTHLINE_BELOW);
  put(r);
  assert_int_equal(finding_of(r, "rate-below")->urgency, GIRTHLINE_ROUTINE);
  girthline_result_free(r);
}

static void two_rates_are_shown_where_they_differ_by_over_five_per_cent(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  r->rate.mean_bpm = 34.5;
  assert_null(finding_of(put(r), "rate-mean-differs"));
  girthline_result_free(r);
  r = healthy_horse();
  r->rate.mean_bpm = 34;
  assert_non_null(strstr(finding_of(put(r), "rate-mean-differs")->evidence, "They differ by 6 %.")); // 2 of 34
  girthline_result_free(r);
}

static void a_young_animal_without_an_age_is_asked_for_it(void **state) {
  (void)state;
  for (int k = 0; k < 2; k++) {
    girthline_result *r = healthy_horse();
    r->settings.species = k ? GIRTHLINE_CALF : GIRTHLINE_FOAL;
    set_rate(r, 90, GIRTHLINE_STANDING_UNKNOWN);
    put(r);
    assert_non_null(finding_of(r, "rate-needs-age"));
    assert_null(finding_of(r, "rate-above"));
    girthline_result_free(r);
  }
}

// 44.3 a minute against 28 to 44: both are written as whole numbers.
static void a_rate_that_rounds_into_the_range_is_just_outside(void **state) {
  (void)state;
  static const struct { double bpm; girthline_standing standing; const char *kind, *words; } CASES[] = {
      {44.3, GIRTHLINE_ABOVE, "rate-above", "44 a minute, just above"}, {44.6, GIRTHLINE_ABOVE, "rate-above", "45 a minute, above"},
      {27.6, GIRTHLINE_BELOW, "rate-below", "28 a minute, just below"}, {27.4, GIRTHLINE_BELOW, "rate-below", "27 a minute, below"}};
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    girthline_result *r = healthy_horse();
    set_rate(r, CASES[k].bpm, CASES[k].standing);
    r->rate.usual_range_bpm[0] = 28, r->rate.usual_range_bpm[1] = 44;
    put(r);
    assert_true(says(finding_of(r, CASES[k].kind)->text, CASES[k].words));
    girthline_result_free(r);
  }
}

// The page shows 96 of 95.497: from the two places of the JSON report, as each finding has to.
static void a_finding_rounds_as_the_page_does(void **state) {
  (void)state;
  static const struct { double bpm; girthline_standing standing; girthline_pattern pattern; const char *words; } CASES[] = {
      {44.497, GIRTHLINE_ABOVE, GIRTHLINE_REGULAR, "The rate is 45 a minute, above"},
      {26.497, GIRTHLINE_BELOW, GIRTHLINE_REGULAR, "The rate is 27 a minute, below"},
      {35.497, GIRTHLINE_WITHIN, GIRTHLINE_IRREGULAR, "The rate is 36 a minute, within"},
      {35.497, GIRTHLINE_WITHIN, GIRTHLINE_REGULAR, "regular at 36 a minute"}};
  for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
    girthline_result *r = healthy_horse();
    set_rate(r, CASES[k].bpm, CASES[k].standing);
    r->rhythm.pattern = CASES[k].pattern;
    put(r);
    bool said = false;
    for (size_t i = 0; i < r->n_findings; i++) said = said || says(r->findings[i].text, CASES[k].words);
    if (!said) fail_msg("\"%s\" is not said", CASES[k].words);
    girthline_result_free(r);
  }
  girthline_result *r = healthy_horse();
  set_rate(r, 95.497, GIRTHLINE_STANDING_UNKNOWN);
  r->settings.minutes_after_exercise = 2.5;
  r->rhythm.rmssd_ms = 13.47;
  put(r);
  assert_true(says(finding_of(r, "rate-after-exercise")->text, "2.5 minutes after exercise the rate is 96 a minute"));
  assert_true(says(finding_of(r, "regular")->evidence, "RMSSD 14 ms"));
  girthline_result_free(r);
}

static void recovery_after_exercise_is_not_held_against_rest(void **state) {
  (void)state;
  girthline_result *r = with(exercised, GIRTHLINE_HORSE);
  assert_null(finding_of(r, "rate-above"));
  assert_int_equal(finding_of(r, "rate-after-exercise")->urgency, GIRTHLINE_SOON); // 80 a minute after 50 minutes
  girthline_result_free(r);
  r = healthy_horse();
  set_rate(r, 90, GIRTHLINE_STANDING_UNKNOWN);
  r->settings.minutes_after_exercise = 1;
  put(r);
  assert_int_equal(finding_of(r, "rate-after-exercise")->urgency, GIRTHLINE_ROUTINE);
  assert_true(says(finding_of(r, "rate-after-exercise")->text, "1 minute after exercise"));
  girthline_result_free(r);
}

// Series B of the hand-checked ones: every fourth beat dropped gives an RMSSD of 1079 ms, more than fibrillation's.
static void pauses_are_told_from_fibrillation_by_more_than_rmssd(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  set_pauses(r, 3, 2, 10);
  r->rhythm.rmssd_ms = 1079;
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  const girthline_finding *f = finding_of(r, "pauses");
  assert_non_null(f);
  assert_null(finding_of(r, "irregular"));
  assert_non_null(strstr(f->evidence, "1079 ms"));
  assert_non_null(strstr(f->evidence, "215 ms"));
  assert_non_null(strstr(f->evidence, "Broux"));
  assert_non_null(strstr(f->evidence, "repeat"));
  girthline_result_free(r);
}

// Flethoj et al. 2016: 20 % under 60 a minute, 10 % from 60 to 100, 4 % above.
static void an_early_beat_is_held_against_the_limit_of_its_rate(void **state) {
  (void)state;
  const double bpm[] = {36, 80, 120};
  const char *const limit[] = {"limit is 20 %", "limit is 10 %", "limit is 4 %"};
  for (int i = 0; i < 3; i++) {
    girthline_result *r = healthy_horse();
    set_early(r, 2, false);
    r->rate.bpm = r->rate.mean_bpm = bpm[i];
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, "early-beats");
    assert_non_null(f);
    assert_non_null(strstr(f->evidence, limit[i]));
    assert_non_null(strstr(f->evidence, "38 % early, beyond it"));
    girthline_result_free(r);
  }
}

static void no_advice_prompts_to_exercise_a_horse_with_pauses_or_an_irregular_rhythm(void **state) {
  (void)state;
  for (int i = 0; i < 3; i++) {
    girthline_result *r = healthy_horse();
    if (i == 0) set_pauses(r, 2, 2, 10);
    if (i == 1) no_order(r);
    if (i == 2) set_pauses(r, 2, 3, 10);
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, i == 1 ? "irregular" : "pauses");
    assert_non_null(f);
    assert_non_null(strstr(f->advice, "ECG at rest first; exercise only on a veterinarian's decision"));
    if (i != 1) assert_non_null(strstr(f->advice, "vanish with exercise do not exclude disease"));
    if (i == 2) assert_true(f->urgency >= GIRTHLINE_SOON);
    for (size_t k = 0; k < r->n_findings; k++) { // exercise is named only where it is forbidden or explained
      const char *at = r->findings[k].advice;
      while (at && (at = strstr(at, "exercise"))) {
        assert_true(!strncmp(at, "exercise only", 13) || !strncmp(at, "exercise do not", 15));
        at++;
      }
    }
    girthline_result_free(r);
  }
}

static void a_murmur_not_determined_has_not_gone_and_a_thrill_cannot_be_heard(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  r->murmur.present = GIRTHLINE_UNKNOWN;
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  assert_non_null(strstr(finding_of(r, "murmur-undetermined")->advice, "has not gone"));
  girthline_result_free(r);
  r = healthy_horse();
  set_murmur(r, flow_murmur());
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  assert_non_null(strstr(finding_of(r, "murmur-systole")->evidence, "thrill cannot be heard"));
  girthline_result_free(r);
}

static void refused_memory_is_reported_wherever_it_strikes(void **state) {
  (void)state;
  girthline_status status = GIRTHLINE_NO_MEMORY;
  size_t k = 1;
  for (; status != GIRTHLINE_OK && k < 400; k++) {
    girthline_result *r = healthy_horse();
    holo(r), settled(r), s3(r), set_pauses(r, 2, 2, 10), poor(r), assumed(r);
    gn_memory_refuse(k);
    status = gn_findings_run(r);
    gn_memory_refuse(0);
    assert_true(status == GIRTHLINE_OK || status == GIRTHLINE_NO_MEMORY);
    girthline_result_free(r);
  }
  assert_true(status == GIRTHLINE_OK && k > 20);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_finding_of_every_species_holds_to_the_wording),
      cmocka_unit_test(an_unusable_recording_has_one_finding_on_the_heart_that_claims_nothing),
      cmocka_unit_test(a_poor_recording_carries_no_confident_advice),
      cmocka_unit_test(a_pattern_or_murmur_of_low_confidence_is_not_called),
      cmocka_unit_test(what_asks_for_something_comes_first_and_what_is_usual_last),
      cmocka_unit_test(usual_sounds_of_a_horse_are_one_short_finding),
      cmocka_unit_test(numbers_below_zero_carry_a_minus),
      cmocka_unit_test(s3_and_s4_are_normal_in_a_horse_and_not_in_a_dog_or_cat),
      cmocka_unit_test(breathing_arrhythmia_is_marked_in_dogs_and_less_so_in_horses),
      cmocka_unit_test(pauses_ask_for_an_ecg_at_rest_first_and_longer_ones_soon),
      cmocka_unit_test(an_irregular_heart_waits_for_its_ecg_before_work),
      cmocka_unit_test(a_slow_heart_may_be_a_block_too),
      cmocka_unit_test(two_rates_are_shown_where_they_differ_by_over_five_per_cent),
      cmocka_unit_test(a_young_animal_without_an_age_is_asked_for_it),
      cmocka_unit_test(a_rate_that_rounds_into_the_range_is_just_outside),
      cmocka_unit_test(a_finding_rounds_as_the_page_does),
      cmocka_unit_test(recovery_after_exercise_is_not_held_against_rest),
      cmocka_unit_test(pauses_are_told_from_fibrillation_by_more_than_rmssd),
      cmocka_unit_test(an_early_beat_is_held_against_the_limit_of_its_rate),
      cmocka_unit_test(no_advice_prompts_to_exercise_a_horse_with_pauses_or_an_irregular_rhythm),
      cmocka_unit_test(a_murmur_not_determined_has_not_gone_and_a_thrill_cannot_be_heard),
      cmocka_unit_test(refused_memory_is_reported_wherever_it_strikes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
