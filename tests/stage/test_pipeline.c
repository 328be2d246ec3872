// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What must not depend on how the recording was made or read.
#include <stdlib.h>
#include <unistd.h>

#include "base/memory.h"
#include "recorded.h"

static void a_simulated_heart_is_read_as_it_was_made(void **state) {
  (void)state;
  gn_synth_spec spec = recorded_spec();
  recorded *w = recorded_made(&spec);
  girthline_result *r = recorded_analyse(w, NULL);
  recorded_assert_found(w, r, 0.3, 29, 0.030);
  assert_near(r->rate.bpm, 36, 1.5);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_REGULAR);
  assert_int_equal(r->murmur.present, GIRTHLINE_NO);
  girthline_result_free(r);
  recorded_free(w);
}

// The quality says what was recorded, the hum with it.
static void a_heart_is_heard_through_a_hum(void **state) {
  (void)state;
  static const struct { double snr_db; int rate_hz; double hum_hz; } MADE[] = {{10, 4000, 50}, {3, 2000, 50}, {3, 8000, 60}};
  for (size_t i = 0; i < sizeof MADE / sizeof *MADE; i++) {
    gn_synth_spec spec = recorded_spec();
    spec.noise = GN_SYNTH_HUM;
    spec.snr_db = MADE[i].snr_db;
    spec.rate_hz = MADE[i].rate_hz;
    spec.hum_hz = MADE[i].hum_hz;
    recorded *w = recorded_made(&spec);
    girthline_result *r = recorded_analyse(w, NULL);
    recorded_assert_found(w, r, 0.3, 29, 0.050);
    assert_near(r->rate.bpm, 36, 1.5);
    assert_int_equal(r->murmur.present, GIRTHLINE_NO);
    assert_near(r->quality.hum_hz, MADE[i].hum_hz, 0.1);
    assert_near(r->quality.heart_to_noise_db, MADE[i].snr_db, 2);
    girthline_result_free(r);
    recorded_free(w);
  }
}

// A railway's supply with most of its multiples, a generator off its frequency, an aircraft's supply, mains that are switched on half-way.
static void a_heart_is_heard_through_what_hums_beside_the_mains(void **state) {
  (void)state;
  static const struct { double hz, from_s, multiples[7], hum_hz; } MADE[] = {
      {16.7, 0, {1, 0.2, 0.5, 0.1, 0.3, 0.1, 0.2}, 16.7}, {52.4, 0, {1, 0.3, 0.5}, 52.4}, {400, 0, {1}, 400}, {50, 15, {1, 0.3, 0.5}, 0}};
  for (size_t i = 0; i < sizeof MADE / sizeof *MADE; i++) {
    gn_synth_spec spec = recorded_spec();
    recorded *w = recorded_made(&spec);
    for (size_t k = (size_t)(MADE[i].from_s * w->rate_hz); k < w->n; k++)
      for (int m = 1; m <= 7; m++) w->x[k] += (float)(0.05 * MADE[i].multiples[m - 1] * sin(2 * M_PI * MADE[i].hz * m * (double)k / w->rate_hz));
    girthline_result *r = recorded_analyse(w, NULL);
    recorded_assert_found(w, r, 0.3, 12, 0.050);
    recorded_assert_found(w, r, 18, 29, 0.050);
    assert_near(r->rate.bpm, 36, 1.5);
    assert_int_equal(r->murmur.present, GIRTHLINE_NO);
    assert_near(r->quality.hum_hz, MADE[i].hum_hz, 0.1);
    girthline_result_free(r);
    recorded_free(w);
  }
}

