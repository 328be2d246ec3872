// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/synth.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support.h"

static char folder[64];

static int into_folder(void **state) {
  (void)state;
  strcpy(folder, "/tmp/girthline-synth-XXXXXX");
  return mkdtemp(folder) && !chdir(folder) ? 0 : -1;
}

static int out_of_folder(void **state) {
  (void)state;
  static const char *const NAMES[] = {"a.wav", "b.wav", "c.wav", "a.csv", "b.csv", "a.json", "mine.wav", "mine.csv"};
  for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) unlink(NAMES[i]);
  return chdir("/") || rmdir(folder) ? -1 : 0; // fails when something was left behind
}

/// Words with one space between them; '|' stands for a space inside a word.
static int run(const char *line) {
  char copy[600], *argv[40];
  int argc = 0;
  assert_true(strlen(line) < sizeof copy);
  strcpy(copy, line);
  for (char *word = strtok(copy, " "); word && argc < 39; word = strtok(NULL, " ")) {
    for (char *c = word; *c; c++)
      if (*c == '|') *c = ' ';
    argv[argc++] = word;
  }
  argv[argc] = NULL;
  return gn_cli_synth(argc, argv);
}

static size_t bytes_of(const char *name, char *out, size_t room) {
  FILE *f = fopen(name, "rb");
  if (!f) return 0;
  const size_t n = fread(out, 1, room, f);
  fclose(f);
  return n;
}

static bool same(const char *a, const char *b) {
  static char x[400000], y[400000];
  const size_t n = bytes_of(a, x, sizeof x), m = bytes_of(b, y, sizeof y);
  return n > 0 && n == m && !memcmp(x, y, n);
}

static void put(const char *name, const char *text) {
  FILE *f = fopen(name, "wb");
  assert_non_null(f);
  fputs(text, f);
  fclose(f);
}

static void the_same_arguments_give_the_same_bytes(void **state) {
  (void)state;
  assert_int_equal(run("synth a.wav --truth a.csv --facts a.json --seconds 9 --noise breath,gut,handling --seed 5 --quiet"), 0);
  assert_int_equal(run("synth --seconds=9 --quiet --truth=b.csv --noise breath --noise gut,handling b.wav --seed 5"), 0);
  assert_true(same("a.wav", "b.wav"));
  assert_true(same("a.csv", "b.csv"));
  assert_int_equal(run("synth c.wav --seconds 9 --noise breath,gut,handling --seed 6 --quiet"), 0);
  assert_false(same("a.wav", "c.wav"));
}

static void truth_and_facts_are_written(void **state) {
  (void)state;
  char text[20000];
  assert_int_equal(run("synth a.wav --truth a.csv --facts a.json --seconds 20 --rhythm pauses --s4 --quiet --force --murmur systole|mid|plateau;diastole|holo|decrescendo|musical|200hz"), 0);
  size_t n = bytes_of("a.csv", text, sizeof text - 1);
  text[n] = '\0';
  assert_int_equal(strncmp(text, "time_s,sound\n", 13), 0);
  double t, last = -1;
  int sound, rows = 0, used;
  for (const char *p = text + 13; sscanf(p, "%lf,S%d\n%n", &t, &sound, &used) == 2; p += used, rows++, last = t) {
    assert_true(t > last && t < 20 && sound >= 1 && sound <= 4);
  }
  assert_true(rows > 20);
  n = bytes_of("a.json", text, sizeof text - 1);
  text[n] = '\0';
  static const char *const PARTS[] = {"\"rhythm\": \"pauses\"", "\"pitch_hz\": 200", "\"bad_spans\": []", "\"s4\": true", "\"median_bpm\": "};
  for (size_t i = 0; i < sizeof PARTS / sizeof *PARTS; i++) assert_non_null(strstr(text, PARTS[i]));
}

// The first pause comes after three beats at the soonest, the first early beat after four.
static void a_pattern_that_no_event_made_is_not_among_the_facts(void **state) {
  (void)state;
  static const struct { const char *line, *rhythm; } CASES[] = {
      {"synth a.wav --facts a.json --seconds 4 --bpm 40 --rhythm pauses --quiet --force", "regular"},
      {"synth a.wav --facts a.json --seconds 4 --bpm 40 --rhythm early-beats --quiet --force", "regular"},
      {"synth a.wav --facts a.json --seconds 20 --bpm 40 --rhythm early-beats --quiet --force", "early-beats"},
      {"synth a.wav --facts a.json --seconds 4 --bpm 40 --rhythm irregular --quiet --force", "irregular"}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    char text[20000], want[64];
    assert_int_equal(run(CASES[i].line), 0);
    text[bytes_of("a.json", text, sizeof text - 1)] = '\0';
    snprintf(want, sizeof want, "\"rhythm\": \"%s\"", CASES[i].rhythm);
    assert_non_null(strstr(text, want));
  }
}

