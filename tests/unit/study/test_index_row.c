// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "study/batch_index.h"
#include "study/batch_row.h"

static char animal[] = "Oriel", file[] = "a<b.wav", path[] = "set/a<b.wav";
static gn_batch_item item(void) {
  gn_batch_item i = {.file = file, .path = path, .animal = animal, .number = 1};
  i.settings.species = GIRTHLINE_HORSE;
  return i;
}

// The row of a result, to the end of the test that asked for it.
static const char *row_of(const girthline_result *r, const gn_batch_row *row) {
  static char text[8000];
  gn_buffer b = {0};
  const gn_batch_item i = item();
  gn_batch_index_row(&b, row, &i, r);
  assert_false(b.refused);
  assert_true(b.n < sizeof text);
  memcpy(text, b.text, b.n);
  text[b.n] = '\0';
  gn_buffer_clear(&b);
  return text;
}

// n intervals one after the other; a negative length is one that was not used.
static girthline_result *with_intervals(const double *len_s, size_t n, double mean_s) {
  girthline_result *r = gn_result_new();
  assert_non_null(r);
  r->rhythm.mean_interval_s = mean_s;
  r->rhythm.intervals = gn_new(n, sizeof *r->rhythm.intervals);
  double t = 0.3;
  for (size_t i = 0; i < n; i++, t += fabs(len_s[i - 1])) r->rhythm.intervals[i] = (girthline_interval){{t, t + fabs(len_s[i])}, len_s[i] > 0};
  r->rhythm.n_intervals = n;
  return r;
}

static void assert_picture(const double *len_s, size_t n, double mean_s, const char *want) {
  girthline_result *r = with_intervals(len_s, n, mean_s);
  const gn_batch_row row = {.status = GIRTHLINE_OK};
  const char *text = row_of(r, &row), *from = strstr(text, "<path d=\"");
  if (!want) assert_null(from);
  else {
    assert_non_null(from);
    from += strlen("<path d=\"");
    assert_int_equal(strcspn(from, "\""), strlen(want));
    assert_memory_equal(from, want, strlen(want));
  }
  girthline_result_free(r);
}

// Of the 24 units of height the floor is no time at all and the top two and a half mean intervals: an interval as long as the mean stands
// at 24 (1 - 1 / 2.5) = 14.4, one of twice that at 4.8, and none leaves the picture. Each is as wide as the 120 units give it.
static void an_interval_stands_as_high_as_it_is_long(void **state) {
  (void)state;
  const double len_s[] = {1.5, 3, 6, 0.01, 0.75};
  assert_picture(len_s, 5, 1.5, "M0 14.4h24M24 4.8h24M48 1h24M72 23h24M96 19.2h24");
}

static void an_interval_not_used_leaves_a_gap(void **state) {
  (void)state;
  const double len_s[] = {1.5, -1.5, 1.5}, none[] = {-1.5};
  assert_picture(len_s, 3, 1.5, "M0 14.4h40M80 14.4h40");
  assert_picture(none, 1, 1.5, "");
  assert_picture(len_s, 0, 1.5, NULL);
  assert_picture(len_s, 3, NAN, NULL);
}

// 120 intervals are two to each of sixty steps, drawn from the longer to the shorter and half a unit beyond, so that equal ones show.
static void many_intervals_share_a_step_from_the_shortest_to_the_longest(void **state) {
  (void)state;
  double len_s[120];
  char want[4000] = "";
  for (size_t i = 0; i < 120; i++) len_s[i] = i == 6 ? 3 : i == 9 ? 0.75 : i == 12 ? -1.5 : 1.5;
  for (size_t k = 0; k < 60; k++)
    snprintf(want + strlen(want), sizeof want - strlen(want), "M%zu %sV%s", 2 * k, k == 3 ? "4.8" : "14.4", k == 4 ? "19.7" : "14.9");
  assert_picture(len_s, 120, 1.5, want);
  want[0] = '\0';
  for (size_t k = 0; k < 60; k++) snprintf(want + strlen(want), sizeof want - strlen(want), "M%zu 14.4h2", 2 * k);
  for (size_t i = 0; i < 60; i++) len_s[i] = 1.5;
  assert_picture(len_s, 60, 1.5, want);
}

