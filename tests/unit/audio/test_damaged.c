// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Every row of tests/cases/damaged.txt, opened from memory and from a file.
#include "support.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "audio/audio.h"
#include "base/random.h"
#include "recipe.h"

static char path[] = "/tmp/girthline-damaged-XXXXXX";
static int failures;

static void complain(const char *name, const char *what, const char *detail) {
  print_error("%s: %s (%s)\n", name, what, detail);
  failures++;
}

static girthline_status status_of(const char *word) {
  if (!strncmp(word, "ok", 2)) return GIRTHLINE_OK;
  if (!strcmp(word, "not-audio")) return GIRTHLINE_NOT_AUDIO;
  if (!strcmp(word, "limit")) return GIRTHLINE_LIMIT;
  fail_msg("unknown status %s", word);
  return GIRTHLINE_INTERNAL;
}

static void check_sound(const recipe_row *row, gn_audio *audio) {
  const long frames = strtol(row->expected + 2, NULL, 10);
  const girthline_recording *r = gn_audio_recording(audio);
  char text[100];
  float x[300];
  size_t got = 0, n = 0;
  girthline_error error = {0};
  snprintf(text, sizeof text, "%.6f s, repaired %d", r->duration_s, r->repaired);
  if (fabs(r->duration_s * r->sample_rate_hz - (double)frames) > 1e-6) complain(row->name, "wrong duration", text);
  if (r->repaired != (strstr(row->expected, "mended") != NULL)) complain(row->name, "wrongly repaired or not", text);
  do {
    if (gn_audio_read(audio, x, 300, &got, &error)) complain(row->name, "cannot be read", error.text);
    for (size_t i = 0; i < got; i++)
      if (!isfinite(x[i])) complain(row->name, "gives a sample that is not finite", text);
    n += got;
  } while (got == 300);
  if (n != (size_t)frames) complain(row->name, "reads another number of frames", text);
}

static void check_sentence(const recipe_row *row, const girthline_error *error, const char *shown) {
  if (!strstr(error->text, shown)) complain(row->name, "the sentence does not name the file", error->text);
  char words[200];
  snprintf(words, sizeof words, "%s", row->words);
  for (char *save, *word = strtok_r(words, ",", &save); word; word = strtok_r(NULL, ",", &save))
    if (!strstr(error->text, word)) complain(row->name, word, error->text);
}

static void check_row(const recipe_row *row, int in_memory) {
  gn_audio *audio = NULL;
  girthline_error error = {0};
  const char *shown = in_memory ? "bella.wav" : path;
  if (!in_memory) {
    FILE *f = fopen(path, "wb");
    assert_int_equal(fwrite(row->bytes, 1, row->n_bytes, f), row->n_bytes);
    fclose(f);
  }
  const girthline_status status = in_memory ? gn_audio_open_memory(row->bytes, row->n_bytes, shown, &audio, &error) : gn_audio_open_path(path, &audio, &error);
  if (status != status_of(row->expected))
    complain(row->name, row->expected, status ? error.text : gn_audio_recording(audio)->encoding);
  else if (status == GIRTHLINE_OK)
    check_sound(row, audio);
  else
    check_sentence(row, &error, shown);
  gn_audio_close(audio);
}

static void every_damaged_form_is_mended_or_refused_with_a_sentence(void **state) {
  (void)state;
  const int fd = mkstemp(path);
  assert_true(fd >= 0);
  close(fd);
  recipe_table *table = recipe_table_read(CASES_DIR "/damaged.txt");
  assert_true(table->n >= 60);
  for (size_t i = 0; i < table->n; i++) {
    check_row(&table->rows[i], 1);
    check_row(&table->rows[i], 0);
  }
  recipe_table_free(table);
  unlink(path);
  assert_int_equal(failures, 0);
}

// Every prefix of a good recording, and every byte of its header turned over: no crash, and a sentence or sound.
static void no_prefix_and_no_flipped_byte_of_a_header_breaks_anything(void **state) {
  (void)state;
  recipe_table *table = recipe_table_read(CASES_DIR "/damaged.txt");
  for (size_t row = 0; row < table->n; row++) {
    const recipe_row *r = &table->rows[row];
    if (strncmp(r->expected, "ok", 2)) continue;
    unsigned char *copy = malloc(r->n_bytes);
    for (size_t k = 0; k < 200 && k < r->n_bytes; k++)
      for (int flip = 0; flip < 3; flip++) {
        memcpy(copy, r->bytes, r->n_bytes);
        if (flip) copy[k] ^= (unsigned char)(flip == 1 ? 0xff : 0x01);
        gn_audio *audio;
        girthline_error error = {0};
        float x[2000];
        size_t got;
        if (gn_audio_open_memory(copy, flip ? r->n_bytes : k, "t", &audio, &error)) {
          assert_true(strlen(error.text) > 20);
          continue;
        }
        gn_audio_choose_channel(audio, 0, SIZE_MAX, &error);
        gn_audio_read(audio, x, 2000, &got, &error);
        gn_audio_close(audio);
      }
    free(copy);
  }
  recipe_table_free(table);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_damaged_form_is_mended_or_refused_with_a_sentence),
      cmocka_unit_test(no_prefix_and_no_flipped_byte_of_a_header_breaks_anything),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