// Where intervals differ by half and more, each sound taken for a beat of its own repeats as steadily as the heart does.
static void an_irregular_heart_s_sounds_are_no_beats_of_their_own(void **state) {
  (void)state;
  static const struct { uint64_t seed; double seconds; } MADE[] = {{1020, 12}, {1073, 15}, {1124, 15}, {1124, 30}};
  for (size_t i = 0; i < sizeof MADE / sizeof *MADE; i++) {
    gn_synth_spec spec;
    gn_synth_spec_init(&spec);
    spec.seed = MADE[i].seed;
    spec.seconds = MADE[i].seconds;
    spec.rate_hz = 2000;
    spec.rhythm = GN_SYNTH_IRREGULAR;
    recorded *w = recorded_made(&spec);
    girthline_result *r = recorded_analyse(w, NULL);
    recorded_assert_found(w, r, 0.3, 6, 0.030);
    assert_near(r->rate.mean_bpm, 60 * (double)(w->n_s1 - 1) / (w->s1_s[w->n_s1 - 1] - w->s1_s[0]), 2);
    girthline_result_free(r);
    recorded_free(w);
  }
}

// A murmur that swells into S2 draws its onset forward, so that a fast heart's diastole seems the longer systole.
static void a_fast_heart_s_names_are_weighed_by_its_own_onsets(void **state) {
  (void)state;
  static const struct { uint64_t seed; double bpm; } MADE[] = {{903, 143.5}, {909, 150.5}, {916, 158.6667}};
  for (size_t i = 0; i < sizeof MADE / sizeof *MADE; i++) {
    gn_synth_spec spec = recorded_spec();
    spec.seed = MADE[i].seed;
    spec.bpm = MADE[i].bpm;
    spec.seconds = 20;
    spec.snr_db = 20;
    spec.rate_hz = 2000;
    spec.n_murmurs = 1;
    assert_true(gn_synth_murmur_parse("systole late crescendo", &spec.murmurs[0]));
    spec.murmurs[0].level_db = 0;
    recorded *w = recorded_made(&spec);
    girthline_result *r = recorded_analyse(w, NULL);
    assert_true(r->n_beats > 40);
    for (size_t k = 0; k < r->n_beats; k++) {
      double nearest_s = INFINITY;
      for (size_t j = 0; j < w->n_s1; j++) nearest_s = fmin(nearest_s, fabs(w->s1_s[j] - r->beats[k].s1_onset_s));
      if (!isnan(r->beats[k].s1_onset_s)) assert_near(nearest_s, 0, 0.050);
    }
    girthline_result_free(r);
    recorded_free(w);
  }
}

static void the_best_stretch_is_at_the_settled_rate(void **state) {
  (void)state;
  gn_synth_spec spec = recorded_spec();
  spec.seconds = 40;
  spec.noise = 0;
  spec.settle_percent = 40;
  recorded *w = recorded_made(&spec);
  girthline_result *r = recorded_analyse(w, NULL);
  assert_near(r->rate.settled_bpm, 36, 1.5);
  const girthline_span best = r->quality.best_span;
  size_t n = 0;
  double first_s = 0, last_s = 0;
  for (size_t i = 0; i < w->n_s1; i++) {
    if (w->s1_s[i] < best.start_s || w->s1_s[i] > best.end_s + 0.1) continue;
    if (!n++) first_s = w->s1_s[i];
    last_s = w->s1_s[i];
  }
  assert_true(n > 4 && best.end_s - best.start_s > 8);
  assert_near(60 * (double)(n - 1) / (last_s - first_s), 36, 1.8);
  girthline_result_free(r);
  recorded_free(w);
}

static void gain_changes_no_beat_no_word_and_no_rate(void **state) {
  (void)state;
  static const float GAINS[] = {0.01f, 0.1f, 10, 100};
  gn_synth_spec spec = recorded_spec();
  spec.n_murmurs = 1;
  assert_true(gn_synth_murmur_parse("systole holo plateau", &spec.murmurs[0]));
  spec.murmurs[0].level_db = -4;
  recorded *w = recorded_made(&spec);
  girthline_result *a = recorded_analyse(w, NULL);
  assert_int_equal(a->murmur.present, GIRTHLINE_YES);
  for (size_t g = 0; g < 4; g++) {
    recorded *scaled = recorded_new(w->n, 1, w->rate_hz);
    for (size_t i = 0; i < w->n; i++) scaled->x[i] = GAINS[g] * w->x[i];
    girthline_result *b = recorded_analyse(scaled, NULL);
    recorded_assert_alike(a, b, 0);
    assert_int_equal(a->quality.grade, b->quality.grade);
    girthline_result_free(b);
    recorded_free(scaled);
  }
  girthline_result_free(a);
  recorded_free(w);
}

