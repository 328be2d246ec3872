// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The marked recording: sample bytes kept, and marks an independent reader (libsndfile) finds.
#include "support.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <sndfile.h>

#include "base/memory.h"
#include "../audio/memory_file.h"
#include "made_result.h"
#include "report/marked.h"

enum { RATE_HZ = 8000 };

static int collect(void *user, const void *bytes, size_t n) {
  gn_buffer_add(user, bytes, n);
  return 0;
}

static int refuse(void *user, const void *bytes, size_t n) {
  (void)bytes;
  (void)n;
  return --*(int *)user < 0 ? -1 : 0;
}

static void put_chunk(gn_buffer *b, const char *id, const void *bytes, size_t n) {
  gn_buffer_puts(b, id);
  gn_put_u32(b, n);
  gn_buffer_add(b, bytes, n);
  if (n % 2) gn_buffer_add(b, "", 1);
}

static void put_format(gn_buffer *b, unsigned tag, unsigned channels, unsigned bits) {
  gn_buffer f = {0};
  gn_put_u16(&f, tag);
  gn_put_u16(&f, channels);
  gn_put_u32(&f, RATE_HZ);
  gn_put_u32(&f, (uint64_t)RATE_HZ * channels * bits / 8);
  gn_put_u16(&f, channels * bits / 8);
  gn_put_u16(&f, bits);
  put_chunk(b, "fmt ", f.text, f.n);
  gn_buffer_clear(&f);
}

// Chunks around the samples: an odd one of unknown kind, old cue points and labels, a title.
static void make_wave(gn_buffer *out, const void *samples, size_t n, unsigned channels, unsigned bits) {
  gn_buffer b = {0};
  put_chunk(&b, "odd ", "abc", 3);
  put_format(&b, bits == 32 ? 3 : 1, channels, bits);
  put_chunk(&b, "cue ", "\1\0\0\0\1\0\0\0\0\0\0\0data\0\0\0\0\0\0\0\0\0\0\0\0", 28);
  put_chunk(&b, "data", samples, n);
  put_chunk(&b, "LIST", "adtllabl\x08\0\0\0\1\0\0\0old", 20);
  put_chunk(&b, "LIST", "INFOINAM\x04\0\0\0mare", 16);
  gn_put_riff_head(out, b.n);
  gn_buffer_add(out, b.text, b.n);
  gn_buffer_clear(&b);
}

// Content of the k-th chunk of a kind; NULL: none. Checks that the chunks end where the file does.
static const char *chunk_of(const gn_buffer *wave, const char *id, size_t k, size_t *n) {
  const unsigned char *t = (const unsigned char *)wave->text;
  size_t at = 12;
  const char *found = NULL;
  while (at + 8 <= wave->n) {
    const size_t len = t[at + 4] | (size_t)t[at + 5] << 8 | (size_t)t[at + 6] << 16 | (size_t)t[at + 7] << 24;
    if (!memcmp(t + at, id, 4) && k-- == 0) {
      found = wave->text + at + 8;
      *n = len;
    }
    at += 8 + len + len % 2;
  }
  assert_int_equal(at, wave->n);
  const size_t riff = t[4] | (size_t)t[5] << 8 | (size_t)t[6] << 16 | (size_t)t[7] << 24;
  assert_int_equal(riff + 8, wave->n);
  return found;
}

static unsigned char *noise_bytes(size_t n) {
  unsigned char *bytes = malloc(n);
  uint32_t state = 7;
  for (size_t i = 0; i < n; i++) bytes[i] = (unsigned char)((state = state * 1664525u + 1013904223u) >> 24);
  return bytes;
}

static gn_buffer marked(const gn_buffer *wave, const girthline_result *r, bool clip) {
  gn_buffer out = {0};
  girthline_error error = {0};
  const girthline_report_input input = {.result = r, .name = "a.wav", .data = wave->text, .n_bytes = wave->n};
  const gn_sink sink = {collect, &out};
  assert_int_equal(clip ? gn_clip_write(&input, sink, &error) : gn_marked_write(&input, sink, &error), GIRTHLINE_OK);
  return out;
}