// The cells in the order of the page's head; a text that is markup stands as text.
static void a_row_says_what_was_found(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  r->rate.bpm = 52, r->rate.settled_bpm = 41.5;
  r->rhythm.pattern = GIRTHLINE_PAUSES;
  r->murmur.present = GIRTHLINE_YES;
  r->murmur.n_phases = 1;
  r->murmur.phases[0].phase = GIRTHLINE_SYSTOLE;
  r->murmur.phases[0].timing = GIRTHLINE_HOLO;
  gn_batch_row row = {.status = GIRTHLINE_OK, .grade = GIRTHLINE_FAIR, .page = "pages/1.html", .reason = "R & D"};
  assert_string_equal(row_of(r, &row), "</td><th class=\"name\" scope=\"row\"><a href=\"pages/1.html\">a&lt;b.wav</a></th><td>Oriel</td><td>horse</td><td>fair</td>"
                                       "<td class=\"n\">42</td><td>pauses</td><td></td><td data-is=\"found\">found: through systole</td><td>R &amp; D</td></tr>\n");
  r->rate.settled_bpm = NAN;
  r->murmur.phases[0].timing = GIRTHLINE_EARLY;
  r->murmur.phases[0].phase = GIRTHLINE_DIASTOLE;
  row.page[0] = row.reason[0] = '\0';
  const char *text = row_of(r, &row);
  assert_non_null(strstr(text, "<th class=\"name\" scope=\"row\">a&lt;b.wav</th>"));
  assert_non_null(strstr(text, "<td class=\"n\">52</td>")); // no settled rate: that of the whole
  assert_non_null(strstr(text, ">found: early diastole</td>"));
  girthline_result_free(r);
}

static void what_was_not_determined_is_not_shown_as_none(void **state) {
  (void)state;
  girthline_result *r = gn_result_new();
  gn_batch_row row = {.status = GIRTHLINE_OK, .grade = GIRTHLINE_UNUSABLE};
  const char *text = row_of(r, &row);
  assert_non_null(strstr(text, "<td data-is=\"\">not determined</td><td>not determined</td><td></td><td data-is=\"not determined\">not determined</td>"));
  r->murmur.present = GIRTHLINE_NO;
  assert_non_null(strstr(row_of(r, &row), "<td data-is=\"none found\">none found</td>"));
  girthline_result_free(r);
  row.status = GIRTHLINE_CANNOT_READ;
  assert_non_null(strstr(row_of(NULL, &row), "<td>failed</td><td></td><td></td><td></td><td></td><td></td></tr>"));
}

// Bars of five beats a minute, from the lowest to the highest that holds a recording: the tallest fills 160 units, the others their share, and
// each begins over the number that its label says. What failed, or has no rate, is in no bar.
static void the_page_shows_how_the_rates_and_the_quality_lie(void **state) {
  (void)state;
  gn_index_counts c = {{0}, {0}, 0, 0};
  static const struct { bool failed; girthline_grade grade; double bpm; } ROWS[] = {
      {false, GIRTHLINE_GOOD, 30}, {false, GIRTHLINE_GOOD, 34.9}, {false, GIRTHLINE_FAIR, 35}, {false, GIRTHLINE_POOR, 47}, {false, GIRTHLINE_UNUSABLE, NAN}, {true, GIRTHLINE_GOOD, 33}};
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) gn_index_count(&c, ROWS[i].failed, ROWS[i].grade, ROWS[i].bpm);
  gn_buffer b = {0};
  gn_index_head(&b, &c);
  gn_buffer_add(&b, "", 1);
  assert_false(b.refused);
  static const char *const SAYS[] = {
      "<h2>6 recordings</h2>", "out of the 4 with a rate",
      // Four bars in five places of 128 units: 2, 1, none and 1 of at most 2.
      "<rect x=\"1\" y=\"14\" width=\"126\" height=\"160\"/><rect x=\"129\" y=\"94\" width=\"126\" height=\"80\"/><rect x=\"257\" y=\"174\" width=\"126\" height=\"0\"/>"
      "<rect x=\"385\" y=\"94\" width=\"126\" height=\"80\"/>",
      "<text x=\"0\" y=\"194\">30</text><text x=\"128\" y=\"194\">35</text><text x=\"256\" y=\"194\">40</text><text x=\"384\" y=\"194\">45</text>"
      "<text x=\"512\" y=\"194\">50</text><text x=\"0\" y=\"10\">2</text>",
      "aria-label=\"How many recordings have which rate, in beats a minute: 30 to 35: 2, 35 to 40: 1, 45 to 50: 1\"",
      "aria-label=\"How many recordings are of which quality: good 2, fair 1, poor 1, unusable 1, failed 1\"",
      // Each quality under its bar, and how many above it.
      "good</text><text x=\"4\" y=\"10\">2</text>", "fair</text><text x=\"132\" y=\"90\">1</text>", "poor</text><text x=\"260\" y=\"90\">1</text>",
      "unusable</text><text x=\"388\" y=\"90\">1</text>", "failed</text><text x=\"516\" y=\"90\">1</text>"};
  for (size_t i = 0; i < sizeof SAYS / sizeof *SAYS; i++) {
    if (!strstr(b.text, SAYS[i])) print_error("not in the page: %s\n", SAYS[i]);
    assert_non_null(strstr(b.text, SAYS[i]));
  }
  gn_buffer_clear(&b);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_interval_stands_as_high_as_it_is_long),
      cmocka_unit_test(an_interval_not_used_leaves_a_gap),
      cmocka_unit_test(many_intervals_share_a_step_from_the_shortest_to_the_longest),
      cmocka_unit_test(a_row_says_what_was_found),
      cmocka_unit_test(the_page_shows_how_the_rates_and_the_quality_lie),
      cmocka_unit_test(what_was_not_determined_is_not_shown_as_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