// The same sound at another rate: straight lines between samples taken at 8000 Hz, which holds what lies under 1 kHz.
static recorded *at_rate(const recorded *w, int rate_hz) {
  const double step = (double)w->rate_hz / rate_hz;
  recorded *r = recorded_new((size_t)((double)(w->n - 1) / step), 1, rate_hz);
  for (size_t i = 0; i < r->n; i++) {
    const size_t k = (size_t)((double)i * step);
    const float part = (float)((double)i * step - (double)k);
    r->x[i] = w->x[k] + part * (w->x[k + 1] - w->x[k]);
  }
  return r;
}

static void the_sample_rate_changes_no_beat_no_word_and_no_rate(void **state) {
  (void)state;
  static const int RATES_HZ[] = {2000, 4000, 44100, 48000};
  gn_synth_spec spec = recorded_spec();
  spec.rate_hz = 8000;
  spec.snr_db = 30;
  recorded *w = recorded_made(&spec);
  girthline_result *a = recorded_analyse(w, NULL);
  recorded_assert_found(w, a, 0.3, 29, 0.030);
  for (size_t k = 0; k < 4; k++) {
    recorded *other = at_rate(w, RATES_HZ[k]);
    girthline_result *b = recorded_analyse(other, NULL);
    recorded_assert_alike(a, b, 0);
    girthline_result_free(b);
    recorded_free(other);
  }
  girthline_result_free(a);
  recorded_free(w);
}

static void three_seconds_of_silence_ahead_only_move_the_beats(void **state) {
  (void)state;
  gn_synth_spec spec = recorded_spec();
  recorded *w = recorded_made(&spec), *later = recorded_new(w->n + 3 * (size_t)w->rate_hz, 1, w->rate_hz);
  memcpy(later->x + 3 * (size_t)w->rate_hz, w->x, w->n * sizeof *w->x);
  girthline_result *a = recorded_analyse(w, NULL), *b = recorded_analyse(later, NULL);
  recorded_assert_alike(a, b, 3);
  girthline_result_free(a);
  girthline_result_free(b);
  recorded_free(w);
  recorded_free(later);
}

static void memory_and_disk_give_the_same_bytes(void **state) {
  (void)state;
  gn_synth_spec spec = recorded_spec();
  recorded *w = recorded_made(&spec);
  size_t n_bytes;
  unsigned char *bytes = recorded_wav(w, &n_bytes);
  char path[] = "girthline-stage-XXXXXX";
  const int fd = mkstemp(path);
  assert_true(fd >= 0);
  assert_int_equal(write(fd, bytes, n_bytes), n_bytes);
  close(fd);
  girthline_result *a = recorded_analyse(w, NULL), *b = NULL;
  const girthline_status status = girthline_analyse_file(path, NULL, &b, NULL);
  unlink(path);
  assert_int_equal(status, GIRTHLINE_OK);
  assert_int_equal(a->n_beats, b->n_beats);
  const size_t beat_n = offsetof(girthline_beat, unbroken) + sizeof a->beats->unbroken; // what is behind the last field means nothing
  for (size_t i = 0; i < a->n_beats; i++) assert_memory_equal(&a->beats[i], &b->beats[i], beat_n);
  assert_memory_equal(&a->pictures, &b->pictures, sizeof a->pictures);
  assert_memory_equal(&a->rate.bpm, &b->rate.bpm, sizeof(double));
  assert_int_equal(a->n_findings, b->n_findings);
  for (size_t i = 0; i < a->n_findings; i++) assert_string_equal(a->findings[i].evidence, b->findings[i].evidence);
  girthline_result_free(a);
  girthline_result_free(b);
  test_free(bytes);
  recorded_free(w);
}