static void samples_and_other_chunks_keep_their_bytes(void **state) {
  (void)state;
  static const unsigned BITS[] = {8, 16, 24, 32};
  for (size_t i = 0; i < 4; i++)
    for (unsigned channels = 1; channels <= 3; channels++) {
      const size_t n = (size_t)RATE_HZ * 7 * channels * BITS[i] / 8 + (i == 0);
      unsigned char *bytes = noise_bytes(n);
      girthline_result *r = made_result(4);
      gn_buffer wave = {0};
      make_wave(&wave, bytes, n, channels, BITS[i]);
      gn_buffer out = marked(&wave, r, false);
      size_t got = 0;
      const char *data = chunk_of(&out, "data", 0, &got);
      assert_int_equal(got, n);
      assert_memory_equal(data, bytes, n);
      assert_memory_equal(chunk_of(&out, "odd ", 0, &got), "abc", 3);
      assert_memory_equal(chunk_of(&out, "LIST", 0, &got), "INFOINAM\x04\0\0\0mare", 16);
      assert_non_null(chunk_of(&out, "cue ", 0, &got));
      assert_int_equal(got, 4 + 24 * 10); // 4 beats of two sounds and two S4
      assert_null(chunk_of(&out, "cue ", 1, &got));
      gn_buffer_clear(&wave);
      gn_buffer_clear(&out);
      girthline_result_free(r);
      free(bytes);
    }
}

static void another_reader_finds_the_marks_by_name(void **state) {
  (void)state;
  char path[] = "/tmp/girthline-marked-XXXXXX";
  unsigned char *bytes = noise_bytes(RATE_HZ * 2 * 7);
  girthline_result *r = made_result(4);
  gn_buffer wave = {0};
  make_wave(&wave, bytes, RATE_HZ * 2 * 7, 1, 16);
  gn_buffer out = marked(&wave, r, false);
  const int fd = mkstemp(path);
  assert_int_equal(write(fd, out.text, out.n), out.n);
  close(fd);
  SF_INFO info = {0};
  SNDFILE *file = sf_open(path, SFM_READ, &info);
  assert_non_null(file);
  assert_int_equal(info.frames, RATE_HZ * 7);
  SF_CUES cues;
  assert_int_equal(sf_command(file, SFC_GET_CUE, &cues, sizeof cues), SF_TRUE);
  assert_int_equal(cues.cue_count, 10);
  assert_string_equal(cues.cue_points[0].name, "S1");
  assert_int_equal(cues.cue_points[0].sample_offset, 800); // 0.1 s
  assert_string_equal(cues.cue_points[1].name, "S2");
  assert_string_equal(cues.cue_points[2].name, "S4");
  assert_int_equal(cues.cue_points[2].sample_offset, 11120); // 1.39 s
  assert_string_equal(sf_get_string(file, SF_STR_TITLE), "mare");
  sf_close(file);
  unlink(path);
  gn_buffer_clear(&wave);
  gn_buffer_clear(&out);
  girthline_result_free(r);
  free(bytes);
}

static void a_clip_holds_the_best_stretch_to_the_byte(void **state) {
  (void)state;
  const size_t n = RATE_HZ * 2 * 7;
  unsigned char *bytes = noise_bytes(n);
  girthline_result *r = made_result(4);
  r->quality.best_span = (girthline_span){1.0, 4.0};
  gn_buffer wave = {0};
  make_wave(&wave, bytes, n, 1, 16);
  gn_buffer out = marked(&wave, r, true);
  size_t got = 0;
  const char *data = chunk_of(&out, "data", 0, &got);
  assert_int_equal(got, RATE_HZ * 2 * 3);
  assert_memory_equal(data, bytes + RATE_HZ * 2, got);
  const unsigned char *cue = (const unsigned char *)chunk_of(&out, "cue ", 0, &got);
  assert_int_equal(cue[0], 6); // S1 and S2 at 1.6, 2.1, 3.1, 3.6 and S4 at 1.39, 2.89
  assert_int_equal(cue[4 + 4] | cue[4 + 5] << 8, 3120); // 0.39 s into the clip
  gn_buffer_clear(&wave);
  gn_buffer_clear(&out);
  girthline_result_free(r);
  free(bytes);
}

static void a_recording_cut_off_in_its_samples_is_marked_to_its_last_whole_frame(void **state) {
  (void)state;
  const size_t n = RATE_HZ * 2 * 7;
  unsigned char *bytes = noise_bytes(n);
  girthline_result *r = made_result(4);
  gn_buffer wave = {0};
  make_wave(&wave, bytes, n, 1, 16);
  wave.n -= 44 + 1 + 1000; // the two lists and 1001 bytes of samples
  gn_buffer out = marked(&wave, r, false);
  size_t got = 0;
  const char *data = chunk_of(&out, "data", 0, &got);
  assert_int_equal(got % 2, 0);
  assert_true(got > n - 1010 && got < n - 990);
  assert_memory_equal(data, bytes, got);
  gn_buffer_clear(&wave);
  gn_buffer_clear(&out);
  girthline_result_free(r);
  free(bytes);
}

