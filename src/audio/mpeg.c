// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/mpeg.h"

#include <string.h>

// kbit/s by [row][index], ISO/IEC 11172-3 2.4.2.3 and 13818-3: version 1 layers I, II, III; version 2 layers I, II+III.
static const int KBPS[5][15] = {
    {0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448},
    {0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
    {0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
    {0, 32, 48, 56, 64, 80, 96, 112, 128, 144, 160, 176, 192, 224, 256},
    {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
};
static const int RATE_HZ[3] = {44100, 48000, 32000}; // version 1; halved and quartered for 2 and 2.5

typedef struct frame {
  bool version1, mono;
  int layer;
  int64_t length; // 0: free format, the length is not in the header
} frame;

static bool has_mark(const unsigned char *h) { return h[0] == 0xff && (h[1] & 0xe0) == 0xe0; }

static bool parse(const unsigned char *h, frame *f) {
  const int version = h[1] >> 3 & 3, layer = 4 - (h[1] >> 1 & 3), rate = h[2] >> 2 & 3, index = h[2] >> 4, pad = h[2] >> 1 & 1;
  if (!has_mark(h) || version == 1 || layer == 4 || rate == 3 || index == 15) return false;
  f->version1 = version == 3;
  f->mono = h[3] >> 6 == 3;
  f->layer = layer;
  const int row = f->version1 ? layer - 1 : layer == 1 ? 3 : 4;
  const int fs_hz = RATE_HZ[rate] >> (f->version1 ? 0 : version == 2 ? 1 : 2);
  const int bits = KBPS[row][index] * 1000, slots = layer == 3 && !f->version1 ? 72 : 144;
  f->length = layer == 1 ? (12 * bits / fs_hz + pad) * 4 : slots * bits / fs_hz + pad;
  if (!bits) f->length = 0;
  return true;
}

static bool frame_at(gn_source *source, int64_t at, frame *f) {
  unsigned char h[4];
  return gn_source_read_at(source, at, h, 4) == 4 && parse(h, f);
}

bool gn_mpeg_only_resembles(gn_source *source, int64_t at) {
  unsigned char h[4] = {0};
  frame first, second;
  gn_source_read_at(source, at, h, 4);
  if (!has_mark(h)) return false;
  if (!parse(h, &first)) return true;
  if (!first.length) return false;
  return !frame_at(source, at + first.length, &second) || second.layer != first.layer || second.version1 != first.version1;
}

// Bytes of a tag at a position (ID3v2 between two pieces joined together), or 0.
static int64_t tag_length(gn_source *source, int64_t at) {
  unsigned char h[10];
  if (gn_source_read_at(source, at, h, 10) < 10 || memcmp(h, "ID3", 3)) return 0;
  int64_t size = 10;
  for (int i = 0; i < 4; i++) size += (int64_t)(h[6 + i] & 0x7f) << (7 * (3 - i));
  return size;
}

// The end of the row of frames that begins at `at`, and how many of them are whole: the last may be not. A buffer: the walk reads every header.
static int64_t end_of_row(gn_source *source, int64_t at, const frame *first, int64_t *n_whole) {
  enum { WINDOW = 16384 };
  unsigned char window[WINDOW];
  int64_t from = 0, n = 0;
  *n_whole = 0;
  while (at < source->length) {
    if (at < from || at + 4 > from + n) {
      from = at;
      n = gn_source_read_at(source, at, window, WINDOW);
      if (n < 4) break;
    }
    frame f;
    if (!parse(window + (at - from), &f) || !f.length || f.layer != first->layer || f.version1 != first->version1) {
      const int64_t tag = tag_length(source, at);
      if (!tag) break;
      at += tag;
      continue;
    }
    at += f.length;
    *n_whole += at <= source->length;
  }
  return at;
}

// What is left behind the row is a tag at the end or nothing but zeros: no sound is lost with it.
static bool is_tail(gn_source *source, int64_t at) {
  unsigned char h[128];
  const int64_t n = gn_source_read_at(source, at, h, sizeof h);
  if (n >= 8 && (!memcmp(h, "TAG", 3) || !memcmp(h, "APETAGEX", 8) || !memcmp(h, "LYRICSBE", 8))) return true;
  for (int64_t i = 0; i < n; i++)
    if (h[i]) return false;
  return source->length - at < 4096 || n == 0;
}

// The encoder's table in the first frame ("Xing" or "Info") says how many frames and bytes there are.
typedef struct table {
  unsigned char flags;
  int64_t fields; // where its numbers stand
} table;
enum { HAS_FRAMES = 1, HAS_BYTES = 2 };

static bool find_table(gn_source *source, int64_t at, const frame *f, table *t) {
  unsigned char h[8];
  const int64_t from = at + 4 + (f->version1 ? (f->mono ? 17 : 32) : (f->mono ? 9 : 17)); // behind the side information
  if (f->layer != 3 || gn_source_read_at(source, from, h, 8) < 8 || (memcmp(h, "Xing", 4) && memcmp(h, "Info", 4))) return false;
  *t = (table){h[7], from + 8};
  return true;
}

static int64_t read_field(gn_source *source, int64_t at) {
  unsigned char b[4] = {0};
  gn_source_read_at(source, at, b, 4);
  return (int64_t)b[0] << 24 | b[1] << 16 | b[2] << 8 | b[3];
}

static bool mend_bytes(gn_source *source, int64_t at, const table *t) {
  if (!(t->flags & HAS_BYTES)) return false;
  const int64_t field = t->fields + (t->flags & HAS_FRAMES ? 4 : 0), real = source->length - at, said = read_field(source, field);
  if (real > UINT32_MAX || (said >= real - real / 128 && said <= real + real / 128)) return false;
  unsigned char b[4];
  for (int i = 0; i < 4; i++) b[i] = (unsigned char)(real >> (24 - 8 * i));
  return gn_source_patch(source, field, b, 4) == 0;
}

// An empty tag in front. Without one the decoder library, before it takes the bytes for MPEG, looks for a file "._" in
// the current folder (a resource fork) and, if there is one, reads nothing.
static void put_tag(gn_source *source) {
  gn_source_insert(source, 0, "\0\0\0\0\0\0\0\0", 8); // padding
  gn_source_insert(source, 0, "\0\16\0\0\0\0\0\0", 8); // the last two bytes of the tag's size, 14; padding
  gn_source_insert(source, 0, "ID3\4\0\0\0\0", 8);
}

bool gn_mpeg_mend(gn_source *source, int64_t at, int64_t *most_n) {
  frame first;
  table t;
  int64_t n_whole;
  *most_n = -1;
  if (!frame_at(source, at, &first) || !first.length) return false;
  const int64_t end = end_of_row(source, at, &first, &n_whole);
  const bool lost = end < source->length && !is_tail(source, end);
  gn_source_cut(source, end);
  // Samples a frame: ISO/IEC 11172-3 (version 1), and 13818-3, whose layer III has half as many.
  *most_n = n_whole * (first.layer == 1 ? 384 : first.layer == 3 && !first.version1 ? 576 : 1152);
  const bool has_table = find_table(source, at, &first, &t), wrong = has_table && mend_bytes(source, at, &t);
  const int64_t said = has_table && t.flags & HAS_FRAMES ? read_field(source, t.fields) : 0;
  if (said) *most_n = said < n_whole ? INT64_MAX : 0; // the table's own frame holds no sound
  if (at == 0) put_tag(source);
  return lost || wrong;
}