static void windows_leave_no_seam(void **state) {
  (void)state;
  static const struct { girthline_species species; double bpm; gn_synth_rhythm_kind rhythm; } CASES[] = {
      {GIRTHLINE_HORSE, 36, GN_SYNTH_REGULAR}, {GIRTHLINE_HORSE, 36, GN_SYNTH_PAUSES}, {GIRTHLINE_DOG, 110, GN_SYNTH_CYCLIC}};
  for (size_t k = 0; k < 3; k++) {
    gn_synth_spec spec = recorded_spec();
    spec.species = CASES[k].species;
    spec.bpm = CASES[k].bpm;
    spec.rhythm = CASES[k].rhythm;
    spec.seconds = 300;
    spec.rate_hz = 2000;
    recorded *w = recorded_made(&spec);
    girthline_settings settings = girthline_settings_default();
    settings.species = CASES[k].species;
    girthline_result *r = recorded_analyse(w, &settings);
    recorded_assert_found(w, r, 0.3, 299, 0.050);
    for (size_t i = 1; i < r->n_beats; i++) assert_true(r->beats[i].s1_onset_s > r->beats[i - 1].s1_onset_s);
    girthline_result_free(r);
    recorded_free(w);
  }
}

static void a_part_has_the_beats_of_the_whole_there(void **state) {
  (void)state;
  static const double PARTS_S[][2] = {{0, 15}, {8.3, 27.1}, {10, 0}};
  gn_synth_spec spec = recorded_spec();
  recorded *w = recorded_made(&spec);
  girthline_result *whole = recorded_analyse(w, NULL);
  for (size_t k = 0; k < 3; k++) {
    girthline_settings settings = girthline_settings_default();
    settings.from_s = PARTS_S[k][0];
    settings.to_s = PARTS_S[k][1];
    girthline_result *part = recorded_analyse(w, &settings);
    const double from_s = PARTS_S[k][0] + 0.2, to_s = (PARTS_S[k][1] > 0 ? PARTS_S[k][1] : 30) - 1;
    assert_near(part->recording.from_s, PARTS_S[k][0], 1e-3);
    size_t i = 0, p = 0, compared = 0;
    while (i < whole->n_beats && !(whole->beats[i].s1_onset_s > from_s)) i++;
    while (p < part->n_beats && !(part->beats[p].s1_onset_s > from_s)) p++;
    for (; i < whole->n_beats && whole->beats[i].s1_onset_s < to_s; i++, p++, compared++) {
      assert_true(p < part->n_beats);
      assert_near(part->beats[p].s1_onset_s, whole->beats[i].s1_onset_s, 0.005);
    }
    assert_true(compared >= 8);
    girthline_result_free(part);
  }
  girthline_result_free(whole);
  recorded_free(w);
}

// What is told of the recording's own samples stands at its time whatever part is looked at, and the picture is of that part.
static void a_part_is_clipped_and_drawn_where_it_is(void **state) {
  (void)state;
  gn_synth_spec spec = recorded_spec();
  recorded *w = recorded_made(&spec);
  float most = 0;
  for (size_t i = 0; i < w->n; i++) most = fmaxf(most, fabsf(w->x[i]));
  const float rail = 0.01f * most;
  for (int i = 15 * w->rate_hz; i < 18 * w->rate_hz; i++) w->x[i] = fminf(rail, fmaxf(-rail, w->x[i]));
  static const double FROM_S[] = {0, 4.2, 14};
  for (size_t k = 0; k < 3; k++) {
    girthline_settings settings = girthline_settings_default();
    settings.from_s = FROM_S[k];
    settings.to_s = 20;
    girthline_result *r = recorded_analyse(w, &settings);
    double clipped_s = 0;
    for (size_t i = 0; i < r->quality.n_problems; i++) {
      const girthline_problem *p = &r->quality.problems[i];
      if (p->kind != GIRTHLINE_CLIPPING) continue;
      assert_true(p->span.start_s > 15 - 0.5 && p->span.end_s < 18 + 0.5); // it is told in pieces of 0.4 s
      clipped_s += p->span.end_s - p->span.start_s;
    }
    assert_true(clipped_s > 1);
    assert_true(r->pictures.n_overview > GIRTHLINE_OVERVIEW_N / 2);
    assert_near((double)r->pictures.n_overview * r->pictures.overview_step_s, 20 - FROM_S[k], r->pictures.overview_step_s);
    girthline_result_free(r);
  }
  recorded_free(w);
}

