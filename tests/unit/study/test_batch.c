// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"
#include "study/journal.h"
#include "study/shard.h"

static char folder[64];

static char *in_folder(const char *name) {
  static char path[200];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static void put(const char *name, const char *text, const char *mode) {
  FILE *f = fopen(in_folder(name), mode);
  assert_non_null(f);
  fputs(text, f);
  fclose(f);
}

static int make_folder(void **state) {
  (void)state;
  strcpy(folder, "batch-XXXXXX");
  return !mkdtemp(folder);
}

static int remove_folder(void **state) {
  (void)state;
  char command[100];
  snprintf(command, sizeof command, "rm -r %s", folder);
  return system(command);
}

// What was read from a journal, as one text.
static char seen[2000];

static girthline_status see(void *user, const char *file, const gn_journal_entry *e) {
  (void)user;
  snprintf(seen + strlen(seen), sizeof seen - strlen(seen), "[%s %s %s %d %.2f %s]", file, e->key, e->content_hash, (int)e->status, e->bpm, e->page);
  return GIRTHLINE_OK;
}

static void append(gn_journal *j, const char *file, double bpm, const char *text) {
  gn_batch_row row = {.status = GIRTHLINE_OK, .bpm = bpm, .content_hash = "xxh3-128:1", .page = ""};
  gn_journal_entry e;
  girthline_error error = {0};
  for (int i = 0; i < GN_N_PARTS; i++) gn_buffer_printf(&row.part[i], "%s%d", text, i);
  assert_int_equal(gn_journal_append(j, file, "key", &row, &e, &error), GIRTHLINE_OK);
  for (int i = 0; i < GN_N_PARTS; i++) {
    char *got = gn_journal_part(j, &e, i, &error);
    assert_string_equal(got, row.part[i].text);
    gn_free(got);
  }
  gn_batch_row_clear(&row);
}

static gn_journal open_journal(bool fresh) {
  static char path[200];
  gn_journal j;
  girthline_error error = {0};
  seen[0] = 0;
  snprintf(path, sizeof path, "%s", in_folder("j"));
  assert_int_equal(gn_journal_open(&j, path, fresh, see, NULL, &error), GIRTHLINE_OK);
  return j;
}

static void a_journal_cut_anywhere_gives_its_whole_records(void **state) {
  (void)state;
  gn_journal j = open_journal(true);
  append(&j, " a name with blanks .wav", 38.25, "");
  const off_t first = j.end;
  append(&j, "line\nfeed\xff.wav", NAN, "text\n");
  const off_t second = j.end;
  gn_journal_close(&j);
  static const char ONE[] = "[ a name with blanks .wav key xxh3-128:1 0 38.25 ]", TWO[] = "[line\nfeed\xff.wav key xxh3-128:1 0 nan ]";
  j = open_journal(false);
  assert_true(strstr(seen, ONE) && strstr(seen, TWO));
  gn_journal_close(&j);
  for (off_t at = second - 1; at >= 0; at--) {
    assert_int_equal(truncate(in_folder("j"), at), 0);
    j = open_journal(false);
    assert_true(!!strstr(seen, ONE) == (at >= first) && !strstr(seen, TWO));
    gn_journal_close(&j);
  }
}

static void a_changed_byte_ends_a_journal_before_it(void **state) {
  (void)state;
  gn_journal j = open_journal(true);
  append(&j, "a.wav", 1, "x");
  const off_t first = j.end;
  append(&j, "b.wav", 2, "y");
  gn_journal_close(&j);
  FILE *f = fopen(in_folder("j"), "r+");
  fseek(f, first + 70, SEEK_SET);
  putc('#', f);
  fclose(f);
  j = open_journal(false);
  assert_true(strstr(seen, "a.wav") && !strstr(seen, "b.wav"));
  assert_int_equal(j.end, first);
  append(&j, "c.wav", 3, "z");
  gn_journal_close(&j);
  j = open_journal(false);
  assert_true(strstr(seen, "a.wav") && strstr(seen, "c.wav"));
  gn_journal_close(&j);
}

static void every_refusal_of_memory_keeps_the_journal(void **state) {
  (void)state;
  gn_journal j = open_journal(true);
  append(&j, "a.wav", 1, "x");
  const off_t end = j.end;
  gn_journal_close(&j);
  for (size_t k = 1;; k++) {
    girthline_error error = {0};
    gn_memory_refuse(k);
    seen[0] = 0;
    char path[200];
    snprintf(path, sizeof path, "%s", in_folder("j"));
    const girthline_status status = gn_journal_open(&j, path, false, see, NULL, &error);
    gn_memory_refuse(0);
    gn_journal_close(&j);
    struct stat st;
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_size, end); // never cut because memory was short
    if (!status) break;
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
  }
}

