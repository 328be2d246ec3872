// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "finding.h"

// What a finding asks for and when, at both sides of every limit that decides it. The usual range of a resting horse is 28 to 44.
typedef void make(girthline_result *r, double x);
typedef struct row { make *made; double x; const char *kind; girthline_urgency urgency; } row;

static void rate_below(girthline_result *r, double bpm) { set_rate(r, bpm, GIRTHLINE_BELOW); }
static void foals_rate_below(girthline_result *r, double bpm) { rate_below(r, bpm), r->settings.species = GIRTHLINE_FOAL; }
static void rate_above(girthline_result *r, double bpm) { set_rate(r, bpm, GIRTHLINE_ABOVE); }
static void irregular_at(girthline_result *r, double bpm) { r->rhythm.pattern = GIRTHLINE_IRREGULAR, set_rate(r, bpm, GIRTHLINE_ABOVE); }
static void irregular_after_work(girthline_result *r, double bpm) { irregular_at(r, bpm), r->settings.minutes_after_exercise = 2; }
static void pause_of(girthline_result *r, double ratio) { set_pauses(r, 1, ratio, 30); }
static void dogs_pause(girthline_result *r, double ratio) { pause_of(r, ratio), r->settings.species = GIRTHLINE_DOG; }
static void donkeys_pause(girthline_result *r, double ratio) { pause_of(r, ratio), r->settings.species = GIRTHLINE_DONKEY; }
static void foals_pause(girthline_result *r, double ratio) { pause_of(r, ratio), r->settings.species = GIRTHLINE_FOAL; }
static void four_among(girthline_result *r, double n) { set_pauses(r, 4, 2, 9), set_intervals(r, (size_t)n); }
static void early_of(girthline_result *r, double n) { set_early(r, (size_t)n, false); }
static void early_in_a_row(girthline_result *r, double n) { set_early(r, (size_t)n, true); }
static void in_turn(girthline_result *r, double n) { r->rhythm.pattern = GIRTHLINE_PATTERN_UNDETERMINED, r->rhythm.used_count = (size_t)n; }
static void dogs_in_turn(girthline_result *r, double n) { in_turn(r, n), r->settings.species = GIRTHLINE_DOG; }
static void in_turn_poor(girthline_result *r, double n) { in_turn(r, n), r->quality.grade = GIRTHLINE_POOR; }
static void recovering(girthline_result *r, double bpm) { set_rate(r, bpm, GIRTHLINE_STANDING_UNKNOWN), r->settings.minutes_after_exercise = 45; }
static void just_pulled_up(girthline_result *r, double bpm) { set_rate(r, bpm, GIRTHLINE_STANDING_UNKNOWN), r->settings.minutes_after_exercise = 44; }
static void dog_recovering(girthline_result *r, double bpm) { recovering(r, bpm), r->settings.species = GIRTHLINE_DOG; }
static void mitral(girthline_result *r, double confidence) {
  set_murmur(r, flow_murmur());
  r->murmur.phases[0].confidence = confidence;
  r->settings.side = GIRTHLINE_LEFT, r->settings.area = GIRTHLINE_MITRAL;
}
static void mitral_fast(girthline_result *r, double confidence) { mitral(r, confidence), r->rate.standing = GIRTHLINE_ABOVE; }
static void mitral_early_beats(girthline_result *r, double confidence) { mitral(r, confidence), set_early(r, 2, false); }
static void duct(girthline_result *r, double age_days) {
  set_murmur(r, flow_murmur());
  r->murmur.phases[0].phase = GIRTHLINE_CONTINUOUS;
  r->settings.species = GIRTHLINE_FOAL, r->settings.age_days = age_days;
}

