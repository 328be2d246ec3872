// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/html.h"

static void assert_escaped(const char *text, const char *want) {
  gn_html html = {0};
  gn_html_raw(&html, "");
  gn_html_text(&html, text);
  assert_string_equal(html.text, want);
  gn_html_clear(&html);
}

static void markup_signs_become_entities(void **state) {
  (void)state;
  assert_escaped("</title><script>\"x\" & 'y'", "&lt;/title&gt;&lt;script&gt;&quot;x&quot; &amp; &#39;y&#39;");
}

static void letters_of_any_script_stay(void **state) {
  (void)state;
  assert_escaped("Gr\xC3\xB6\xC3\x9F"
                 "e \xE5\xBF\x83 \xF0\x9F\x90\xB4",
                 "Gr\xC3\xB6\xC3\x9F"
                 "e \xE5\xBF\x83 \xF0\x9F\x90\xB4");
}

static void controls_and_direction_marks_are_seen(void **state) {
  (void)state;
  assert_escaped("a\x1B[31m\x7F\xC2\x9B", "a\xEF\xBF\xBD[31m\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_escaped("\xE2\x80\xAEgpj\xE2\x81\xA6\xE2\x80\x8F", "\xEF\xBF\xBDgpj\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_escaped("a\tb\nc", "a b c");
}

// Unicode 15, table 3-7: overlong forms, surrogates, and what lies beyond 10FFFF are not UTF-8.
static void bytes_that_are_no_utf8_become_replacement_characters(void **state) {
  (void)state;
  assert_escaped("\xFFz", "\xEF\xBF\xBDz");
  assert_escaped("\xC0\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_escaped("\xED\xA0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_escaped("\xF4\x90\x80\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_escaped("end\xE2\x82", "end\xEF\xBF\xBD\xEF\xBF\xBD");
}

static void a_number_and_its_unit_stay_on_one_line_in_a_sentence(void **state) {
  (void)state;
  gn_html html = {0};
  gn_html_prose(&html, "1.0 % & 20 ms, 16.5 dB (25 to 700 Hz) over 8 s; 4 sounds, 2 dBx, 3 % 4 minutes, s 5");
  assert_string_equal(html.text, "1.0\xC2\xA0% &amp; 20\xC2\xA0ms, 16.5\xC2\xA0"
                                 "dB (25 to 700\xC2\xA0Hz) over 8\xC2\xA0s; 4 sounds, 2 dBx, 3\xC2\xA0% 4 minutes, s 5");
  gn_html_clear(&html);
  assert_escaped("take 3 s.wav", "take 3 s.wav");
}

static void no_text_writes_nothing(void **state) {
  (void)state;
  assert_escaped(NULL, "");
  assert_escaped("", "");
}

// RFC 4648, section 10.
static void base64_is_that_of_the_standard(void **state) {
  (void)state;
  static const char *const PAIRS[][2] = {
      {"", ""}, {"f", "Zg=="}, {"fo", "Zm8="}, {"foo", "Zm9v"}, {"foob", "Zm9vYg=="}, {"fooba", "Zm9vYmE="}, {"foobar", "Zm9vYmFy"}};
  for (size_t i = 0; i < sizeof PAIRS / sizeof PAIRS[0]; i++) {
    gn_html html = {0};
    gn_html_base64(&html, PAIRS[i][0], strlen(PAIRS[i][0]));
    assert_string_equal(html.text, PAIRS[i][1]);
    gn_html_clear(&html);
  }
}

static void assert_number(double value, int decimals, const char *want) {
  gn_html html = {0};
  gn_html_number(&html, value, decimals);
  assert_string_equal(html.text, want);
  gn_html_clear(&html);
}

static void a_number_is_rounded_half_away_from_zero(void **state) {
  (void)state;
  assert_number(34.5, 0, "35");
  assert_number(34.49996, 0, "34");
  assert_number(-2.5, 0, "-3");
  assert_number(-0.00001, 2, "0.00");
  assert_number(1.25, 1, "1.3");
  assert_number(12345.6789, 4, "12345.6789");
}

static void a_refused_allocation_is_remembered(void **state) {
  (void)state;
  gn_html html = {0};
  gn_memory_refuse(1);
  gn_html_raw(&html, "x");
  gn_memory_refuse(0);
  gn_html_raw(&html, "y");
  assert_true(html.failed);
  assert_null(gn_html_take(&html));
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(markup_signs_become_entities),
                                     cmocka_unit_test(letters_of_any_script_stay),
                                     cmocka_unit_test(controls_and_direction_marks_are_seen),
                                     cmocka_unit_test(bytes_that_are_no_utf8_become_replacement_characters),
                                     cmocka_unit_test(a_number_and_its_unit_stay_on_one_line_in_a_sentence),
                                     cmocka_unit_test(no_text_writes_nothing),
                                     cmocka_unit_test(base64_is_that_of_the_standard),
                                     cmocka_unit_test(a_number_is_rounded_half_away_from_zero),
                                     cmocka_unit_test(a_refused_allocation_is_remembered)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
