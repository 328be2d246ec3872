// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// An uncompressed RIFF WAVE is copied chunk by chunk; its samples are never touched.
#include "report/marked.h"

#include <errno.h>
#include <math.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"

#define STAGE "report"
#define CHUNKS_MOST 200 // a file with more is decoded instead

typedef struct chunk {
  char id[4];
  uint64_t at, n_bytes; // of its content
} chunk;

typedef struct wave {
  FILE *file;
  uint64_t n_file;
  chunk chunks[CHUNKS_MOST];
  size_t n_chunks, data; // data: index of the sample chunk
  unsigned frame_bytes;
  double rate_hz;
} wave;

static bool read_at(const wave *w, uint64_t at, void *to, size_t n) {
  return !fseeko(w->file, (off_t)at, SEEK_SET) && fread(to, 1, n, w->file) == n;
}

static unsigned u16(const unsigned char *p) { return (unsigned)p[0] | (unsigned)p[1] << 8; }

static uint32_t u32(const unsigned char *p) { return (uint32_t)u16(p) | (uint32_t)u16(p + 2) << 16; }

// WAVE_FORMAT_PCM, _IEEE_FLOAT, or _EXTENSIBLE whose sub-format begins with one of them.
static bool take_format(wave *w, const chunk *c) {
  unsigned char f[26] = {0};
  if (c->n_bytes < 16 || !read_at(w, c->at, f, c->n_bytes < sizeof f ? 16 : sizeof f)) return false;
  const unsigned tag = u16(f) == 0xFFFE ? u16(f + 24) : u16(f), channels = u16(f + 2), bits = u16(f + 14);
  w->rate_hz = u32(f + 4);
  w->frame_bytes = u16(f + 12);
  return (tag == 1 || tag == 3) && channels && bits && w->rate_hz > 0 && w->frame_bytes == channels * ((bits + 7) / 8);
}

static bool is_id(const chunk *c, const char *id) { return !memcmp(c->id, id, 4); }

static bool is_label_list(const wave *w, const chunk *c) {
  char kind[4];
  return is_id(c, "LIST") && c->n_bytes >= 4 && read_at(w, c->at, kind, 4) && !memcmp(kind, "adtl", 4);
}

// The chunks in their order. false: not a plain WAVE, or damaged in a way only a decoder mends.
static bool walk(wave *w) {
  unsigned char head[12];
  bool format = false, data = false;
  if (!read_at(w, 0, head, 12) || memcmp(head, "RIFF", 4) || memcmp(head + 8, "WAVE", 4)) return false;
  for (uint64_t at = 12; at + 8 <= w->n_file;) {
    if (w->n_chunks == CHUNKS_MOST || !read_at(w, at, head, 8)) return false;
    chunk *c = &w->chunks[w->n_chunks++];
    memcpy(c->id, head, 4);
    c->at = at + 8;
    c->n_bytes = u32(head + 4);
    const bool cut = c->at + c->n_bytes > w->n_file;
    if (cut) c->n_bytes = w->n_file - c->at;
    if (is_id(c, "fmt ") && (format || !(format = take_format(w, c)))) return false;
    if (is_id(c, "data")) {
      if (data || !format || !c->n_bytes) return false;
      data = true;
      w->data = w->n_chunks - 1;
      if (cut) c->n_bytes -= c->n_bytes % w->frame_bytes; // the rest of a frame that was cut off
    } else if (cut) {
      w->n_chunks--; // trailing rubbish
      break;
    }
    at = c->at + c->n_bytes + c->n_bytes % 2;
  }
  return data;
}

static girthline_status open_wave(const girthline_report_input *in, wave *w, bool *plain, girthline_error *error) {
  *w = (wave){0};
  *plain = false;
  if (!in->path && !in->n_bytes) return GIRTHLINE_OK;
  w->file = in->path ? fopen(in->path, "rbe") : fmemopen((void *)(uintptr_t)in->data, in->n_bytes, "rb");
  if (!w->file) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s", in->name, strerror(errno));
  if (!fseeko(w->file, 0, SEEK_END)) w->n_file = (uint64_t)ftello(w->file);
  *plain = walk(w);
  return GIRTHLINE_OK;
}

typedef struct copy {
  const wave *wave;
  gn_sink sink;
  girthline_error *error;
  const char *name;
} copy;

static girthline_status put(const copy *c, const void *bytes, size_t n) {
  return c->sink.put(c->sink.user, bytes, n) ? gn_error_set(c->error, GIRTHLINE_CANNOT_WRITE, STAGE, "the copy of %s cannot be written", c->name) : GIRTHLINE_OK;
}