static girthline_status collect(gn_batch_inputs *inputs, girthline_error *error) {
  const girthline_settings settings = girthline_settings_default();
  char list[200];
  snprintf(list, sizeof list, "%s", in_folder("list.csv"));
  const char *const names[] = {folder, list};
  *inputs = (gn_batch_inputs){0};
  return gn_batch_inputs_collect(inputs, names, 2, &settings, error);
}

static void inputs_survive_every_refusal_of_memory(void **state) {
  (void)state;
  put("list.csv", "file,animal\nc.wav,Maren\nd.wav,\n", "w");
  put("a.wav", "", "w");
  put("b.flac", "", "w");
  assert_int_equal(mkdir(in_folder("inner"), 0755), 0);
  put("inner/e.ogg", "", "w");
  size_t refused = 0;
  for (size_t k = 1;; k++, refused++) {
    gn_batch_inputs inputs;
    girthline_error error = {0};
    gn_memory_refuse(k);
    const girthline_status status = collect(&inputs, &error);
    gn_memory_refuse(0);
    const size_t n = inputs.n;
    gn_batch_inputs_clear(&inputs);
    if (!status) {
      assert_int_equal(n, 5);
      break;
    }
    assert_int_equal(status, GIRTHLINE_NO_MEMORY);
  }
  assert_true(refused > 10);
}

static void a_million_recordings_are_the_most_of_a_run(void **state) {
  (void)state;
  gn_batch_inputs in = {.n = GN_BATCH_INPUTS_MOST}; // as if they were there
  girthline_error error = {0};
  assert_int_equal(gn_batch_inputs_add(&in, (gn_batch_item){.file = gn_strdup("one.wav"), .path = gn_strdup("too/many.wav")}, &error), GIRTHLINE_LIMIT);
  assert_non_null(strstr(error.text, "more than 1000000 recordings"));
  assert_int_equal(in.n, GN_BATCH_INPUTS_MOST);
}

static void every_recording_is_in_one_shard(void **state) {
  (void)state;
  size_t in_shard[7] = {0};
  for (int i = 0; i < 7000; i++) {
    char file[40];
    int n = 0;
    snprintf(file, sizeof file, "yard %d/r%d.wav", i % 13, i);
    for (unsigned s = 1; s <= 7; s++) {
      const gn_batch batch = {.shard = s, .n_shards = 7};
      const bool takes = gn_shard_takes(&batch, file);
      n += takes;
      in_shard[s - 1] += takes;
    }
    assert_int_equal(n, 1);
  }
  for (int s = 0; s < 7; s++) assert_near(in_shard[s], 1000, 150); // five standard deviations of a fair draw
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(a_journal_cut_anywhere_gives_its_whole_records, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(a_changed_byte_ends_a_journal_before_it, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(every_refusal_of_memory_keeps_the_journal, make_folder, remove_folder),
      cmocka_unit_test_setup_teardown(inputs_survive_every_refusal_of_memory, make_folder, remove_folder),
      cmocka_unit_test(a_million_recordings_are_the_most_of_a_run),
      cmocka_unit_test(every_recording_is_in_one_shard),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