static void wrong_usage_ends_with_2(void **state) {
  (void)state;
  static const char *const LINES[] = {
      "synth", "synth a.wav b.wav", "synth -", "synth x.wav --spec horse", "synth x.wav --species", "synth x.wav --species unicorn",
      "synth x.wav --bpm", "synth x.wav --bpm 9", "synth x.wav --bpm 0", "synth x.wav --bpm nan", "synth x.wav --bpm inf", "synth x.wav --bpm 0x20",
      "synth x.wav --bpm 40,5", "synth x.wav --bpm 321", "synth x.wav --rhythm odd", "synth x.wav --settle 151", "synth x.wav --settle -1",
      "synth x.wav --cycle-depth 41", "synth x.wav --cycle-depth 0", "synth x.wav --pause-beats 0", "synth x.wav --pause-beats 1.5",
      "synth x.wav --murmur systole", "synth x.wav --murmur systole|holo|plateau|700hz", "synth x.wav --level-db -5",
      "synth x.wav --murmur systole|holo|plateau --level-db 41", "synth x.wav --murmur systole|holo|plateau --level-db 1 --level-db 2",
      "synth x.wav --split-s1-ms -1", "synth x.wav --split-s1-ms 81", "synth x.wav --split-s2-ms 101", "synth x.wav --snr-db 81",
      "synth x.wav --noise birds", "synth x.wav --noise breath,", "synth x.wav --hum-hz 55", "synth x.wav --knocks 4", "synth x.wav --breaths-per-min 121",
      "synth x.wav --seconds 0", "synth x.wav --seconds 604801", "synth x.wav --rate-hz 1599", "synth x.wav --rate-hz 96001", "synth x.wav --channels 3",
      "synth x.wav --seed -1", "synth x.wav --seed 18446744073709551616", "synth x.wav --gain-db 61", "synth x.wav --clip 0", "synth x.wav --dc 0.6",
      "synth x.wav --resonance 39", "synth x.wav --agc=1", "synth x.wav --truth x.wav", "synth x.wav -q", "synth x.wav --agcs",
      "synth x.wav --seconds 604800 --rate-hz 96000"};
  for (size_t i = 0; i < sizeof LINES / sizeof *LINES; i++) {
    if (run(LINES[i]) == 2) continue;
    print_error("%s\n", LINES[i]);
    fail();
  }
  assert_int_equal(access("x.wav", F_OK), -1);
}

static void files_of_others_are_not_replaced(void **state) {
  (void)state;
  put("mine.wav", "not a recording");
  put("mine.csv", "time_s,sound\n0.5,S1\n");
  assert_int_equal(run("synth mine.wav --seconds 3 --quiet"), 4);
  assert_int_equal(run("synth c.wav --truth mine.csv --seconds 3 --quiet"), 4);
  char text[64];
  assert_int_equal(bytes_of("mine.wav", text, sizeof text), 15);
  assert_int_equal(bytes_of("mine.csv", text, sizeof text), 20);
  assert_int_equal(run("synth mine.wav --truth mine.csv --seconds 3 --quiet --force"), 0);
  assert_int_equal(run("synth mine.wav --truth mine.csv --seconds 3 --quiet"), 0); // its own, and the same truth
  assert_int_equal(run("synth mine.wav --seconds 4 --quiet"), 0);                  // its own
}

static void an_output_that_cannot_be_written_ends_with_4(void **state) {
  (void)state;
  assert_int_equal(run("synth no/such/folder/a.wav --seconds 3 --quiet"), 4);
  assert_int_equal(run("synth . --seconds 3 --quiet --force"), 4);
  assert_int_equal(run("synth c.wav --truth no/such.csv --seconds 3 --quiet"), 4);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_same_arguments_give_the_same_bytes), cmocka_unit_test(truth_and_facts_are_written),
      cmocka_unit_test(a_pattern_that_no_event_made_is_not_among_the_facts),
      cmocka_unit_test(wrong_usage_ends_with_2), cmocka_unit_test(files_of_others_are_not_replaced),
      cmocka_unit_test(an_output_that_cannot_be_written_ends_with_4),
  };
  return cmocka_run_group_tests(tests, into_folder, out_of_folder);
}