static girthline_status put_range(const copy *c, uint64_t at, uint64_t n) {
  char block[1 << 16];
  girthline_status status = GIRTHLINE_OK;
  for (uint64_t done = 0; status == GIRTHLINE_OK && done < n;) {
    const size_t step = n - done < sizeof block ? (size_t)(n - done) : sizeof block;
    if (!read_at(c->wave, at + done, block, step)) return gn_error_set(c->error, GIRTHLINE_CANNOT_READ, STAGE, "%s changed while it was read: analyse it again", c->name);
    status = put(c, block, step);
    done += step;
  }
  return status;
}

// A chunk's head and content; odd content gets its pad byte.
static girthline_status put_chunk(const copy *c, const chunk *k) {
  gn_buffer head = {0};
  gn_buffer_add(&head, k->id, 4);
  gn_put_u32(&head, k->n_bytes);
  girthline_status status = head.refused ? gn_error_memory(c->error, STAGE) : put(c, head.text, head.n);
  gn_buffer_clear(&head);
  if (status == GIRTHLINE_OK) status = put_range(c, k->at, k->n_bytes);
  return status == GIRTHLINE_OK && k->n_bytes % 2 ? put(c, "", 1) : status;
}

static bool is_kept(const wave *w, const chunk *c, bool whole) {
  if (!whole) return is_id(c, "fmt ") || is_id(c, "data");
  return !is_id(c, "cue ") && !is_label_list(w, c);
}

static uint64_t size_of(const chunk *c) { return 8 + c->n_bytes + c->n_bytes % 2; }

static girthline_status write_wave(const copy *c, bool whole, const gn_buffer *marks) {
  const wave *w = c->wave;
  uint64_t n = marks->n;
  for (size_t i = 0; i < w->n_chunks; i++) n += is_kept(w, &w->chunks[i], whole) ? size_of(&w->chunks[i]) : 0;
  if (n + 4 > UINT32_MAX) return gn_error_set(c->error, GIRTHLINE_LIMIT, STAGE, "%s is too long for a WAV file of 4 GiB: mark a part of it", c->name);
  gn_buffer head = {0};
  gn_put_riff_head(&head, n);
  girthline_status status = head.refused ? gn_error_memory(c->error, STAGE) : put(c, head.text, head.n);
  gn_buffer_clear(&head);
  for (size_t i = 0; status == GIRTHLINE_OK && i < w->n_chunks; i++)
    if (is_kept(w, &w->chunks[i], whole)) status = put_chunk(c, &w->chunks[i]);
  return status == GIRTHLINE_OK ? put(c, marks->text, marks->n) : status;
}

// Narrow the sample chunk to the stretch.
static void cut_data(wave *w, gn_stretch s) {
  chunk *data = &w->chunks[w->data];
  const uint64_t n = data->n_bytes / w->frame_bytes;
  const uint64_t first = s.first < n ? s.first : n, most = n - first;
  data->at += first * w->frame_bytes;
  data->n_bytes = (s.n_frames < most ? s.n_frames : most) * w->frame_bytes;
}

static girthline_status write_part(const girthline_report_input *in, bool whole, gn_sink sink, girthline_error *error) {
  wave w;
  bool plain;
  girthline_status status = open_wave(in, &w, &plain, error);
  if (status != GIRTHLINE_OK) return status;
  const double rate_hz = plain ? w.rate_hz : in->result->recording.sample_rate_hz;
  const girthline_span best = in->result->quality.best_span;
  gn_stretch s = {0, UINT64_MAX};
  if (!whole) s = (gn_stretch){(uint64_t)(fmax(0, best.start_s) * rate_hz), (uint64_t)(fmax(0, best.end_s - best.start_s) * rate_hz)};
  gn_buffer marks = {0};
  gn_marks_build(&marks, in->result, rate_hz, s);
  const copy c = {&w, sink, error, in->name};
  if (plain && !whole) cut_data(&w, s);
  if (marks.refused) status = gn_error_memory(error, STAGE);
  else status = plain ? write_wave(&c, whole, &marks) : gn_marked_decode(in, s, &marks, sink, error);
  gn_buffer_clear(&marks);
  if (w.file) fclose(w.file);
  return status;
}

girthline_status gn_marked_write(const girthline_report_input *in, gn_sink sink, girthline_error *error) { return write_part(in, true, sink, error); }

girthline_status gn_clip_write(const girthline_report_input *in, gn_sink sink, girthline_error *error) {
  const girthline_span best = in->result->quality.best_span;
  if (!isfinite(best.start_s) || !isfinite(best.end_s))
    return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s has no clean run of beats to cut a clip from: record again for a minute in a quiet place", in->name);
  return write_part(in, false, sink, error);
}
