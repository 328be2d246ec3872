// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A recording of several windows, shared out among threads or not: one result.
#include <pthread.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "recorded.h"

static bool no_threads; // none can be had
int __real_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user) {
  return no_threads ? 11 : __real_pthread_create(thread, attributes, run, user);
}

static recorded *long_one(void) {
  gn_synth_spec spec = recorded_spec();
  spec.seconds = 470; // four windows and most of a fifth
  spec.rate_hz = 2000;
  spec.bpm = 44;
  spec.noise = GN_SYNTH_BREATH | GN_SYNTH_HANDLING | GN_SYNTH_HUM;
  spec.n_murmurs = 1;
  assert_true(gn_synth_murmur_parse("systole holo plateau", &spec.murmurs[0]));
  return recorded_made(&spec);
}

static char *json_of(const girthline_result *r) {
  const girthline_report_input input = {.result = r, .name = "made in memory", .content_hash = "xxh3-128:0"};
  char *json = girthline_report_json(&input, 1, NULL);
  assert_non_null(json);
  return json;
}

static girthline_result *by_threads(const recorded *w, girthline_settings settings, int threads) {
  settings.threads = threads;
  return recorded_analyse(w, &settings);
}

static void assert_the_same(const girthline_result *a, const girthline_result *b) {
  char *x = json_of(a), *y = json_of(b);
  assert_string_equal(x, y);
  girthline_text_free(x);
  girthline_text_free(y);
  assert_memory_equal(&a->pictures, &b->pictures, sizeof a->pictures);
  assert_int_equal(a->settings.threads, b->settings.threads);
}

static void the_number_of_threads_changes_no_byte(void **state) {
  (void)state;
  static const int THREADS[] = {2, 3, 8, 0, -1};
  recorded *w = long_one();
  girthline_result *alone = by_threads(w, girthline_settings_default(), 1);
  assert_true(alone->n_beats > 300);
  assert_true(alone->quality.n_problems > 0);
  for (size_t k = 0; k < 5; k++) {
    girthline_result *r = by_threads(w, girthline_settings_default(), THREADS[k]);
    assert_the_same(alone, r);
    girthline_result_free(r);
  }
  no_threads = true;
  girthline_result *r = by_threads(w, girthline_settings_default(), 3);
  no_threads = false;
  assert_the_same(alone, r);
  girthline_result_free(r);
  girthline_result_free(alone);
  recorded_free(w);
}

static void a_part_and_sounds_given_by_hand_are_shared_out_alike(void **state) {
  (void)state;
  recorded *w = long_one();
  girthline_given_sound given[400];
  size_t n = 0;
  for (size_t i = 20; i < 220; i++) {
    given[n++] = (girthline_given_sound){w->s1_s[i], GIRTHLINE_S1};
    given[n++] = (girthline_given_sound){w->s2_s[i], GIRTHLINE_S2};
  }
  girthline_settings settings = girthline_settings_default();
  settings.from_s = 13.7;
  settings.to_s = 431.2;
  for (int by_hand = 0; by_hand < 2; by_hand++) {
    settings.given = by_hand ? given : NULL;
    settings.n_given = by_hand ? n : 0;
    girthline_result *alone = by_threads(w, settings, 1), *r = by_threads(w, settings, 3);
    assert_true(alone->n_beats > 150);
    assert_the_same(alone, r);
    girthline_result_free(alone);
    girthline_result_free(r);
  }
  recorded_free(w);
}

// Pushed, and let go of before the end, at each place in turn.
static void an_analysis_may_be_let_go_of_while_threads_work_on_it(void **state) {
  (void)state;
  recorded *w = long_one();
  girthline_settings settings = girthline_settings_default();
  settings.threads = 3;
  const girthline_recording recording = {.sample_rate_hz = w->rate_hz};
  for (size_t windows = 1; windows <= 4; windows++) {
    girthline_analysis *analysis = NULL;
    const size_t n = (20 + windows * 100) * 2000 + 5000;
    assert_int_equal(girthline_analysis_new(&recording, &settings, &analysis, NULL), GIRTHLINE_OK);
    assert_int_equal(girthline_analysis_push(analysis, w->x, n < w->n ? n : w->n, NULL), GIRTHLINE_OK);
    girthline_analysis_free(analysis);
  }
  recorded_free(w);
}

static void refused_memory_is_told_in_the_same_place(void **state) {
  (void)state;
  recorded *w = long_one();
  size_t n_bytes;
  unsigned char *bytes = recorded_wav(w, &n_bytes);
  girthline_settings settings = girthline_settings_default();
  settings.to_s = 130;
  settings.threads = 3;
  for (size_t k = 1; k < 400; k = 3 * k + 1) {
    girthline_result *r = NULL;
    girthline_error error = {0};
    gn_memory_refuse(k);
    assert_int_equal(girthline_analyse_memory(bytes, n_bytes, "made in memory", &settings, &r, &error), GIRTHLINE_NO_MEMORY);
    gn_memory_refuse(0);
    assert_null(r);
    assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
  }
  test_free(bytes);
  recorded_free(w);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_number_of_threads_changes_no_byte),
      cmocka_unit_test(a_part_and_sounds_given_by_hand_are_shared_out_alike),
      cmocka_unit_test(an_analysis_may_be_let_go_of_while_threads_work_on_it),
      cmocka_unit_test(refused_memory_is_told_in_the_same_place),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
