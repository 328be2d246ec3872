// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "audio/audio.h"
#include "audio/wav.h"

static char folder[] = "/tmp/girthline-wav-XXXXXX";

static int make_folder(void **state) {
  (void)state;
  return mkdtemp(folder) ? 0 : -1;
}

static const char *path_in(const char *name) {
  static char path[200];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static size_t n_files(void) {
  size_t n = 0;
  DIR *dir = opendir(folder);
  for (struct dirent *e; (e = readdir(dir));) n += e->d_name[0] != '.';
  closedir(dir);
  return n;
}

static int remove_folder(void **state) {
  (void)state;
  unlink(path_in("a.wav"));
  rmdir(path_in("sub"));
  return rmdir(folder);
}

static size_t slurp(unsigned char *bytes, size_t size) {
  FILE *f = fopen(path_in("a.wav"), "rb");
  const size_t n = f ? fread(bytes, 1, size, f) : 0;
  if (f) fclose(f);
  return n;
}

// The bytes by the standard: RIFF, WAVE, fmt of 16 bytes, data; little endian; nothing else.
static void the_bytes_are_those_of_the_standard_and_nothing_else(void **state) {
  (void)state;
  static const float samples[] = {0, 0.5F, -0.5F, 1, -1, 2, -2, NAN, INFINITY, 1.0F / 65536, -1.0F / 65536, 3.0F / 65536};
  static const unsigned char want[] = {'R', 'I', 'F', 'F', 60, 0, 0, 0, 'W', 'A', 'V', 'E', 'f', 'm', 't', ' ', 16, 0, 0, 0, 1, 0, 1, 0,
                                       0x40, 0x1f, 0, 0, 0x80, 0x3e, 0, 0, 2, 0, 16, 0, 'd', 'a', 't', 'a', 24, 0, 0, 0,
                                       0, 0, 0, 0x40, 0, 0xc0, 0xff, 0x7f, 0, 0x80, 0xff, 0x7f, 0, 0x80, 0, 0, 0xff, 0x7f, 1, 0, 0, 0, 2, 0};
  unsigned char got[200];
  girthline_error error = {0};
  assert_int_equal(gn_wav_write_path(path_in("a.wav"), samples, 12, 8000, &error), GIRTHLINE_OK);
  assert_int_equal(slurp(got, sizeof got), sizeof want);
  assert_memory_equal(got, want, sizeof want);
  assert_int_equal(n_files(), 1);
}

static void what_is_written_reads_back_within_half_a_step(void **state) {
  (void)state;
  enum { N = 30000 };
  float *x = malloc(N * sizeof *x), *y = malloc(N * sizeof *y);
  for (int i = 0; i < N; i++) x[i] = (float)(0.9 * sin(i * 0.01));
  girthline_error error = {0};
  gn_audio *audio;
  size_t got;
  assert_int_equal(gn_wav_write_path(path_in("a.wav"), x, N, 4000.2, &error), GIRTHLINE_OK);
  assert_int_equal(gn_audio_open_path(path_in("a.wav"), &audio, &error), GIRTHLINE_OK);
  assert_near(gn_audio_recording(audio)->sample_rate_hz, 4000, 0);
  assert_int_equal(gn_audio_read(audio, y, N, &got, &error), GIRTHLINE_OK);
  assert_int_equal(got, N);
  for (int i = 0; i < N; i++) assert_near(y[i], x[i], 0.5 / 32768 + 1e-9);
  gn_audio_close(audio);
  free(x);
  free(y);
}

static void a_failure_leaves_nothing_and_touches_nothing(void **state) {
  (void)state;
  const float x[2] = {0, 0};
  girthline_error error = {0};
  assert_int_equal(gn_wav_write_path(path_in("none/a.wav"), x, 2, 8000, &error), GIRTHLINE_CANNOT_WRITE);
  assert_non_null(strstr(error.text, "none/a.wav"));
  assert_non_null(strstr(error.text, "folder"));
  const size_t before = n_files();
  mkdir(path_in("sub"), 0777);
  error = (girthline_error){0};
  assert_int_equal(gn_wav_write_path(path_in("sub"), x, 2, 8000, &error), GIRTHLINE_CANNOT_WRITE);
  assert_int_equal(n_files(), before + 1);
  error = (girthline_error){0};
  assert_int_equal(gn_wav_write_path(path_in("b.wav"), x, 2, (double)NAN, &error), GIRTHLINE_BAD_ARGUMENT);
  assert_int_equal(gn_wav_write_path(path_in("b.wav"), x, 2, 0, NULL), GIRTHLINE_BAD_ARGUMENT);
  assert_int_equal(gn_wav_write_path(path_in("b.wav"), x, (size_t)1 << 31, 8000, NULL), GIRTHLINE_LIMIT);
  assert_int_equal(n_files(), before + 1);
}

static void an_empty_recording_is_a_header_alone(void **state) {
  (void)state;
  unsigned char got[100];
  assert_int_equal(gn_wav_write_path(path_in("a.wav"), NULL, 0, 8000, NULL), GIRTHLINE_OK);
  assert_int_equal(slurp(got, sizeof got), 44);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_bytes_are_those_of_the_standard_and_nothing_else),
      cmocka_unit_test(what_is_written_reads_back_within_half_a_step),
      cmocka_unit_test(a_failure_leaves_nothing_and_touches_nothing),
      cmocka_unit_test(an_empty_recording_is_a_header_alone),
  };
  return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
