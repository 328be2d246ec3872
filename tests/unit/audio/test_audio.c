// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <fcntl.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "audio/audio.h"
#include "base/memory.h"
#include "memory_file.h"

static char folder[] = "/tmp/girthline-audio-XXXXXX";

static int make_folder(void **state) {
  (void)state;
  return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state) {
  (void)state;
  return rmdir(folder);
}

static const char *path_in(const char *name) {
  static char path[400];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static memory_file sine(int format, int fs_hz, int channels, size_t n) {
  float *x = calloc(n * (size_t)channels, sizeof *x);
  for (size_t i = 0; i < n * (size_t)channels; i++) x[i] = (float)(0.5 * sin((double)i * 0.05));
  memory_file m = memory_file_of(format, fs_hz, channels, x, n);
  free(x);
  return m;
}

static void save(const memory_file *m, const char *path) {
  FILE *f = fopen(path, "wb");
  assert_non_null(f);
  assert_int_equal(fwrite(m->bytes, 1, (size_t)m->n, f), m->n);
  fclose(f);
}

static void refused(const char *path, girthline_status status, const char *words) {
  gn_audio *audio = (gn_audio *)folder;
  girthline_error error = {0};
  assert_int_equal(gn_audio_open_path(path, &audio, &error), status);
  assert_null(audio);
  assert_int_equal(error.status, status);
  assert_string_equal(error.stage, "audio");
  if (!strstr(error.text, path) || !strstr(error.text, words)) fail_msg("%s", error.text);
  assert_int_equal(gn_audio_open_path(path, &audio, NULL), status); // the error object may be missing
}

static void what_is_no_file_is_refused_at_once_with_the_remedy(void **state) {
  (void)state;
  refused(path_in("none.wav"), GIRTHLINE_CANNOT_READ, "no such file; check the name");
  refused(folder, GIRTHLINE_CANNOT_READ, "a folder; name one recording");
  refused("/dev/zero", GIRTHLINE_CANNOT_READ, "a pipe or a device");
  char fifo[400];
  snprintf(fifo, sizeof fifo, "%s", path_in("fifo"));
  assert_int_equal(mkfifo(fifo, 0600), 0);
  refused(fifo, GIRTHLINE_CANNOT_READ, "a pipe or a device"); // and does not wait for a writer
  unlink(fifo);
  memory_file m = sine(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 8000, 1, 100);
  char file[400], below[410];
  snprintf(file, sizeof file, "%s", path_in("a.wav"));
  snprintf(below, sizeof below, "%s/b.wav", file);
  save(&m, file);
  refused(below, GIRTHLINE_CANNOT_READ, "not a folder");
  if (geteuid() != 0) { // root may read everything
    chmod(file, 0);
    refused(file, GIRTHLINE_CANNOT_READ, "permission");
  }
  unlink(file);
  free(m.bytes);
}

static void a_file_that_grows_gives_the_length_it_had_and_one_that_shrinks_ends(void **state) {
  (void)state;
  memory_file m = sine(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 8000, 1, 40000);
  const int32_t zero = 0;
  memcpy(m.bytes + 40, &zero, 4); // a recorder still at work has not written the length
  const char *path = path_in("grows.wav");
  save(&m, path);
  gn_audio *audio;
  girthline_error error = {0};
  static float x[80000];
  size_t got, more;
  assert_int_equal(gn_audio_open_path(path, &audio, &error), GIRTHLINE_OK);
  assert_near(gn_audio_recording(audio)->duration_s, 5, 0);
  assert_true(gn_audio_recording(audio)->repaired);
  assert_int_equal(gn_audio_read(audio, x, 1000, &got, &error), GIRTHLINE_OK);
  FILE *f = fopen(path, "ab");
  fwrite(m.bytes + 44, 1, 60000, f);
  fclose(f);
  assert_int_equal(gn_audio_read(audio, x, 80000, &more, &error), GIRTHLINE_OK);
  assert_int_equal(got + more, 40000);
  gn_audio_close(audio);
  assert_int_equal(gn_audio_open_path(path, &audio, &error), GIRTHLINE_OK);
  assert_int_equal(truncate(path, 44 + 20000), 0);
  assert_int_equal(gn_audio_read(audio, x, 80000, &got, &error), GIRTHLINE_OK);
  assert_int_equal(got, 10000);
  assert_near(gn_audio_recording(audio)->duration_s, 1.25, 0);
  gn_audio_close(audio);
  unlink(path);
  free(m.bytes);
}

static void samples_that_are_no_sound_are_zero(void **state) {
  (void)state;
  const float in[10] = {0.5F, NAN, INFINITY, -INFINITY, 3.5F, -7, 2e9F, 0, 1e30F, -1e11F};
  const float want[10] = {0.5F, 0, 0, 0, 3.5F, -7, 2e9F, 0, 0, 0};
  memory_file m = memory_file_of(SF_FORMAT_WAV | SF_FORMAT_FLOAT, 8000, 1, in, 10);
  gn_audio *audio;
  girthline_error error = {0};
  float x[12];
  size_t got;
  assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, &error), GIRTHLINE_OK);
  assert_int_equal(gn_audio_choose_channel(audio, 0, SIZE_MAX, &error), GIRTHLINE_OK);
  assert_int_equal(gn_audio_read(audio, x, 12, &got, &error), GIRTHLINE_OK);
  assert_int_equal(got, 10);
  for (int i = 0; i < 10; i++) assert_near(x[i], want[i], 0);
  gn_audio_close(audio);
  free(m.bytes);
}

