// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include "segment/model.h"

#define N 6000
#define INTERVAL 150
#define SYSTOLE 45

static size_t true_beats(gn_beat_frames *beats, long first, size_t n) {
  size_t m = 0;
  for (long at = first; at + SYSTOLE < (long)n; at += INTERVAL) beats[m++] = (gn_beat_frames){at, at + SYSTOLE};
  return m;
}

static gn_model fresh(const gn_features *f) {
  gn_model m;
  assert_int_equal(gn_model_init(&m, f, hear_profile(GIRTHLINE_HORSE), 0.45, 1.05), 0);
  return m;
}

// Level of a template written into the features by hear_heart, without its wavering.
static double written_db(long k, long length, double top) {
  const long in = k - GN_TEMPLATE_LEAD;
  const double shape = in < -2 || in >= length ? 0 : in < 1 ? (double)(in + 3) / 4 : 1 - 0.8 * (double)(in - 1) / (double)length;
  return fmax(3, top * shape);
}

static double worst_error_db(const gn_model *m) {
  double worst = 0;
  for (size_t k = 0; k < m->n_s1; k++) {
    worst = fmax(worst, fabs((double)m->s1[k][0] - written_db((long)k, 13, 16)));
    worst = fmax(worst, fabs((double)m->s1[k][1] - written_db((long)k, 13, 12)));
  }
  for (size_t k = 0; k < m->n_s2; k++) {
    worst = fmax(worst, fabs((double)m->s2[k][0] - written_db((long)k, 8, 10)));
    worst = fmax(worst, fabs((double)m->s2[k][1] - written_db((long)k, 8, 15)));
  }
  return worst;
}

static void learning_recovers_the_templates_that_were_written(void **state) {
  (void)state;
  gn_features f = hear_heart(N, 60, INTERVAL, SYSTOLE);
  gn_beat_frames beats[100];
  const size_t n = true_beats(beats, 60, N);
  gn_model m = fresh(&f);
  assert_true(m.generic);
  const double before_db = worst_error_db(&m);
  for (int round = 0; round < 3; round++) assert_int_equal(gn_model_learn(&m, &f, beats, n), 0);
  assert_false(m.generic);
  // The mean of 40 beats that waver by 1 dB each: an SD of 0.16 dB; the worst of some 60 means.
  assert_true(worst_error_db(&m) < 0.6 && before_db > 2);
  assert_near(m.systole[0], 3, 0.15);
  assert_near(m.diastole[1], 3, 0.15);
  gn_features_clear(&f);
}

static void few_beats_leave_the_template_near_what_it_was(void **state) {
  (void)state;
  gn_features f = hear_heart(N, 60, INTERVAL, SYSTOLE);
  gn_beat_frames beats[100];
  true_beats(beats, 60, N);
  gn_model before = fresh(&f), one = before;
  assert_int_equal(gn_model_learn(&one, &f, beats, 1), 0);
  for (size_t k = 0; k < one.n_s1; k++) // one beat against a weight of one and a half
    assert_near(one.s1[k][0], (f.level_db[0][60 - GN_TEMPLATE_LEAD + k] + 1.5f * before.s1[k][0]) / 2.5f, 1e-4);
  gn_model none = before;
  assert_int_equal(gn_model_learn(&none, &f, beats, 0), 0);
  for (size_t k = 0; k < none.n_s1; k++) assert_near(none.s1[k][0], before.s1[k][0], 1e-5);
  gn_features_clear(&f);
}

static void spoilt_frames_are_not_learnt_from(void **state) {
  (void)state;
  gn_features f = hear_heart(N, 60, INTERVAL, SYSTOLE);
  gn_beat_frames beats[100];
  const size_t n = true_beats(beats, 60, N);
  gn_model clean = fresh(&f), dirty;
  for (size_t k = 1000; k < 2000; k++) f.spoilt[k] = 1;
  clean = fresh(&f);
  assert_int_equal(gn_model_learn(&clean, &f, beats, n), 0);
  for (size_t k = 1000; k < 2000; k++) f.level_db[0][k] = 19;
  dirty = fresh(&f);
  assert_int_equal(gn_model_learn(&dirty, &f, beats, n), 0);
  for (size_t k = 0; k < clean.n_s1; k++) assert_near(clean.s1[k][0], dirty.s1[k][0], 1e-5);
  assert_near(clean.sound.log_det, dirty.sound.log_det, 1e-9);
  gn_features_clear(&f);
}

