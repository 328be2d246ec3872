// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Whatever a limit is set to within its range, the analysis ends with a report; and each stage reads its own.
#include "recorded.h"

#include <math.h>

#include "base/random.h"

static girthline_result *analysed(const recorded *w, const girthline_limits *limits) {
  girthline_settings settings = girthline_settings_default();
  settings.limits = limits;
  return recorded_analyse(w, &settings);
}

static void expect_sane(const girthline_result *r) {
  assert_true(r->quality.grade >= GIRTHLINE_GOOD && r->quality.grade <= GIRTHLINE_UNUSABLE);
  assert_true(isnan(r->rate.bpm) || (r->rate.bpm > 5 && r->rate.bpm < 400));
  assert_true(r->quality.usable_s >= 0);
  for (size_t i = 1; i < r->quality.n_problems; i++) assert_true(r->quality.problems[i].span.start_s >= r->quality.problems[i - 1].span.start_s);
}

static recorded *hard(uint64_t seed) {
  gn_synth_spec spec = recorded_spec();
  spec.seed = seed;
  spec.seconds = 20;
  spec.rate_hz = 2000;
  spec.snr_db = 10;
  spec.noise = GN_SYNTH_BREATH | GN_SYNTH_HANDLING | GN_SYNTH_HUM;
  return recorded_made(&spec);
}

static void any_limits_give_a_report(void **state) {
  (void)state;
  gn_random random = gn_random_of(5);
  const girthline_limit *row;
  recorded *w = hard(3);
  for (int k = 0; k < 24; k++) {
    girthline_limits limits = girthline_limits_default();
    for (size_t i = 0; (row = girthline_limit_at(i)) != NULL; i++) {
      const size_t pick = k == 0 ? 0 : k == 1 ? 1 : gn_random_below(&random, 6); // all lowest, all highest, then any mixture
      if (pick < 2) girthline_limit_set(row, &limits, pick ? row->highest : row->lowest);
    }
    girthline_result *r = analysed(w, &limits);
    expect_sane(r);
    assert_true(girthline_limits_changed(&r->limits) > 0 && r->settings.limits == &r->limits);
    girthline_result_free(r);
  }
  recorded_free(w);
}

// One row, taken to an end of its range, changes what its stage says.
static void each_stage_reads_its_limits(void **state) {
  (void)state;
  gn_synth_spec spec = recorded_spec();
  spec.rhythm = GN_SYNTH_PAUSES;
  recorded *w = recorded_made(&spec);
  girthline_limits limits = girthline_limits_default();
  girthline_result *r = analysed(w, NULL);
  assert_int_equal(r->quality.grade, GIRTHLINE_GOOD);
  assert_true(r->rhythm.n_pauses > 0);
  assert_null(r->settings.limits);
  const size_t n_usual = r->n_findings;
  girthline_result_free(r);
  limits.quality.good_beats_n = 1000;
  limits.rhythm.pause_ratio = 5;
  r = analysed(w, &limits);
  assert_int_equal(r->quality.grade, GIRTHLINE_FAIR);
  assert_int_equal(r->rhythm.n_pauses, 0);
  bool said = false;
  for (size_t i = 0; i < r->n_findings; i++) said = said || !strcmp(r->findings[i].kind, "settings-changed");
  assert_true(said && n_usual > 0);
  girthline_result_free(r);
  recorded_free(w);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(any_limits_give_a_report),
      cmocka_unit_test(each_stage_reads_its_limits),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