// Packets of 120 bytes of sound, two a sample of 8 bits, behind 21 bytes of header.
static void a_sample_dump_ends_before_a_packet_that_is_none(void **state) {
  (void)state;
  float in[600];
  for (size_t i = 0; i < 600; i++) in[i] = 0.5F * (float)sin(0.1 * (double)i);
  memory_file m = memory_file_of(SF_FORMAT_SDS | SF_FORMAT_PCM_S8, 8000, 1, in, 600);
  gn_audio *audio;
  girthline_error error = {0};
  assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "whole", &audio, &error), GIRTHLINE_OK);
  assert_near(gn_audio_recording(audio)->duration_s, 600 / 8000.0, 0);
  assert_false(gn_audio_recording(audio)->repaired);
  gn_audio_close(audio);
  m.bytes[21 + 3 * 127] = 'x';
  assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "torn", &audio, &error), GIRTHLINE_OK);
  assert_near(gn_audio_recording(audio)->duration_s, 180 / 8000.0, 0);
  assert_true(gn_audio_recording(audio)->repaired);
  gn_audio_close(audio);
  free(m.bytes);
}

static void blocks_of_any_size_give_the_same_samples(void **state) {
  (void)state;
  static const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_PCM_24, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, SF_FORMAT_OGG | SF_FORMAT_VORBIS, SF_FORMAT_OGG | SF_FORMAT_OPUS,
                                SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, SF_FORMAT_WAV | SF_FORMAT_IMA_ADPCM};
  enum { N = 20000 };
  static float whole[2 * N], part[2 * N];
  for (size_t i = 0; i < sizeof formats / sizeof *formats; i++)
    for (int channels = 1; channels <= 2; channels++) {
      memory_file m = sine(formats[i], 8000, channels, N);
      size_t n = 0, got;
      gn_audio *audio;
      assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, NULL), GIRTHLINE_OK);
      assert_int_equal(gn_audio_read(audio, whole, 2 * N, &n, NULL), GIRTHLINE_OK);
      for (size_t block = 1; block < 6000; block = block * 7 + 1) {
        gn_audio_seek(audio, 0, NULL);
        for (size_t at = 0; at < n; at += got) {
          gn_audio_read(audio, part + at, block, &got, NULL);
          assert_true(got > 0 && at + got <= n);
        }
        assert_memory_equal(part, whole, n * sizeof *whole);
      }
      gn_audio_close(audio);
      free(m.bytes);
    }
}