static const row ROWS[] = {
    // 0.85 and 0.7 of 28: 23.8 and 19.6; 24 lies inside a published range of horses.
    {rate_below, 27, "rate-below", GIRTHLINE_ROUTINE}, {rate_below, 24, "rate-below", GIRTHLINE_ROUTINE}, {rate_below, 23, "rate-below", GIRTHLINE_SOON},
    {rate_below, 20, "rate-below", GIRTHLINE_SOON}, {rate_below, 19, "rate-below", GIRTHLINE_BEFORE_WORK},
    {foals_rate_below, 20, "rate-below", GIRTHLINE_SOON}, {foals_rate_below, 19, "rate-below", GIRTHLINE_NOW},
    // 1.25 and 1.6 of 44: 55 and 70.4.
    {rate_above, 45, "rate-above", GIRTHLINE_ROUTINE}, {rate_above, 55, "rate-above", GIRTHLINE_ROUTINE}, {rate_above, 56, "rate-above", GIRTHLINE_SOON},
    {rate_above, 70, "rate-above", GIRTHLINE_SOON}, {rate_above, 71, "rate-above", GIRTHLINE_BEFORE_WORK},
    // Once and a half of 44 is 66; after work a fast heart is no sign.
    {irregular_at, 66, "irregular", GIRTHLINE_BEFORE_WORK}, {irregular_at, 67, "irregular", GIRTHLINE_NOW}, {irregular_after_work, 90, "irregular", GIRTHLINE_BEFORE_WORK},
    // One dropped beat makes about two intervals, three in a row about four.
    {pause_of, 2.0, "pauses", GIRTHLINE_ROUTINE}, {pause_of, 2.4, "pauses", GIRTHLINE_ROUTINE}, {pause_of, 2.5, "pauses", GIRTHLINE_SOON},
    {pause_of, 3.4, "pauses", GIRTHLINE_SOON}, {pause_of, 3.5, "pauses", GIRTHLINE_BEFORE_WORK}, {dogs_pause, 2.0, "pauses", GIRTHLINE_SOON},
    // Every second interval twice as long may be premature beats, too.
    {four_among, 7, "pauses", GIRTHLINE_SOON}, {four_among, 9, "pauses", GIRTHLINE_SOON}, {four_among, 10, "pauses", GIRTHLINE_ROUTINE},
    {donkeys_pause, 2.0, "pauses", GIRTHLINE_ROUTINE}, {foals_pause, 2.0, "pauses", GIRTHLINE_SOON},
    // Single ones were seen in healthy horses, some a day; in a row they count as complex.
    {early_of, 1, "early-beats", GIRTHLINE_ROUTINE}, {early_of, 2, "early-beats", GIRTHLINE_SOON}, {early_in_a_row, 2, "early-beats", GIRTHLINE_BEFORE_WORK},
    // Five intervals are enough for a pattern; a dog's breath may be two beats long.
    {in_turn, 5, "rhythm-uneven", GIRTHLINE_SOON}, {in_turn, 4, "rhythm-undetermined", GIRTHLINE_ROUTINE}, {dogs_in_turn, 5, "rhythm-uneven", GIRTHLINE_ROUTINE},
    {in_turn_poor, 5, "rhythm-uneven", GIRTHLINE_ROUTINE},
    // Three quarters of an hour after work a horse is within 15 % of rest: 50.6.
    {recovering, 50, "rate-after-exercise", GIRTHLINE_ROUTINE}, {recovering, 51, "rate-after-exercise", GIRTHLINE_SOON},
    {just_pulled_up, 120, "rate-after-exercise", GIRTHLINE_ROUTINE}, {dog_recovering, 180, "rate-after-exercise", GIRTHLINE_ROUTINE},
    {mitral, 0.9, "murmur-systole", GIRTHLINE_SOON}, {mitral_fast, 0.9, "murmur-systole", GIRTHLINE_BEFORE_WORK},
    {mitral_early_beats, 0.9, "murmur-systole", GIRTHLINE_BEFORE_WORK}, {mitral_fast, 0.69, "murmur-systole", GIRTHLINE_ROUTINE},
    // An open duct is usually closed by one to two weeks.
    {duct, 14, "murmur-continuous", GIRTHLINE_ROUTINE}, {duct, 15, "murmur-continuous", GIRTHLINE_SOON}, {duct, -1, "murmur-continuous", GIRTHLINE_SOON},
};

static void each_measure_asks_for_what_its_limits_say(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    girthline_result *r = healthy_horse();
    ROWS[i].made(r, ROWS[i].x);
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    const girthline_finding *f = finding_of(r, ROWS[i].kind);
    assert_non_null(f);
    if (f->urgency != ROWS[i].urgency) print_error("row %zu: %s at %g is %d, not %d\n", i, ROWS[i].kind, ROWS[i].x, (int)f->urgency, (int)ROWS[i].urgency);
    assert_int_equal(f->urgency, ROWS[i].urgency);
    girthline_result_free(r);
  }
}

// The numbers a reader is told are those measured: of several pauses the longest, of several early beats the earliest.
static void what_is_told_of_several_is_the_worst_of_them(void **state) {
  (void)state;
  girthline_result *r = healthy_horse();
  set_pauses(r, 3, 2.0, 12);
  r->rhythm.pauses[1].ratio = 2.3, r->rhythm.pauses[1].span.end_s = r->rhythm.pauses[1].span.start_s + 3.7;
  r->rhythm.pauses[2].n_atrial = 0;
  set_early(r, 3, false);
  r->rhythm.early[1].ratio = 0.55;
  r->rhythm.pattern = GIRTHLINE_PAUSES;
  assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
  const girthline_finding *pauses = finding_of(r, "pauses"), *early = finding_of(r, "early-beats");
  assert_non_null(strstr(pauses->text, "There are 3 pauses in an otherwise even rhythm."));
  assert_non_null(strstr(pauses->evidence, "Longest interval 3.7 s, 2.3 times the usual one"));
  assert_non_null(strstr(pauses->evidence, "In 2 of them a soft sound like an S4 stands alone"));
  assert_null(strstr(pauses->text, "follow each other"));
  assert_non_null(strstr(early->text, "3 beats come early"));
  assert_non_null(strstr(early->evidence, "The earliest comes after 55 % of the usual interval."));
  assert_null(strstr(early->text, "follow each other"));
  girthline_result_free(r);
}

// A rate by the usual interval does not see dropped beats. Where pauses or early beats are told of, both rates stand there, once.
static void two_rates_are_told_of_once(void **state) {
  (void)state;
  for (int k = 0; k < 4; k++) {
    girthline_result *r = healthy_horse();
    if (k & 1) set_pauses(r, 1, 2, 10);
    if (k & 2) set_early(r, 1, false);
    r->rate.bpm = 36, r->rate.mean_bpm = 30;
    assert_int_equal(gn_findings_run(r), GIRTHLINE_OK);
    int told = 0;
    for (size_t i = 0; i < r->n_findings; i++) told += strstr(r->findings[i].text, "36 a minute by the usual interval, 30 by all beats counted") != NULL ||
                                                       strstr(r->findings[i].text, "By the usual interval the rate is 36 a minute, by all beats counted 30.") != NULL;
    assert_int_equal(told, 1);
    assert_int_equal(finding_of(r, "rate-mean-differs") != NULL, k == 0);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_measure_asks_for_what_its_limits_say),
      cmocka_unit_test(what_is_told_of_several_is_the_worst_of_them),
      cmocka_unit_test(two_rates_are_told_of_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
