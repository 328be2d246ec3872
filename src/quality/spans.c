// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "quality/parts.h"

// A day of recording stays bounded: past this many spans the nearest are joined (a choice; 320 kB).
static const size_t MOST_SPANS = 10000;
// Windows overlap by far less than this many spans.
static const size_t LOOK_BACK = 400;

static int by_time(const void *a, const void *b) {
  const girthline_problem *p = a, *q = b;
  if (p->span.start_s != q->span.start_s) return p->span.start_s < q->span.start_s ? -1 : 1;
  if (p->span.end_s != q->span.end_s) return p->span.end_s < q->span.end_s ? -1 : 1;
  return (int)p->kind - (int)q->kind;
}

static bool touches(const girthline_problem *p, girthline_problem_kind kind, girthline_span s, double join_s) {
  return p->kind == kind && s.start_s <= p->span.end_s + join_s && p->span.start_s <= s.end_s + join_s;
}

static void join(gn_quality_spans *list, double join_s) {
  qsort(list->items, list->n, sizeof *list->items, by_time);
  size_t last[GIRTHLINE_NO_HEART_SOUND + 1], kept = 0;
  bool seen[GIRTHLINE_NO_HEART_SOUND + 1] = {false};
  for (size_t i = 0; i < list->n; i++) {
    const girthline_problem p = list->items[i];
    if (seen[p.kind] && touches(&list->items[last[p.kind]], p.kind, p.span, join_s)) {
      girthline_span *span = &list->items[last[p.kind]].span;
      if (p.span.end_s > span->end_s) span->end_s = p.span.end_s;
      continue;
    }
    last[p.kind] = kept;
    seen[p.kind] = true;
    list->items[kept++] = p;
  }
  list->n = kept;
}

void gn_quality_spans_sort(gn_quality_spans *list) {
  if (list->n) join(list, list->join_s);
}

int gn_quality_spans_add(gn_quality_spans *list, girthline_problem_kind kind, double start_s, double end_s) {
  if (!(end_s > start_s)) return 0;
  const girthline_span s = {start_s, end_s};
  for (size_t i = list->n, left = LOOK_BACK; i > 0 && left > 0; i--, left--) {
    girthline_problem *p = &list->items[i - 1];
    if (!touches(p, kind, s, list->join_s)) continue;
    if (s.start_s < p->span.start_s) p->span.start_s = s.start_s;
    if (s.end_s > p->span.end_s) p->span.end_s = s.end_s;
    return 0;
  }
  void *items = list->items;
  if (gn_grow(&items, &list->capacity, list->n + 1, sizeof *list->items)) return -1;
  list->items = items;
  list->items[list->n++] = (girthline_problem){s, kind};
  for (double gap_s = 2 * list->join_s + 0.1; list->n > MOST_SPANS; gap_s *= 2) join(list, gap_s);
  return 0;
}

void gn_quality_spans_clear(gn_quality_spans *list) {
  gn_free(list->items);
  *list = (gn_quality_spans){.join_s = list->join_s};
}

bool gn_quality_spans_hit(const girthline_problem *items, size_t n, unsigned kinds, double start_s, double end_s) {
  for (size_t i = 0; i < n && items[i].span.start_s < end_s; i++)
    if (items[i].span.end_s > start_s && kinds >> items[i].kind & 1) return true;
  return false;
}