static memory_file dated(int format, const char *tag_date, const char *bext_date, const char *bext_time) {
  static float silence[8000];
  memory_file m = {0};
  SF_INFO info = {.samplerate = 8000, .channels = 1, .format = format};
  SNDFILE *file = sf_open_virtual(&memory_io, SFM_WRITE, &info, &m);
  if (tag_date) sf_set_string(file, SF_STR_DATE, tag_date);
  if (bext_date) {
    SF_BROADCAST_INFO bext = {0};
    memcpy(bext.origination_date, bext_date, 10);
    memcpy(bext.origination_time, bext_time, 8);
    sf_command(file, SFC_SET_BROADCAST_INFO, &bext, sizeof bext);
  }
  sf_writef_float(file, silence, 8000);
  sf_close(file);
  return m;
}

static void the_date_comes_from_the_files_own_metadata(void **state) {
  (void)state;
  enum { WAV = SF_FORMAT_WAV | SF_FORMAT_PCM_16, FLAC = SF_FORMAT_FLAC | SF_FORMAT_PCM_16, VORBIS = SF_FORMAT_OGG | SF_FORMAT_VORBIS };
  static const struct { int format; const char *tag, *date, *time, *want; } table[] = {
      {WAV, NULL, NULL, NULL, ""},
      {WAV, "2026-05-03", NULL, NULL, "2026-05-03"},
      {WAV, NULL, "2026-05-03", "14:22:11", "2026-05-03T14:22:11"},
      {WAV, "2019", "2026-05-03", "14:22:11", "2026-05-03T14:22:11"},
      {WAV, "2019-02-03", "0000-00-00", "00:00:00", "2019-02-03"},
      {WAV, "some day", NULL, NULL, ""},
      {FLAC, "2026-05-03 10:00:00", NULL, NULL, "2026-05-03T10:00:00"},
      {VORBIS, "2026-05", NULL, NULL, "2026-05"},
  };
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    memory_file m = dated(table[i].format, table[i].tag, table[i].date, table[i].time);
    gn_audio *audio;
    assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, NULL), GIRTHLINE_OK);
    assert_string_equal(gn_audio_recording(audio)->recorded_at, table[i].want);
    gn_audio_close(audio);
    free(m.bytes);
  }
}

static void a_refused_allocation_is_said_and_leaves_nothing_open(void **state) {
  (void)state;
  memory_file m = sine(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 8000, 2, 8000);
  int refusals = 0;
  for (size_t k = 1; k < 40; k++) {
    gn_audio *audio;
    girthline_error error = {0};
    gn_memory_refuse(k);
    girthline_status status = gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, &error);
    if (!status) status = gn_audio_choose_channel(audio, 0, SIZE_MAX, &error);
    gn_memory_refuse(0);
    if (status) assert_int_equal(error.status, GIRTHLINE_NO_MEMORY), refusals++;
    gn_audio_close(audio);
  }
  assert_true(refusals > 8);
  free(m.bytes);
}

// Whatever lies behind the sound of a cut or spoilt file, nothing may be printed by what reads it.
static void open_spoilt(int fs_hz) {
  static float x[100000];
  const size_t n = 2 * (size_t)fs_hz;
  uint32_t random = 1;
  for (size_t i = 0; i < n; i++) { // knocks: of the quiet frames between them bits are left over for the next one
    random = random * 1664525u + 1013904223u;
    x[i] = (float)(((double)random / UINT32_MAX - 0.5) * exp(-(double)(i % (n / 9)) / (0.02 * fs_hz)));
  }
  memory_file m = memory_file_of(SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, fs_hz, 1, x, n);
  for (sf_count_t length = m.n; length > 0; length -= 97) {
    gn_audio *audio;
    size_t got;
    if (gn_audio_open_memory(m.bytes, (size_t)length, "t", &audio, NULL)) continue;
    gn_audio_read(audio, x, 100000, &got, NULL);
    gn_audio_close(audio);
  }
  for (sf_count_t at = 500; at + 100 < m.n; at += 997) { // and with 100 bytes spoilt
    gn_audio *audio;
    size_t got;
    memset(m.bytes + at, (int)(at & 0xff), 100);
    if (gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, NULL)) continue;
    gn_audio_read(audio, x, 100000, &got, NULL);
    gn_audio_close(audio);
  }
  free(m.bytes);
}

