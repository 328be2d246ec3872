// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "report/pdf_front.h"
#include "sample_result.h"

typedef struct document {
  void *data;
  size_t n;
} document;

static document made(const girthline_result *result, const char *name, size_t n_recordings) {
  girthline_report_input inputs[4];
  girthline_error error = {0};
  document d;
  void *sound = NULL;
  size_t n_bytes = 0;
  sample_sound(&sound, &n_bytes);
  for (size_t i = 0; i < n_recordings; i++) inputs[i] = (girthline_report_input){result, name, NULL, sound, n_bytes, "xxh3-128:0"};
  assert_int_equal(girthline_report_pdf(inputs, n_recordings, NULL, &d.data, &d.n, &error), GIRTHLINE_OK);
  free(sound);
  return d;
}

static size_t count(document d, const char *what) {
  size_t n = 0;
  const char *at = d.data, *end = at + d.n;
  while ((at = memmem(at, (size_t)(end - at), what, strlen(what)))) n++, at++;
  return n;
}

static void a_recording_has_two_pages(void **state) {
  (void)state;
  girthline_result *full = sample_result_full(), *empty = sample_result_empty();
  for (size_t n = 1; n <= 3; n++) {
    document d = made(full, "a.wav", n), e = made(empty, "a.wav", n);
    assert_memory_equal(d.data, "%PDF-", 5);
    assert_int_equal(count(d, "/Type /Page %"), 2 * n);
    assert_int_equal(count(e, "/Type /Page %"), 2 * n);
    girthline_data_free(d.data);
    girthline_data_free(e.data);
  }
  girthline_result_free(full);
  girthline_result_free(empty);
}

static void the_same_recording_gives_the_same_bytes(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  document a = made(r, "a.wav", 2), b = made(r, "a.wav", 2);
  assert_int_equal(a.n, b.n);
  assert_memory_equal(a.data, b.data, a.n);
  girthline_data_free(a.data);
  girthline_data_free(b.data);
  girthline_result_free(r);
}

static void no_link_is_written_and_the_creator_is_named(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  document d = made(r, "a.wav", 1);
  assert_int_equal(count(d, "/Link"), 0);
  assert_int_equal(count(d, "/Creator (girthline)"), 1);
  assert_int_equal(count(d, "/Title (Heart sounds, measured"), 1);
  girthline_data_free(d.data);
  girthline_result_free(r);
}

static void the_date_is_the_recordings_or_a_fixed_one(void **state) {
  (void)state;
  static const struct {
    const char *at, *date;
  } CASES[] = {{"2026-05-04T10:20:30", "/CreationDate (20260504102030Z"},
               {"2026-05-04 10:20", "/CreationDate (20260504102000Z"},
               {"2026-05-04", "/CreationDate (20260504000000Z"},
               {"", "/CreationDate (20000101000000Z"},
               {"4th of May) /Evil (x", "/CreationDate (20000101000000Z"},
               {"2026-5", "/CreationDate (20000101000000Z"}};
  girthline_result *r = sample_result_full();
  for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
    snprintf(r->recording.recorded_at, sizeof r->recording.recorded_at, "%s", CASES[i].at);
    document d = made(r, "a.wav", 1);
    assert_int_equal(count(d, CASES[i].date), 1);
    girthline_data_free(d.data);
  }
  girthline_result_free(r);
}

static void any_name_and_the_longest_text_keep_to_two_pages(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  char *text = malloc(20001);
  memset(text, 'w', 20000);
  text[20000] = 0;
  gn_free(r->findings[0].advice);
  r->findings[0].advice = gn_strdup(text);
  document d = made(r, text, 1);
  assert_int_equal(count(d, "/Type /Page %"), 2);
  girthline_data_free(d.data);
  gn_free(r->findings[0].advice); // laying out so long a text takes seconds: once is enough
  r->findings[0].advice = gn_strdup("Listen again.");
  for (size_t i = 0; SAMPLE_HOSTILE[i]; i++) {
    d = made(r, SAMPLE_HOSTILE[i], 1);
    assert_int_equal(count(d, "/Type /Page %"), 2);
    girthline_data_free(d.data);
  }
  free(text);
  girthline_result_free(r);
}

#define N_FACTS 121

static size_t pages_of_facts(gn_front_kind kind, const char *text) {
  gn_front_line lines[N_FACTS];
  for (size_t i = 0; i < N_FACTS; i++) lines[i] = (gn_front_line){.kind = kind, .text = text};
  const gn_front front = {.lines = lines, .n_lines = N_FACTS, .name = "facts"};
  girthline_error error = {0};
  document d;
  assert_int_equal(gn_pdf_write(&front, NULL, 0, NULL, &d.data, &d.n, &error), GIRTHLINE_OK);
  const size_t n = count(d, "/Type /Page %");
  girthline_data_free(d.data);
  return n;
}

// A page holds some 70 lines.
static void two_short_facts_stand_beside_one_another(void **state) {
  (void)state;
  assert_int_equal(pages_of_facts(GN_FRONT_BODY, "Sex: mare"), 2);
  assert_int_equal(pages_of_facts(GN_FRONT_FACT, "Sex: mare"), 1);
  assert_int_equal(pages_of_facts(GN_FRONT_FACT, "History: blows for longer after a hill than she did a year ago, says the owner"), 2);
}

static void refused_memory_gives_no_document(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  const girthline_report_input input = {r, "a.wav", NULL, NULL, 0, "xxh3-128:0"};
  girthline_status status = GIRTHLINE_NO_MEMORY;
  size_t k = 1;
  for (; status != GIRTHLINE_OK && k < 5000; k += 1 + k / 4) {
    girthline_error error = {0};
    void *data = NULL;
    size_t n = 1;
    gn_memory_refuse(k);
    status = girthline_report_pdf(&input, 1, NULL, &data, &n, &error);
    gn_memory_refuse(0);
    if (status == GIRTHLINE_OK) assert_non_null(data);
    else assert_true(status == GIRTHLINE_NO_MEMORY && !data && !n);
    girthline_data_free(data);
  }
  assert_true(k > 2 && status == GIRTHLINE_OK);
  girthline_result_free(r);
}

static void no_recording_is_a_bad_argument(void **state) {
  (void)state;
  girthline_error error = {0};
  void *data = NULL;
  size_t n = 0;
  assert_int_equal(girthline_report_pdf(NULL, 0, NULL, &data, &n, &error), GIRTHLINE_BAD_ARGUMENT);
  assert_null(data);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_recording_has_two_pages),
      cmocka_unit_test(the_same_recording_gives_the_same_bytes),
      cmocka_unit_test(no_link_is_written_and_the_creator_is_named),
      cmocka_unit_test(the_date_is_the_recordings_or_a_fixed_one),
      cmocka_unit_test(any_name_and_the_longest_text_keep_to_two_pages),
      cmocka_unit_test(two_short_facts_stand_beside_one_another),
      cmocka_unit_test(refused_memory_gives_no_document),
      cmocka_unit_test(no_recording_is_a_bad_argument),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
