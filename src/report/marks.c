// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Cue points and their labels.
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/marked.h"

void gn_put_u16(gn_buffer *b, unsigned v) { gn_buffer_add(b, (char[]){(char)(v & 255), (char)(v >> 8 & 255)}, 2); }

void gn_put_u32(gn_buffer *b, uint64_t v) {
  gn_put_u16(b, (unsigned)(v & 0xFFFF));
  gn_put_u16(b, (unsigned)(v >> 16 & 0xFFFF));
}

void gn_put_riff_head(gn_buffer *b, uint64_t n_bytes_after) {
  gn_buffer_puts(b, "RIFF");
  gn_put_u32(b, n_bytes_after + 4);
  gn_buffer_puts(b, "WAVE");
}

typedef struct mark {
  double time_s;
  const char *label;
} mark;

typedef struct marks {
  mark *items;
  size_t n, capacity;
  bool refused;
} marks;

static void add(marks *m, double time_s, const char *label) {
  void *items = m->items;
  if (!isfinite(time_s) || m->refused) return;
  if (gn_grow(&items, &m->capacity, m->n + 1, sizeof *m->items)) {
    m->refused = true;
    return;
  }
  m->items = items;
  m->items[m->n++] = (mark){time_s, label};
}

static int by_time(const void *a, const void *b) {
  const mark *x = a, *y = b;
  if (x->time_s != y->time_s) return x->time_s < y->time_s ? -1 : 1;
  return strcmp(x->label, y->label);
}

static void collect(marks *m, const girthline_result *r) {
  static const char *const EXTRAS[] = {"S3", "S4", "split S1", "split S2", "click"};
  for (size_t i = 0; i < r->n_beats; i++) {
    add(m, r->beats[i].s1_onset_s, "S1");
    add(m, r->beats[i].s2_onset_s, "S2");
  }
  for (size_t i = 0; i < r->n_extras; i++)
    for (size_t k = 0; k < r->extras[i].n_onsets && (unsigned)r->extras[i].kind <= GIRTHLINE_CLICK; k++)
      add(m, r->extras[i].onsets_s[k], EXTRAS[r->extras[i].kind]);
  if (m->n) qsort(m->items, m->n, sizeof *m->items, by_time);
}

static void put_cue(gn_buffer *b, size_t id, uint64_t frame) {
  gn_put_u32(b, id);
  gn_put_u32(b, frame);
  gn_buffer_puts(b, "data");
  gn_put_u32(b, 0);
  gn_put_u32(b, 0);
  gn_put_u32(b, frame);
}

static void put_label(gn_buffer *b, size_t id, const char *label) {
  const size_t n = strlen(label) + 1;
  gn_buffer_puts(b, "labl");
  gn_put_u32(b, n + 4);
  gn_put_u32(b, id);
  gn_buffer_add(b, label, n);
  if (n % 2) gn_buffer_add(b, "", 1);
}

// The frame of a mark within the stretch, or -1.
static int64_t frame_of(const mark *m, double rate_hz, gn_stretch s) {
  const double frame = round(m->time_s * rate_hz);
  if (frame < (double)s.first || frame >= (double)s.first + (double)s.n_frames || frame > 4294967295.0) return -1;
  return (int64_t)frame - (int64_t)s.first;
}

#define WRITER "girthline marked"

static void put_writer(gn_buffer *b) {
  gn_buffer_puts(b, "LIST");
  gn_put_u32(b, 4 + 8 + sizeof WRITER + sizeof WRITER % 2);
  gn_buffer_puts(b, "INFOISFT");
  gn_put_u32(b, sizeof WRITER);
  gn_buffer_add(b, WRITER, sizeof WRITER);
  if (sizeof WRITER % 2) gn_buffer_add(b, "", 1);
}

void gn_marks_build(gn_buffer *out, const girthline_result *r, double rate_hz, gn_stretch stretch) {
  gn_buffer cues = {0}, labels = {0};
  marks m = {0};
  size_t n = 0;
  collect(&m, r);
  for (size_t i = 0; i < m.n; i++) {
    const int64_t frame = frame_of(&m.items[i], rate_hz, stretch);
    if (frame < 0) continue;
    put_cue(&cues, ++n, (uint64_t)frame);
    put_label(&labels, n, m.items[i].label);
  }
  if (n) {
    gn_buffer_puts(out, "cue ");
    gn_put_u32(out, 4 + cues.n);
    gn_put_u32(out, n);
    gn_buffer_add(out, cues.text, cues.n);
    gn_buffer_puts(out, "LIST");
    gn_put_u32(out, 4 + labels.n);
    gn_buffer_puts(out, "adtl");
    gn_buffer_add(out, labels.text, labels.n);
  }
  put_writer(out);
  if (cues.refused || labels.refused || m.refused) out->refused = true;
  gn_buffer_clear(&cues);
  gn_buffer_clear(&labels);
  gn_free(m.items);
}
