// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Sound that comes block by block gives what the whole file gives.
#include <pthread.h>

#include <girthline/reader.h>
#include <girthline/report.h>

#include "base/memory.h"
#include "recorded.h"

typedef struct held {
  unsigned char *bytes;
  size_t n_bytes;
  recorded *made;
} held;

static held held_of(double seconds, int channels) {
  gn_synth_spec spec = recorded_spec();
  spec.seconds = seconds;
  spec.n_murmurs = 1;
  spec.rate_hz = 4000;
  assert_true(gn_synth_murmur_parse("systole holo plateau", &spec.murmurs[0]));
  recorded *mono = recorded_made(&spec);
  held h = {.made = mono};
  if (channels == 2) { // the heart in the second channel, a steady tone in the first
    h.made = recorded_new(mono->n, 2, mono->rate_hz);
    for (size_t i = 0; i < mono->n; i++) {
      h.made->x[2 * i] = i % 40 < 20 ? 0.3f : -0.3f;
      h.made->x[2 * i + 1] = mono->x[i];
    }
    recorded_free(mono);
  }
  h.bytes = recorded_wav(h.made, &h.n_bytes);
  return h;
}

static void held_free(held *h) {
  test_free(h->bytes);
  recorded_free(h->made);
}

static char *json_of(const girthline_result *r) {
  const girthline_report_input input = {.result = r, .name = "made in memory", .content_hash = "xxh3-128:0"};
  char *json = girthline_report_json(&input, 1, NULL);
  assert_non_null(json);
  return json;
}

// What is behind a beat's last field means nothing.
static void assert_same_beats(const girthline_result *a, const girthline_result *b) {
  const size_t beat_n = offsetof(girthline_beat, unbroken) + sizeof a->beats->unbroken;
  assert_int_equal(a->n_beats, b->n_beats);
  for (size_t i = 0; i < a->n_beats; i++) assert_memory_equal(&a->beats[i], &b->beats[i], beat_n);
}

static void assert_the_same(const girthline_result *a, const girthline_result *b) {
  char *x = json_of(a), *y = json_of(b);
  assert_string_equal(x, y);
  girthline_text_free(x);
  girthline_text_free(y);
  assert_same_beats(a, b);
  assert_memory_equal(&a->pictures, &b->pictures, sizeof a->pictures);
}