static void a_sound_scores_best_where_it_is(void **state) {
  (void)state;
  gn_features f = hear_heart(N, 60, INTERVAL, SYSTOLE);
  gn_beat_frames beats[100];
  const size_t n = true_beats(beats, 60, N);
  gn_model m = fresh(&f);
  for (int round = 0; round < 3; round++) assert_int_equal(gn_model_learn(&m, &f, beats, n), 0);
  gn_scores s;
  assert_int_equal(gn_scores_init(&s, N, 80), 0);
  gn_model_score(&m, &f, &s);
  for (size_t i = 0; i < n; i++)
    for (long d = -20; d <= 20; d++) {
      assert_true(s.s1[beats[i].s1 + 80] >= s.s1[beats[i].s1 + 80 + d]);
      assert_true(s.s2[beats[i].s2 + 80] >= s.s2[beats[i].s2 + 80 + d]);
    }
  for (size_t i = 1; i + 1 < n; i++) assert_true(s.s1[beats[i].s1 + 80] > s.s2[beats[i].s1 + 80] && s.s1[beats[i].s1 + 80 + 100] < 0);
  for (size_t i = 0; i <= 80; i++) assert_near(s.systole[i], 0, 0); // nothing is known before the window
  assert_near(s.systole[N + 160], s.systole[N + 80], 0);
  assert_false(s.generic);
  gn_scores_clear(&s);
  gn_features_clear(&f);
}

static void spoilt_frames_are_no_evidence_for_or_against(void **state) {
  (void)state;
  gn_features f = hear_heart(1000, 60, INTERVAL, SYSTOLE);
  for (size_t k = 0; k < f.n; k++) f.spoilt[k] = 1;
  gn_model m = fresh(&f);
  gn_scores s;
  assert_int_equal(gn_scores_init(&s, 1000, 80), 0);
  m.generic = false;
  gn_model_score(&m, &f, &s);
  for (size_t i = 0; i < 1160; i++) assert_near(s.s1[i], 0, 0);
  assert_near(s.systole[1160], 0, 0);
  assert_near(s.diastole_total, 0, 0);
  gn_scores_clear(&s);
  gn_features_clear(&f);
}

static void the_longer_lower_sound_is_named_s1(void **state) {
  (void)state;
  gn_features f = hear_heart(N, 60, INTERVAL, SYSTOLE);
  gn_beat_frames beats[100], wrong[100];
  const size_t n = true_beats(beats, 60, N);
  for (size_t i = 0; i + 1 < n; i++) wrong[i] = (gn_beat_frames){beats[i].s2, beats[i + 1].s1};
  gn_model right = fresh(&f), exchanged = fresh(&f);
  assert_near(gn_model_naming(&right), 0, 0);
  for (int round = 0; round < 4; round++) {
    assert_int_equal(gn_model_learn(&right, &f, beats, n), 0);
    assert_int_equal(gn_model_learn(&exchanged, &f, wrong, n - 1), 0);
  }
  assert_true(gn_model_naming(&right) > 1);
  assert_true(gn_model_naming(&exchanged) < -1);
  gn_features_clear(&f);
}

static void refused_memory_is_told_and_leaks_nothing(void **state) {
  (void)state;
  gn_features f = hear_heart(1000, 60, INTERVAL, SYSTOLE);
  gn_beat_frames beats[100];
  const size_t n = true_beats(beats, 60, 1000);
  gn_model m;
  gn_memory_refuse(1);
  assert_int_equal(gn_model_init(&m, &f, hear_profile(GIRTHLINE_HORSE), 0.45, 1.05), -1);
  m = fresh(&f);
  for (size_t k = 1; k <= 2; k++) {
    gn_memory_refuse(k);
    assert_int_equal(gn_model_learn(&m, &f, beats, n), -1);
  }
  for (size_t k = 1; k <= 6; k++) {
    gn_scores s;
    gn_memory_refuse(k);
    assert_int_equal(gn_scores_init(&s, 100, 10), -1);
    gn_memory_refuse(0);
    gn_scores_clear(&s);
  }
  gn_features_clear(&f);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(learning_recovers_the_templates_that_were_written),
      cmocka_unit_test(few_beats_leave_the_template_near_what_it_was),
      cmocka_unit_test(spoilt_frames_are_not_learnt_from),
      cmocka_unit_test(a_sound_scores_best_where_it_is),
      cmocka_unit_test(spoilt_frames_are_no_evidence_for_or_against),
      cmocka_unit_test(the_longer_lower_sound_is_named_s1),
      cmocka_unit_test(refused_memory_is_told_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