static void nothing_is_printed_on_standard_error(void **state) {
  (void)state;
  char path[400];
  snprintf(path, sizeof path, "%s", path_in("stderr"));
  fflush(stderr);
  const int kept = dup(2), file = open(path, O_CREAT | O_RDWR, 0600);
  dup2(file, 2);
  open_spoilt(44100);
  open_spoilt(16000); // small frames, which need the bits of those before them
  fflush(stderr);
  dup2(kept, 2);
  close(kept);
  assert_int_equal(lseek(file, 0, SEEK_END), 0);
  close(file);
  unlink(path);
}

// Half of an MP3 with 3000 bytes spoilt in the middle, or with something behind it.
static void a_spoilt_mp3_ends_at_the_damage_and_a_tag_behind_it_costs_nothing(void **state) {
  (void)state;
  enum { N = 44100 * 4, SPOILT = 3000 };
  static float x[N + 10000];
  memory_file m = sine(SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 44100, 1, N);
  unsigned char *copy = calloc((size_t)m.n + SPOILT, 1);
  static const struct { const char *what; int behind, mended; double least_s, most_s; } table[] = {
      {"zeros in the middle", 0, 1, 1, 2.5}, {"ones in the middle", 0, 1, 1, 2.5}, {"zeros behind", 1, 0, 4, 4}, {"TAG behind", 1, 0, 4, 4}, {"junk behind", 1, 1, 4, 4}};
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    memcpy(copy, m.bytes, (size_t)m.n);
    memset(copy + m.n, 0, SPOILT);
    if (i == 0) memset(copy + m.n / 2, 0, SPOILT);
    if (i == 1) memset(copy + m.n / 2, 0xff, SPOILT);
    if (i == 3) memcpy(copy + m.n, "TAG", 3);
    if (i == 4) memset(copy + m.n, 0x55, SPOILT);
    gn_audio *audio;
    size_t got;
    assert_int_equal(gn_audio_open_memory(copy, (size_t)m.n + (table[i].behind ? SPOILT : 0), "t", &audio, NULL), GIRTHLINE_OK);
    gn_audio_read(audio, x, N + 10000, &got, NULL);
    const girthline_recording *r = gn_audio_recording(audio);
    if (r->repaired != table[i].mended || r->duration_s < table[i].least_s || r->duration_s > table[i].most_s || fabs((double)got / 44100 - r->duration_s) > 1e-9)
      fail_msg("%s: %.3f s, %zu frames, repaired %d", table[i].what, r->duration_s, got, r->repaired);
    gn_audio_close(audio);
  }
  free(copy);
  free(m.bytes);
}

static void an_mp3_is_read_whatever_lies_in_the_current_folder(void **state) {
  (void)state;
  memory_file m = sine(SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 44100, 1, 44100);
  const int here = open(".", O_RDONLY | O_DIRECTORY);
  assert_int_equal(chdir(folder), 0);
  close(open("._", O_CREAT | O_WRONLY, 0600)); // a name the decoder library looks for
  gn_audio *audio;
  const girthline_status status = gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, NULL);
  unlink("._");
  assert_int_equal(fchdir(here), 0);
  close(here);
  assert_int_equal(status, GIRTHLINE_OK);
  assert_near(gn_audio_recording(audio)->duration_s, 1, 0);
  gn_audio_close(audio);
  free(m.bytes);
}