// Read and push in blocks of up to most_n, of changing size where it is odd.
static girthline_result *pushed(const held *h, const girthline_settings *settings, size_t most_n) {
  girthline_reader *reader = NULL;
  girthline_analysis *analysis = NULL;
  girthline_result *r = NULL;
  float *samples = test_calloc(most_n, sizeof *samples);
  assert_int_equal(girthline_reader_open_memory(h->bytes, h->n_bytes, "made in memory", 0, &reader, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_new(girthline_reader_recording(reader), settings, &analysis, NULL), GIRTHLINE_OK);
  for (size_t got = 1, want = most_n; got; want = most_n % 2 ? 1 + (want * 7 + 3) % most_n : most_n) {
    assert_int_equal(girthline_reader_read(reader, samples, want, &got, NULL), GIRTHLINE_OK);
    assert_int_equal(girthline_analysis_push(analysis, samples, got, NULL), GIRTHLINE_OK);
  }
  assert_int_equal(girthline_analysis_finish(analysis, &r, NULL), GIRTHLINE_OK);
  girthline_analysis_free(analysis);
  girthline_reader_free(reader);
  test_free(samples);
  return r;
}

static void blocks_of_any_size_give_what_the_whole_file_gives(void **state) {
  (void)state;
  static const size_t MOST_N[] = {1, 999, 4096, 100000};
  held h = held_of(140, 2); // longer than one window
  girthline_result *whole = recorded_analyse(h.made, NULL);
  assert_int_equal(whole->recording.channel_used, 2);
  assert_true(whole->n_beats > 70);
  assert_int_equal(whole->murmur.present, GIRTHLINE_YES);
  for (size_t k = 0; k < 4; k++) {
    girthline_result *r = pushed(&h, NULL, MOST_N[k]);
    assert_the_same(whole, r);
    girthline_result_free(r);
  }
  girthline_result_free(whole);
  held_free(&h);
}

static void a_part_and_sounds_given_by_hand_give_what_the_whole_file_gives(void **state) {
  (void)state;
  held h = held_of(30, 1);
  girthline_given_sound given[8];
  for (size_t i = 0; i < 4; i++) {
    given[2 * i] = (girthline_given_sound){h.made->s1_s[i + 4], GIRTHLINE_S1};
    given[2 * i + 1] = (girthline_given_sound){h.made->s2_s[i + 4], GIRTHLINE_S2};
  }
  girthline_settings settings = girthline_settings_default();
  settings.from_s = 5.3;
  settings.to_s = 21.7;
  for (int by_hand = 0; by_hand < 2; by_hand++) {
    settings.given = by_hand ? given : NULL;
    settings.n_given = by_hand ? 8 : 0;
    girthline_result *whole = recorded_analyse(h.made, &settings), *r = pushed(&h, &settings, 4097);
    assert_true(whole->n_beats > 3);
    assert_int_equal(r->beats_given, by_hand);
    assert_the_same(whole, r);
    girthline_result_free(whole);
    girthline_result_free(r);
  }
  held_free(&h);
}

static void a_stream_that_states_its_rate_alone_has_the_same_beats(void **state) {
  (void)state;
  held h = held_of(30, 1);
  girthline_result *whole = recorded_analyse(h.made, NULL), *r = NULL;
  const girthline_recording recording = {.sample_rate_hz = h.made->rate_hz};
  girthline_analysis *analysis = NULL;
  assert_int_equal(girthline_analysis_new(&recording, NULL, &analysis, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_push(analysis, h.made->x, h.made->n, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_push(analysis, NULL, 0, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_finish(analysis, &r, NULL), GIRTHLINE_OK);
  assert_int_equal(r->n_beats, whole->n_beats);
  assert_same_beats(r, whole);
  assert_near(r->recording.duration_s, 30, 1e-9);
  assert_int_equal(r->recording.channels, 1);
  assert_int_equal(r->recording.channel_used, 1);
  assert_true(strlen(r->recording.encoding) > 0);
  const girthline_report_input input = {.result = r, .name = "a stream", .content_hash = "xxh3-128:0"};
  char *page = girthline_report_html(&input, 1, NULL, NULL); // there is no sound to put into it
  assert_non_null(page);
  assert_non_null(strstr(page, "a stream"));
  assert_null(strstr(page, "<audio"));
  girthline_text_free(page);
  girthline_result_free(r);
  r = NULL;
  girthline_error error = {0};
  assert_int_equal(girthline_analysis_push(analysis, h.made->x, 1, &error), GIRTHLINE_BAD_ARGUMENT);
  assert_int_equal(girthline_analysis_finish(analysis, &r, &error), GIRTHLINE_BAD_ARGUMENT);
  assert_null(r);
  girthline_analysis_free(analysis);
  girthline_result_free(whole);
  held_free(&h);
}

static void samples_that_are_not_finite_count_as_zero(void **state) {
  (void)state;
  held h = held_of(12, 1);
  for (size_t i = 0; i < h.made->n; i += 37) h.made->x[i] = i % 2 ? NAN : INFINITY;
  girthline_result *whole = recorded_analyse(h.made, NULL), *r = NULL;
  girthline_recording recording = whole->recording;
  girthline_analysis *analysis = NULL;
  assert_int_equal(girthline_analysis_new(&recording, NULL, &analysis, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_push(analysis, h.made->x, h.made->n, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_finish(analysis, &r, NULL), GIRTHLINE_OK);
  assert_the_same(whole, r);
  girthline_result_free(whole);
  girthline_result_free(r);
  girthline_analysis_free(analysis);
  held_free(&h);
}

// Nobody knows how long it will be: the picture is as fine as without an end stated.
static void a_stream_may_end_long_before_its_part_does(void **state) {
  (void)state;
  held h = held_of(12, 1);
  for (int stated = 0; stated < 2; stated++) {
    const girthline_recording recording = {.sample_rate_hz = h.made->rate_hz};
    girthline_settings settings = girthline_settings_default();
    if (stated) settings.to_s = 1e6;
    girthline_analysis *analysis = NULL;
    girthline_result *r = NULL;
    assert_int_equal(girthline_analysis_new(&recording, &settings, &analysis, NULL), GIRTHLINE_OK);
    assert_int_equal(girthline_analysis_push(analysis, h.made->x, h.made->n, NULL), GIRTHLINE_OK);
    assert_int_equal(girthline_analysis_finish(analysis, &r, NULL), GIRTHLINE_OK);
    assert_near(r->recording.duration_s, 12, 1e-9);
    assert_true(r->pictures.n_overview >= GIRTHLINE_OVERVIEW_N / 2);
    girthline_result_free(r);
    girthline_analysis_free(analysis);
  }
  held_free(&h);
}

static void an_impossible_stream_is_refused_with_a_sentence(void **state) {
  (void)state;
  static const double RATES_HZ[] = {0, -1, 999, 192001, NAN, INFINITY};
  girthline_analysis *analysis = NULL;
  for (size_t k = 0; k < 6; k++) {
    girthline_error error = {0};
    const girthline_recording recording = {.sample_rate_hz = RATES_HZ[k]};
    assert_int_equal(girthline_analysis_new(&recording, NULL, &analysis, &error), GIRTHLINE_BAD_ARGUMENT);
    assert_non_null(strstr(error.text, "samples a second"));
    assert_null(analysis);
  }
  girthline_settings settings = girthline_settings_default();
  settings.from_s = 1;
  const girthline_recording recording = {.sample_rate_hz = 4000};
  const float silence[4000] = {0};
  for (size_t n = 0; n <= 4000; n += 2000) { // nothing at all, or nothing behind from_s
    girthline_result *r = NULL;
    girthline_error error = {0};
    assert_int_equal(girthline_analysis_new(&recording, &settings, &analysis, NULL), GIRTHLINE_OK);
    assert_int_equal(girthline_analysis_push(analysis, silence, n, NULL), GIRTHLINE_OK);
    assert_int_equal(girthline_analysis_finish(analysis, &r, &error), GIRTHLINE_BAD_ARGUMENT);
    assert_null(r);
    assert_true(strlen(error.text) > 0);
    girthline_analysis_free(analysis);
  }
  girthline_analysis_free(NULL);
}

static void one_sample_is_a_result_and_an_unusable_one(void **state) {
  (void)state;
  const girthline_recording recording = {.sample_rate_hz = 4000};
  const float sample = 0.5f;
  girthline_analysis *analysis = NULL;
  girthline_result *r = NULL;
  assert_int_equal(girthline_analysis_new(&recording, NULL, &analysis, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_push(analysis, &sample, 1, NULL), GIRTHLINE_OK);
  assert_int_equal(girthline_analysis_finish(analysis, &r, NULL), GIRTHLINE_OK);
  assert_int_equal(r->quality.grade, GIRTHLINE_UNUSABLE);
  assert_int_equal(r->n_beats, 0);
  girthline_result_free(r);
  girthline_analysis_free(analysis);
}

static void a_reader_says_what_cannot_be_opened(void **state) {
  (void)state;
  girthline_reader *reader = NULL;
  girthline_error error = {0};
  assert_int_equal(girthline_reader_open_file("no such file.wav", 0, &reader, &error), GIRTHLINE_CANNOT_READ);
  assert_null(reader);
  assert_non_null(strstr(error.text, "no such file.wav"));
  assert_int_equal(girthline_reader_open_memory("abc", 3, "three letters", 0, &reader, NULL), GIRTHLINE_NOT_AUDIO);
  assert_null(reader);
  girthline_reader_free(NULL);
}

static void a_reader_takes_the_channel_it_is_told(void **state) {
  (void)state;
  recorded *w = recorded_new(8000, 3, 4000);
  size_t n_bytes, got;
  float x[2];
  girthline_reader *reader = NULL;
  girthline_error error = {0};
  for (size_t i = 0; i < 3 * w->n; i++) w->x[i] = 0.1f * (float)(i % 3);
  unsigned char *bytes = recorded_wav(w, &n_bytes);
  for (int channel = 1; channel <= 3; channel++) {
    assert_int_equal(girthline_reader_open_memory(bytes, n_bytes, "three channels", channel, &reader, NULL), GIRTHLINE_OK);
    assert_int_equal(girthline_reader_recording(reader)->channel_used, channel);
    assert_int_equal(girthline_reader_read(reader, x, 2, &got, NULL), GIRTHLINE_OK);
    assert_true(got == 2 && x[0] == w->x[channel - 1] && x[1] == w->x[channel - 1]);
    girthline_reader_free(reader);
  }
  assert_int_equal(girthline_reader_open_memory(bytes, n_bytes, "three channels", -1, &reader, NULL), GIRTHLINE_BAD_ARGUMENT);
  assert_int_equal(girthline_reader_open_memory(bytes, n_bytes, "three channels", 4, &reader, &error), GIRTHLINE_BAD_ARGUMENT);
  assert_null(reader);
  assert_non_null(strstr(error.text, "three channels: there is no channel 4: give 1 to 3"));
  test_free(bytes);
  recorded_free(w);
}

// Everything from opening to the result with the k-th request for memory refused; the status.
static girthline_status refused_at(const held *h, size_t k, girthline_result **r) {
  girthline_reader *reader = NULL;
  girthline_analysis *analysis = NULL;
  float samples[500];
  size_t got = 1;
  gn_memory_refuse(k);
  girthline_status status = girthline_reader_open_memory(h->bytes, h->n_bytes, "made in memory", 0, &reader, NULL);
  if (status == GIRTHLINE_OK) status = girthline_analysis_new(girthline_reader_recording(reader), NULL, &analysis, NULL);
  while (status == GIRTHLINE_OK && got) {
    status = girthline_reader_read(reader, samples, 500, &got, NULL);
    if (status == GIRTHLINE_OK) status = girthline_analysis_push(analysis, samples, got, NULL);
  }
  if (status == GIRTHLINE_OK) status = girthline_analysis_finish(analysis, r, NULL);
  gn_memory_refuse(0);
  if (status != GIRTHLINE_OK && analysis) {
    assert_int_equal(girthline_analysis_push(analysis, samples, 1, NULL), GIRTHLINE_NO_MEMORY); // a fault stays
    assert_int_equal(girthline_analysis_finish(analysis, r, NULL), GIRTHLINE_NO_MEMORY);
  }
  girthline_analysis_free(analysis);
  girthline_reader_free(reader);
  return status;
}

static void refused_memory_is_an_error_that_stays_and_leaks_nothing(void **state) {
  (void)state;
  held h = held_of(8, 1);
  size_t refused = 0, k = 1;
  for (; k < 20000; k += 1 + k / 12, refused++) {
    girthline_result *r = NULL;
    const girthline_status status = refused_at(&h, k, &r);
    girthline_result_free(r);
    if (status == GIRTHLINE_OK) break;
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
    assert_null(r);
  }
  assert_true(refused > 30 && k < 20000);
  held_free(&h);
}

static void *pushed_beside(void *argument) {
  held *h = argument;
  girthline_result *r = pushed(h, NULL, 1000);
  char *json = json_of(r);
  girthline_result_free(r);
  return json;
}

static void analyses_in_several_threads_do_not_meet(void **state) {
  (void)state;
  enum { N = 4 };
  held h[N];
  pthread_t threads[N];
  for (int i = 0; i < N; i++) h[i] = held_of(10 + 3 * i, 1 + i % 2);
  for (int i = 0; i < N; i++) assert_int_equal(pthread_create(&threads[i], NULL, pushed_beside, &h[i]), 0);
  for (int i = 0; i < N; i++) {
    void *beside = NULL;
    assert_int_equal(pthread_join(threads[i], &beside), 0);
    char *alone = pushed_beside(&h[i]);
    assert_string_equal(alone, beside);
    girthline_text_free(alone);
    girthline_text_free(beside);
    held_free(&h[i]);
  }
}

static void *page_beside(void *argument) {
  const girthline_report_input input = {.result = argument, .name = "in a thread", .content_hash = "xxh3-128:0"};
  return girthline_report_html(&input, 1, NULL, NULL);
}

static void pages_of_one_result_in_several_threads_do_not_meet(void **state) {
  (void)state;
  enum { N = 4 };
  held h = held_of(12, 1);
  girthline_result *r = recorded_analyse(h.made, NULL);
  pthread_t threads[N];
  for (int i = 0; i < N; i++) assert_int_equal(pthread_create(&threads[i], NULL, page_beside, r), 0);
  char *alone = page_beside(r);
  assert_non_null(alone);
  for (int i = 0; i < N; i++) {
    void *beside = NULL;
    assert_int_equal(pthread_join(threads[i], &beside), 0);
    assert_non_null(beside);
    assert_string_equal(alone, beside);
    girthline_text_free(beside);
  }
  girthline_text_free(alone);
  girthline_result_free(r);
  held_free(&h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(blocks_of_any_size_give_what_the_whole_file_gives),
      cmocka_unit_test(a_part_and_sounds_given_by_hand_give_what_the_whole_file_gives),
      cmocka_unit_test(a_stream_that_states_its_rate_alone_has_the_same_beats),
      cmocka_unit_test(samples_that_are_not_finite_count_as_zero),
      cmocka_unit_test(a_stream_may_end_long_before_its_part_does),
      cmocka_unit_test(an_impossible_stream_is_refused_with_a_sentence),
      cmocka_unit_test(one_sample_is_a_result_and_an_unusable_one),
      cmocka_unit_test(a_reader_says_what_cannot_be_opened), cmocka_unit_test(a_reader_takes_the_channel_it_is_told),
      cmocka_unit_test(refused_memory_is_an_error_that_stays_and_leaks_nothing),
      cmocka_unit_test(analyses_in_several_threads_do_not_meet),
      cmocka_unit_test(pages_of_one_result_in_several_threads_do_not_meet),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