static void without_a_best_stretch_there_is_no_clip(void **state) {
  (void)state;
  girthline_result *r = made_result(4);
  r->quality.best_span = (girthline_span){NAN, NAN};
  gn_buffer out = {0};
  girthline_error error = {0};
  const girthline_report_input input = {.result = r, .name = "a.wav", .data = "x", .n_bytes = 1};
  assert_int_equal(gn_clip_write(&input, (gn_sink){collect, &out}, &error), GIRTHLINE_CANNOT_WRITE);
  assert_non_null(strstr(error.text, "a.wav"));
  assert_int_equal(out.n, 0);
  girthline_result_free(r);
}

enum { N_AIFF = RATE_HZ * 7 + 1 };

// A form whose bytes cannot be copied: 16-bit AIFF, highest byte first.
static memory_file aiff_of(float *x) {
  uint32_t state = 7;
  for (size_t i = 0; i < N_AIFF; i++) x[i] = (float)((int32_t)(state = state * 1664525u + 1013904223u) >> 16) / 32768.0F;
  return memory_file_of(SF_FORMAT_AIFF | SF_FORMAT_PCM_16, RATE_HZ, 1, x, N_AIFF);
}

static void another_form_is_decoded_without_loss(void **state) {
  (void)state;
  static float x[N_AIFF];
  memory_file m = aiff_of(x);
  girthline_result *r = made_result(4);
  r->quality.best_span = (girthline_span){1.0, 4.0};
  r->recording.sample_rate_hz = RATE_HZ;
  const gn_buffer file = {.text = (char *)m.bytes, .n = (size_t)m.n};
  for (int clip = 0; clip < 2; clip++) {
    gn_buffer out = marked(&file, r, clip);
    size_t got = 0;
    const size_t first = clip ? RATE_HZ : 0;
    const unsigned char *data = (const unsigned char *)chunk_of(&out, "data", 0, &got);
    assert_int_equal(got, 3 * (clip ? 3 * RATE_HZ : N_AIFF));
    for (size_t i = 0; i < got / 3; i++) {
      const int sample = (int)((uint32_t)data[3 * i] << 8 | (uint32_t)data[3 * i + 1] << 16 | (uint32_t)data[3 * i + 2] << 24) / 65536;
      assert_int_equal(data[3 * i], 0);
      assert_near(sample, (double)x[first + i] * 32768, 0);
    }
    assert_non_null(chunk_of(&out, "cue ", 0, &got));
    gn_buffer_clear(&out);
  }
  girthline_result_free(r);
  free(m.bytes);
}

// The channel the result is of, whichever the form's own first minute speaks for; of a result that names none (0), that.
static void another_form_is_decoded_from_the_channel_that_was_analysed(void **state) {
  (void)state;
  static float x[2 * N_AIFF];
  for (size_t i = 0; i < N_AIFF; i++) x[2 * i] = 0.25f, x[2 * i + 1] = 0.5f;
  memory_file m = memory_file_of(SF_FORMAT_AIFF | SF_FORMAT_PCM_16, RATE_HZ, 2, x, N_AIFF);
  girthline_result *r = made_result(4);
  const gn_buffer file = {.text = (char *)m.bytes, .n = (size_t)m.n};
  for (r->recording.channel_used = 0; r->recording.channel_used <= 2; r->recording.channel_used++) {
    gn_buffer out = marked(&file, r, false);
    size_t got = 0;
    const unsigned char *data = (const unsigned char *)chunk_of(&out, "data", 0, &got);
    assert_int_equal(data[2], r->recording.channel_used == 2 ? 0x40 : 0x20); // of 24 bits the highest
    gn_buffer_clear(&out);
  }
  gn_buffer out = {0};
  girthline_error error = {0};
  const girthline_report_input input = {.result = r, .name = "a.aiff", .data = m.bytes, .n_bytes = (size_t)m.n}; // its channel is the third
  assert_int_equal(gn_marked_write(&input, (gn_sink){collect, &out}, &error), GIRTHLINE_BAD_ARGUMENT);
  assert_string_equal(error.text, "a.aiff: there is no channel 3: give 1 to 2");
  gn_buffer_clear(&out);
  girthline_result_free(r);
  free(m.bytes);
}