static void a_part_may_end_behind_everything(void **state) {
  (void)state;
  static const double TO_S[] = {1e9, 1e30, 1e300, (double)INFINITY};
  gn_synth_spec spec = recorded_spec();
  spec.seconds = 12;
  recorded *w = recorded_made(&spec);
  girthline_result *whole = recorded_analyse(w, NULL);
  for (size_t k = 0; k < 4; k++) {
    girthline_settings settings = girthline_settings_default();
    settings.to_s = TO_S[k];
    girthline_result *part = recorded_analyse(w, &settings);
    recorded_assert_alike(whole, part, 0);
    assert_near(part->recording.to_s, 12, 1e-9);
    assert_near(part->recording.duration_s, 12, 1e-9);
    girthline_result_free(part);
  }
  girthline_result_free(whole);
  recorded_free(w);
}

static void refused_memory_is_an_error_and_leaks_nothing(void **state) {
  (void)state;
  gn_synth_spec spec = recorded_spec();
  spec.seconds = 8;
  spec.noise |= GN_SYNTH_HUM;
  spec.rate_hz = 2000;
  recorded *w = recorded_made(&spec);
  size_t n_bytes, refused = 0, k = 1;
  unsigned char *bytes = recorded_wav(w, &n_bytes);
  for (; k < 20000; k += 1 + k / 12) {
    girthline_result *r = NULL;
    girthline_error error = {0};
    gn_memory_refuse(k);
    const girthline_status status = girthline_analyse_memory(bytes, n_bytes, "made in memory", NULL, &r, &error);
    gn_memory_refuse(0);
    girthline_result_free(r);
    if (status == GIRTHLINE_OK) break;
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
    assert_null(r);
    assert_true(strlen(error.text) > 0);
    refused++;
  }
  assert_true(refused > 30 && k < 20000);
  test_free(bytes);
  recorded_free(w);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_simulated_heart_is_read_as_it_was_made),
      cmocka_unit_test(a_heart_is_heard_through_a_hum), cmocka_unit_test(a_heart_is_heard_through_what_hums_beside_the_mains),
      cmocka_unit_test(an_irregular_heart_s_sounds_are_no_beats_of_their_own),
      cmocka_unit_test(a_fast_heart_s_names_are_weighed_by_its_own_onsets),
      cmocka_unit_test(the_best_stretch_is_at_the_settled_rate),
      cmocka_unit_test(gain_changes_no_beat_no_word_and_no_rate),
      cmocka_unit_test(the_sample_rate_changes_no_beat_no_word_and_no_rate),
      cmocka_unit_test(three_seconds_of_silence_ahead_only_move_the_beats),
      cmocka_unit_test(memory_and_disk_give_the_same_bytes),
      cmocka_unit_test(windows_leave_no_seam),
      cmocka_unit_test(a_part_has_the_beats_of_the_whole_there),
      cmocka_unit_test(a_part_is_clipped_and_drawn_where_it_is),
      cmocka_unit_test(a_part_may_end_behind_everything),
      cmocka_unit_test(refused_memory_is_an_error_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