static void *open_many(void *argument) {
  const memory_file *m = argument;
  size_t wrong = 0;
  for (int i = 0; i < 300; i++) {
    gn_audio *audio;
    girthline_error error = {0};
    const girthline_status status = gn_audio_open_memory(m->bytes, (size_t)m->n, "t", &audio, &error);
    wrong += status != (m->bytes[0] == 'f' ? GIRTHLINE_NOT_AUDIO : GIRTHLINE_OK) || (status && !strstr(error.text, "FLAC"));
    gn_audio_close(audio);
  }
  return (void *)wrong;
}

static void threads_do_not_mix_their_errors(void **state) {
  (void)state;
  memory_file good = sine(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 8000, 1, 1000), bad = {.bytes = (unsigned char[]){'f', 'L', 'a', 'C', 1, 2, 3, 4}, .n = 8};
  pthread_t threads[4];
  for (int i = 0; i < 4; i++) assert_int_equal(pthread_create(&threads[i], NULL, open_many, i % 2 ? &good : &bad), 0);
  for (int i = 0; i < 4; i++) {
    void *wrong;
    pthread_join(threads[i], &wrong);
    assert_null(wrong);
  }
  free(good.bytes);
}

static void a_seek_beyond_the_end_reads_nothing(void **state) {
  (void)state;
  memory_file m = sine(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 8000, 1, 1000);
  gn_audio *audio;
  float x[10];
  size_t got;
  assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, NULL), GIRTHLINE_OK);
  assert_int_equal(gn_audio_seek(audio, SIZE_MAX, NULL), GIRTHLINE_OK);
  assert_int_equal(gn_audio_read(audio, x, 10, &got, NULL), GIRTHLINE_OK);
  assert_int_equal(got, 0);
  assert_false(gn_audio_recording(audio)->repaired);
  gn_audio_close(audio);
  gn_audio_close(NULL);
  free(m.bytes);
}

// Samples of 16 bits are read ahead.
static void a_seek_leaves_nothing_that_was_read_ahead(void **state) {
  (void)state;
  for (int channels = 1; channels <= 2; channels++) {
    memory_file m = sine(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 8000, channels, 1000);
    const size_t places[] = {700, 3, 990, 0};
    gn_audio *audio;
    float whole[1000], x[10];
    size_t got;
    assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "t", &audio, NULL), GIRTHLINE_OK);
    assert_int_equal(gn_audio_read(audio, whole, 1000, &got, NULL), GIRTHLINE_OK);
    assert_int_equal(got, 1000);
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
      assert_int_equal(gn_audio_seek(audio, places[i], NULL), GIRTHLINE_OK);
      assert_int_equal(gn_audio_read(audio, x, 10, &got, NULL), GIRTHLINE_OK);
      assert_int_equal(got, 10);
      assert_memory_equal(x, whole + places[i], sizeof x);
    }
    gn_audio_close(audio);
    free(m.bytes);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_no_file_is_refused_at_once_with_the_remedy),
      cmocka_unit_test(a_file_that_grows_gives_the_length_it_had_and_one_that_shrinks_ends),
      cmocka_unit_test(samples_that_are_no_sound_are_zero),
      cmocka_unit_test(a_sample_dump_ends_before_a_packet_that_is_none),
      cmocka_unit_test(blocks_of_any_size_give_the_same_samples),
      cmocka_unit_test(the_date_comes_from_the_files_own_metadata),
      cmocka_unit_test(a_refused_allocation_is_said_and_leaves_nothing_open),
      cmocka_unit_test(nothing_is_printed_on_standard_error),
      cmocka_unit_test(a_spoilt_mp3_ends_at_the_damage_and_a_tag_behind_it_costs_nothing),
      cmocka_unit_test(an_mp3_is_read_whatever_lies_in_the_current_folder),
      cmocka_unit_test(threads_do_not_mix_their_errors),
      cmocka_unit_test(a_seek_beyond_the_end_reads_nothing),
      cmocka_unit_test(a_seek_leaves_nothing_that_was_read_ahead),
  };
  return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