// Sound of floating point may reach full scale and go beyond; 24 bits end at 2^23 - 1, and what is beyond stays there instead of turning over.
static void what_is_beyond_full_scale_stays_at_the_rail(void **state) {
  (void)state;
  static const double IN[] = {0.5, 1, -1, 1.5, -1.5};
  static const long OUT[] = {4194304, 8388607, -8388608, 8388607, -8388608};
  static float x[N_AIFF];
  for (size_t i = 0; i < N_AIFF; i++) x[i] = (float)IN[i % 5];
  memory_file m = memory_file_of(SF_FORMAT_AIFF | SF_FORMAT_FLOAT, RATE_HZ, 1, x, N_AIFF);
  girthline_result *r = made_result(4);
  r->recording.sample_rate_hz = RATE_HZ;
  const gn_buffer file = {.text = (char *)m.bytes, .n = (size_t)m.n};
  gn_buffer out = marked(&file, r, false);
  size_t got = 0;
  const unsigned char *data = (const unsigned char *)chunk_of(&out, "data", 0, &got);
  assert_int_equal(got, 3 * N_AIFF);
  for (size_t i = 0; i < 5; i++) {
    const long bits = data[3 * i] | data[3 * i + 1] << 8 | data[3 * i + 2] << 16;
    assert_int_equal(bits < 1 << 23 ? bits : bits - (1 << 24), OUT[i]);
  }
  gn_buffer_clear(&out);
  girthline_result_free(r);
  free(m.bytes);
}

// Every request for memory refused in turn, and every write up to the n_writes-th.
static void check_refusals(const girthline_report_input *input, int n_writes) {
  girthline_status status = GIRTHLINE_NO_MEMORY;
  for (size_t k = 1; status != GIRTHLINE_OK; k++) {
    int plenty = 1000;
    girthline_error error = {0};
    gn_memory_refuse(k);
    status = gn_marked_write(input, (gn_sink){refuse, &plenty}, &error);
    gn_memory_refuse(0);
    assert_true(status == GIRTHLINE_OK || status == GIRTHLINE_NO_MEMORY);
  }
  for (int room = 0; room < n_writes; room++) {
    int left = room;
    girthline_error error = {0};
    assert_int_equal(gn_marked_write(input, (gn_sink){refuse, &left}, &error), GIRTHLINE_CANNOT_WRITE);
  }
}

static void another_form_tells_of_refused_memory_and_a_full_disk(void **state) {
  (void)state;
  static float x[N_AIFF];
  memory_file m = aiff_of(x);
  girthline_result *r = made_result(4);
  const girthline_report_input input = {.result = r, .name = "a.aiff", .data = m.bytes, .n_bytes = (size_t)m.n};
  check_refusals(&input, 8);
  girthline_result_free(r);
  free(m.bytes);
}

static void refused_memory_and_a_full_disk_are_told(void **state) {
  (void)state;
  unsigned char *bytes = noise_bytes(RATE_HZ * 2 * 7);
  girthline_result *r = made_result(4);
  gn_buffer wave = {0};
  make_wave(&wave, bytes, RATE_HZ * 2 * 7, 1, 16);
  const girthline_report_input input = {.result = r, .name = "a.wav", .data = wave.text, .n_bytes = wave.n};
  check_refusals(&input, 5);
  gn_buffer_clear(&wave);
  girthline_result_free(r);
  free(bytes);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(samples_and_other_chunks_keep_their_bytes),
      cmocka_unit_test(another_reader_finds_the_marks_by_name),
      cmocka_unit_test(a_clip_holds_the_best_stretch_to_the_byte),
      cmocka_unit_test(a_recording_cut_off_in_its_samples_is_marked_to_its_last_whole_frame),
      cmocka_unit_test(without_a_best_stretch_there_is_no_clip),
      cmocka_unit_test(another_form_is_decoded_without_loss),
      cmocka_unit_test(another_form_is_decoded_from_the_channel_that_was_analysed),
      cmocka_unit_test(what_is_beyond_full_scale_stays_at_the_rail),
      cmocka_unit_test(another_form_tells_of_refused_memory_and_a_full_disk),
      cmocka_unit_test(refused_memory_and_a_full_disk_are_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
