// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Forms whose samples cannot be copied: decoded to one channel of 24-bit PCM, which holds every 16- and 24-bit sample.
#include <math.h>
#include <stdint.h>
#include <string.h>

#include <girthline/reader.h>

#include "base/error.h"
#include "base/memory.h"
#include "report/marked.h"
#include "report/sound.h"

#define STAGE "report"
enum { BLOCK = 8192, SAMPLE_BYTES = 3 };
static const double FULL_SCALE = 8388608; // 2^23

typedef struct decoder {
  girthline_reader *reader;
  gn_sink sink;
  girthline_error *error;
  const char *name;
  float *samples;
  unsigned char *bytes;
} decoder;

static girthline_status put(const decoder *d, const void *bytes, size_t n) {
  return d->sink.put(d->sink.user, bytes, n) ? gn_error_set(d->error, GIRTHLINE_CANNOT_WRITE, STAGE, "the copy of %s cannot be written", d->name) : GIRTHLINE_OK;
}

static void encode(const float *x, size_t n, unsigned char *to) {
  for (size_t i = 0; i < n; i++) {
    const double v = fmin(fmax(rint((double)x[i] * FULL_SCALE), -FULL_SCALE), FULL_SCALE - 1);
    const uint32_t bits = (uint32_t)(int32_t)v;
    for (int k = 0; k < SAMPLE_BYTES; k++) *to++ = (unsigned char)(bits >> (8 * k) & 255);
  }
}

// Runs over up to *n frames; writes them or only counts them. *n becomes what was there.
static girthline_status run(const decoder *d, uint64_t first, uint64_t *n, bool write) {
  girthline_status status = girthline_reader_seek(d->reader, (size_t)first, d->error);
  uint64_t done = 0;
  size_t got = 1;
  while (status == GIRTHLINE_OK && got && done < *n) {
    const size_t want = *n - done < BLOCK ? (size_t)(*n - done) : BLOCK;
    status = girthline_reader_read(d->reader, d->samples, want, &got, d->error);
    if (status != GIRTHLINE_OK) break;
    if (write) {
      encode(d->samples, got, d->bytes);
      status = put(d, d->bytes, got * SAMPLE_BYTES);
    }
    done += got;
  }
  *n = done;
  return status;
}

static girthline_status put_head(const decoder *d, uint64_t n_data, size_t n_marks) {
  const unsigned long rate_hz = (unsigned long)girthline_reader_recording(d->reader)->sample_rate_hz;
  const uint64_t n = 8 + 16 + 8 + n_data + n_data % 2 + n_marks;
  if (n + 4 > UINT32_MAX) return gn_error_set(d->error, GIRTHLINE_LIMIT, STAGE, "%s is too long for a WAV file of 4 GiB: mark a part of it", d->name);
  gn_buffer b = {0};
  gn_put_riff_head(&b, n);
  gn_buffer_puts(&b, "fmt ");
  gn_put_u32(&b, 16);
  gn_put_u16(&b, 1);
  gn_put_u16(&b, 1);
  gn_put_u32(&b, rate_hz);
  gn_put_u32(&b, rate_hz * SAMPLE_BYTES);
  gn_put_u16(&b, SAMPLE_BYTES);
  gn_put_u16(&b, 8 * SAMPLE_BYTES);
  gn_buffer_puts(&b, "data");
  gn_put_u32(&b, n_data);
  const girthline_status status = b.refused ? gn_error_memory(d->error, STAGE) : put(d, b.text, b.n);
  gn_buffer_clear(&b);
  return status;
}

static girthline_status write_all(const decoder *d, gn_stretch s, const gn_buffer *marks) {
  uint64_t n = s.n_frames;
  girthline_status status = run(d, s.first, &n, false); // the header needs the number of frames first
  if (status == GIRTHLINE_OK) status = put_head(d, n * SAMPLE_BYTES, marks->n);
  if (status == GIRTHLINE_OK) status = run(d, s.first, &n, true);
  if (status == GIRTHLINE_OK && n * SAMPLE_BYTES % 2) status = put(d, "", 1);
  return status == GIRTHLINE_OK ? put(d, marks->text, marks->n) : status;
}

girthline_status gn_marked_decode(const girthline_report_input *in, gn_stretch s, const gn_buffer *marks, gn_sink sink, girthline_error *error) {
  decoder d = {.sink = sink, .error = error, .name = in->name, .samples = gn_new(BLOCK, sizeof(float)), .bytes = gn_new(BLOCK, SAMPLE_BYTES)};
  girthline_status status = d.samples && d.bytes ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
  if (status == GIRTHLINE_OK) status = gn_sound_open(in, &d.reader, error);
  if (status == GIRTHLINE_OK) status = write_all(&d, s, marks);
  girthline_reader_free(d.reader);
  gn_free(d.samples);
  gn_free(d.bytes);
  return status;
}
