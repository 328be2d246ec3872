// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Content and settings hashes.
#include "support.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <girthline/report.h>

// Source: XXH3's 128-bit hash of no bytes with seed 0, from the reference library's own sanity table.
#define HASH_OF_NOTHING "xxh3-128:99aa06d3014798d86001c324468d497f"

static void the_hash_of_nothing_is_the_published_one(void **state) {
  (void)state;
  char hash[48];
  girthline_content_hash_memory("", 0, hash);
  assert_string_equal(hash, HASH_OF_NOTHING);
}

static void a_file_hashes_as_its_bytes_do(void **state) {
  (void)state;
  char path[] = "/tmp/girthline-hash-XXXXXX", a[48], b[48];
  const size_t n = 300000; // over several blocks
  unsigned char *data = malloc(n);
  for (size_t i = 0; i < n; i++) data[i] = (unsigned char)(i * 7 + i / 251);
  const int fd = mkstemp(path);
  assert_int_equal(write(fd, data, n), n);
  close(fd);
  assert_int_equal(girthline_content_hash_path(path, a, NULL), GIRTHLINE_OK);
  girthline_content_hash_memory(data, n, b);
  assert_string_equal(a, b);
  unlink(path);
  free(data);
}

static void a_missing_file_cannot_be_hashed(void **state) {
  (void)state;
  char hash[48];
  girthline_error error = {0};
  assert_int_equal(girthline_content_hash_path("/nowhere/at/all.wav", hash, &error), GIRTHLINE_CANNOT_READ);
  assert_non_null(strstr(error.text, "/nowhere/at/all.wav"));
}

static void every_setting_changes_the_settings_hash(void **state) {
  (void)state;
  const girthline_given_sound sounds[] = {{1.0, GIRTHLINE_S1}, {1.4, GIRTHLINE_S2}};
  girthline_settings s[10];
  char hash[10][48];
  for (size_t i = 0; i < 10; i++) s[i] = girthline_settings_default();
  s[1].species = GIRTHLINE_DOG;
  s[2].age_days = 3;
  s[3].side = GIRTHLINE_LEFT;
  s[4].area = GIRTHLINE_MITRAL;
  s[5].minutes_after_exercise = 3;
  s[6].from_s = 3;
  s[7].to_s = 3;
  s[8].given = sounds;
  s[8].n_given = 1;
  s[9].given = sounds;
  s[9].n_given = 2;
  for (size_t i = 0; i < 10; i++) {
    girthline_settings_hash(&s[i], hash[i]);
    assert_int_equal(strlen(hash[i]), 9 + 32);
    for (size_t k = 0; k < i; k++) assert_string_not_equal(hash[i], hash[k]);
  }
  s[1] = girthline_settings_default();
  s[1].age_days = -7; // unknown is unknown
  girthline_settings_hash(&s[1], hash[1]);
  assert_string_equal(hash[0], hash[1]);
}

static void every_limit_changes_the_settings_hash(void **state) {
  (void)state;
  girthline_settings s = girthline_settings_default();
  girthline_limits limits = girthline_limits_default();
  char usual[48], hash[48], before[48] = "";
  girthline_settings_hash(&s, usual);
  s.limits = &limits;
  girthline_settings_hash(&s, hash);
  assert_string_equal(hash, usual); // what is in force counts, not how it came
  const girthline_limit *row;
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL; i++) {
    limits = girthline_limits_default();
    girthline_limit_set(row, &limits, row->usual == row->highest ? row->lowest : row->highest);
    girthline_settings_hash(&s, hash);
    assert_string_not_equal(hash, usual);
    assert_string_not_equal(hash, before);
    memcpy(before, hash, sizeof before);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_hash_of_nothing_is_the_published_one),
      cmocka_unit_test(a_file_hashes_as_its_bytes_do),
      cmocka_unit_test(a_missing_file_cannot_be_hashed),
      cmocka_unit_test(every_setting_changes_the_settings_hash),
      cmocka_unit_test(every_limit_changes_the_settings_hash),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
