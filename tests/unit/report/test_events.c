// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/memory.h"
#include "report/events.h"
#include "report/figures_recovery.h"
#include "sample_result.h"

// A heart at 40 a minute over a minute, with pauses and early beats given as (start, ratio) and (onset, ratio).
static girthline_result *made(const double (*pauses)[2], size_t n_pauses, const double (*early)[2], size_t n_early) {
  girthline_result *r = sample_result_empty();
  r->recording.from_s = 0;
  r->recording.to_s = r->recording.duration_s = 60;
  r->rate.bpm = 40;
  r->rhythm.pauses = gn_new(n_pauses + 1, sizeof *r->rhythm.pauses);
  r->rhythm.early = gn_new(n_early + 1, sizeof *r->rhythm.early);
  for (size_t i = 0; i < n_pauses; i++)
    r->rhythm.pauses[r->rhythm.n_pauses++] = (girthline_pause){.span = {pauses[i][0], pauses[i][0] + 1.5 * pauses[i][1]}, .ratio = pauses[i][1]};
  for (size_t i = 0; i < n_early; i++) {
    r->rhythm.early[r->rhythm.n_early].onset_s = early[i][0];
    r->rhythm.early[r->rhythm.n_early++].ratio = early[i][1];
  }
  return r;
}

static void no_event_gives_none_and_no_words(void **state) {
  (void)state;
  girthline_result *r = made(NULL, 0, NULL, 0);
  gn_event events[GN_MOST_SHOWN_EVENTS];
  gn_buffer words = {0};
  assert_int_equal(gn_events_most(r, events), 0);
  gn_events_words(&words, r, GN_EVENTS_PAUSES, 5);
  assert_int_equal(words.n, 0);
  gn_buffer_clear(&words);
  girthline_result_free(r);
}

static void a_pause_is_shown_with_a_beat_before_and_after_it(void **state) {
  (void)state;
  girthline_result *r = made((const double[][2]){{20, 2}}, 1, NULL, 0);
  gn_event events[GN_MOST_SHOWN_EVENTS];
  assert_int_equal(gn_events_most(r, events), 1);
  assert_true(events[0].is_pause && events[0].index == 0);
  assert_near(events[0].at_s, 20, 1e-9);
  assert_true(events[0].around.start_s <= 20 - 1.5 && events[0].around.end_s >= 23 + 1.5); // the usual interval is 1.5 s
  girthline_result_free(r);
}

static void what_is_shown_stays_within_the_recording(void **state) {
  (void)state;
  girthline_result *r = made((const double[][2]){{0.2, 2}, {56.9, 2}}, 2, (const double[][2]){{30, 0.6}}, 1);
  gn_event events[GN_MOST_SHOWN_EVENTS];
  assert_int_equal(gn_events_most(r, events), 3);
  for (int i = 0; i < 3; i++) assert_true(events[i].around.start_s >= 0 && events[i].around.end_s <= 60);
  assert_true(!events[1].is_pause && events[1].at_s > 29.9);
  girthline_result_free(r);
}

// 0.4 of the usual interval is as far from it as 2.5 times.
static void the_furthest_are_shown_in_order_of_time(void **state) {
  (void)state;
  static const double PAUSES[][2] = {{5, 1.7}, {13, 1.8}, {21, 1.9}, {29, 2.0}, {37, 2.1}, {45, 2.2}};
  girthline_result *r = made(PAUSES, 6, (const double[][2]){{55, 0.4}}, 1);
  gn_event events[GN_MOST_SHOWN_EVENTS];
  assert_int_equal(gn_events_most(r, events), GN_MOST_SHOWN_EVENTS);
  assert_near(events[0].ratio, 1.8, 1e-9); // 1.7 gave way
  for (int i = 1; i < GN_MOST_SHOWN_EVENTS; i++) assert_true(events[i].at_s > events[i - 1].at_s);
  assert_false(events[GN_MOST_SHOWN_EVENTS - 1].is_pause);
  girthline_result_free(r);
}

static void the_list_says_how_many_it_leaves_out(void **state) {
  (void)state;
  static const double PAUSES[][2] = {{5, 1.7}, {13, 1.8}, {21, 1.9}};
  girthline_result *r = made(PAUSES, 3, (const double[][2]){{55, 0.7}}, 1);
  gn_buffer words = {0};
  gn_events_words(&words, r, GN_EVENTS_PAUSES, 2);
  assert_string_equal(words.text, "5.0 to 7.6\xC2\xA0s (1.7 times the usual), 13.0 to 15.7\xC2\xA0s (1.8 times the usual), and 1 more");
  gn_buffer_clear(&words);
  gn_events_words(&words, r, GN_EVENTS_EARLY, 2);
  assert_string_equal(words.text, "at 55.0\xC2\xA0s (0.7 times the usual)");
  gn_buffer_clear(&words);
  girthline_result_free(r);
}

static gn_html curve_of(gn_recovery_curve curve) {
  gn_html out = {0};
  girthline_error error = {0};
  assert_int_equal(gn_recovery_svg(&curve, 600, "x", &out, &error), GIRTHLINE_OK);
  return out;
}

static const gn_recovery_dot DOTS[] = {{5, 84, false}, {15, 56.4, true}, {30, NAN, false}, {50, 40, false}};

static void the_curve_shows_each_rate_the_rate_at_rest_and_the_bounds(void **state) {
  (void)state;
  gn_html svg = curve_of((gn_recovery_curve){DOTS, 4, 38, 43.7, 15, {30, 45}});
  static const char *const WORDS[] = {">84</text>", ">56</text>", ">40</text>", "at rest 38", "recovered: up to 44", "after light work", "after hard work", "since exercise ended, min"};
  for (size_t i = 0; i < sizeof WORDS / sizeof *WORDS; i++) assert_non_null(strstr(svg.text, WORDS[i]));
  gn_html_clear(&svg);
}

static void no_bound_is_drawn_where_none_is_published_and_no_rest_where_none_is_known(void **state) {
  (void)state;
  gn_html svg = curve_of((gn_recovery_curve){DOTS, 4, 38, NAN, 15, {30, 45}});
  assert_non_null(strstr(svg.text, "at rest 38"));
  assert_null(strstr(svg.text, "recovered"));
  assert_null(strstr(svg.text, "hard work"));
  gn_html_clear(&svg);
  svg = curve_of((gn_recovery_curve){DOTS, 4, NAN, NAN, 15, {30, 45}});
  assert_null(strstr(svg.text, "at rest"));
  gn_html_clear(&svg);
  svg = curve_of((gn_recovery_curve){DOTS + 2, 1, NAN, NAN, 15, {30, 45}}); // nothing but a rate not determined
  assert_null(strstr(svg.text, "nan"));
  gn_html_clear(&svg);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_event_gives_none_and_no_words),
      cmocka_unit_test(a_pause_is_shown_with_a_beat_before_and_after_it),
      cmocka_unit_test(what_is_shown_stays_within_the_recording),
      cmocka_unit_test(the_furthest_are_shown_in_order_of_time),
      cmocka_unit_test(the_list_says_how_many_it_leaves_out),
      cmocka_unit_test(the_curve_shows_each_rate_the_rate_at_rest_and_the_bounds),
      cmocka_unit_test(no_bound_is_drawn_where_none_is_published_and_no_rest_where_none_is_known),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
