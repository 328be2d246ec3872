// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/random.h"
#include "study/csv.h"

static FILE *text_file(const char *text, size_t n) {
  FILE *file = tmpfile();
  assert_non_null(file);
  assert_int_equal(fwrite(text, 1, n, file), n);
  rewind(file);
  return file;
}

// All fields of a text: "a|b/" for a record of two.
static void reads(const char *text, const char *want) {
  char got[500] = "";
  FILE *file = text_file(text, strlen(text));
  gn_csv csv = gn_csv_reader(file);
  while (gn_csv_next(&csv) == GN_CSV_RECORD) {
    for (size_t i = 0; i < csv.n_fields; i++) snprintf(got + strlen(got), sizeof got - strlen(got), "%s%s", i ? "|" : "", gn_csv_field(&csv, i));
    strcat(got, "/");
  }
  assert_null(csv.fault);
  assert_string_equal(got, want);
  gn_csv_clear(&csv);
  fclose(file);
}

static void records_are_read_as_rfc_4180_has_them(void **state) {
  (void)state;
  reads("", "");
  reads("a,b\r\nc,d\r\n", "a|b/c|d/");
  reads("a,b\nc,d", "a|b/c|d/");
  reads("\"a\",\"b,c\",\"d\"\"e\"\n", "a|b,c|d\"e/");
  reads("\"line\nfeed\",x\n", "line\nfeed|x/");
  reads(",,\n\n", "||//");
  reads("\xEF\xBB\xBF" "a,b\n", "a|b/");
  reads("\"\",\"\"\"\"\n", "|\"/");
  reads("a\rb\r", "a/b/");
}

static void a_fault_names_its_line(void **state) {
  (void)state;
  static const struct { const char *text; size_t n, line; } FAULTS[] = {
      {"a\n\"b\nc", 6, 2}, {"a\nb\"c\n", 6, 2}, {"\"a\"b\n", 5, 1}, {"x\ny\na\0b\n", 8, 3}, {"\"a\nb\"\n\"c\"d\n", 11, 3}};
  for (size_t i = 0; i < sizeof FAULTS / sizeof *FAULTS; i++) {
    FILE *file = text_file(FAULTS[i].text, FAULTS[i].n);
    gn_csv csv = gn_csv_reader(file);
    while (gn_csv_next(&csv) == GN_CSV_RECORD) {}
    assert_non_null(csv.fault);
    assert_int_equal(csv.line, FAULTS[i].line);
    assert_int_equal(gn_csv_next(&csv), GN_CSV_FAULT); // and stays
    gn_csv_clear(&csv);
    fclose(file);
  }
}

// A quote that is never closed, and a file that has no lines.
static void a_record_without_an_end_does_not_take_all_memory(void **state) {
  (void)state;
  static const char *const BEGINS[] = {"\"", ""};
  for (size_t k = 0; k < 2; k++) {
    FILE *file = tmpfile();
    fputs(BEGINS[k], file);
    for (int i = 0; i < 3000000; i++) putc('x', file);
    rewind(file);
    gn_csv csv = gn_csv_reader(file);
    assert_int_equal(gn_csv_next(&csv), GN_CSV_FAULT);
    assert_true(csv.text.capacity <= 4 * GN_CSV_RECORD_BYTES);
    gn_csv_clear(&csv);
    fclose(file);
  }
}

static void any_text_is_written_so_that_it_is_read_back(void **state) {
  (void)state;
  static const char SIGNS[] = "=+-@'\"%,; \t\r\nab0A\xff\xc3\xa4<";
  gn_random random = gn_random_of(3);
  for (int k = 0; k < 20000; k++) {
    char text[12] = "", field[200];
    const size_t n = (size_t)gn_random_below(&random, sizeof text);
    for (size_t i = 0; i < n; i++) text[i] = SIGNS[gn_random_below(&random, sizeof SIGNS - 1)];
    gn_buffer b = {0};
    gn_csv_text(&b, text, true);
    gn_csv_text(&b, "next", false);
    gn_buffer_puts(&b, "\n");
    FILE *file = text_file(b.text, b.n);
    gn_csv csv = gn_csv_reader(file);
    assert_int_equal(gn_csv_next(&csv), GN_CSV_RECORD);
    assert_int_equal(csv.n_fields, 2);
    snprintf(field, sizeof field, "%s", gn_csv_field(&csv, 0));
    assert_true(!*field || !strchr("=+-@\t\r\n ", *field));
    assert_true(!strpbrk(b.text, "\t\r") && strchr(b.text, '\n') == b.text + b.n - 1); // one line whatever the text
    gn_csv_restore(field);
    assert_string_equal(field, text);
    gn_csv_clear(&csv);
    fclose(file);
    gn_buffer_clear(&b);
  }
}

static void numbers_are_plain_and_none_is_empty(void **state) {
  (void)state;
  gn_buffer b = {0};
  gn_csv_number(&b, -14.25, 1);
  gn_csv_number(&b, (double)NAN, 2);
  gn_csv_number(&b, (double)INFINITY, 2);
  gn_csv_whole(&b, 7);
  assert_string_equal(b.text, ",-14.3,,,7");
  gn_buffer_clear(&b);
}

static void refused_memory_is_a_fault_of_no_file(void **state) {
  (void)state;
  static const char TEXT[] = "a,b,c,d,e,f,g,h,i,j,k,l,m,n,o,p,q\n\"a long field, in quotes, of some length so that the buffer grows\"\n";
  size_t refused = 0;
  for (size_t k = 1;; k++) {
    FILE *file = text_file(TEXT, sizeof TEXT - 1);
    gn_csv csv = gn_csv_reader(file);
    gn_memory_refuse(k);
    gn_csv_got got;
    while ((got = gn_csv_next(&csv)) == GN_CSV_RECORD) {}
    gn_memory_refuse(0);
    const bool was_refused = csv.refused;
    assert_int_equal(got, was_refused ? GN_CSV_FAULT : GN_CSV_END);
    gn_csv_clear(&csv);
    fclose(file);
    if (!was_refused) break;
    refused++;
  }
  assert_true(refused >= 3);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(records_are_read_as_rfc_4180_has_them),
      cmocka_unit_test(a_fault_names_its_line),
      cmocka_unit_test(a_record_without_an_end_does_not_take_all_memory),
      cmocka_unit_test(any_text_is_written_so_that_it_is_read_back),
      cmocka_unit_test(numbers_are_plain_and_none_is_empty),
      cmocka_unit_test(refused_memory_is_a_fault_of_no_file),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
