// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/compare_pairs.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "clinic/visits_json.h"

// One recording of a visit, and whether a row speaks of it already.
typedef struct take {
  json_t *report;
  const char *side, *area; ///< NULL: not stated
  double after;            ///< minutes after exercise; NaN: at rest
  bool used;
} take;

typedef struct takes {
  take *items;
  size_t n;
} takes;

static bool same_text(const char *a, const char *b) { return a == b || (a && b && !strcmp(a, b)); }
static bool same_place(const take *a, const take *b) { return same_text(a->side, b->side) && same_text(a->area, b->area); }
static bool same_time(const take *a, const take *b) { return (isnan(a->after) && isnan(b->after)) || a->after == b->after; }

static int gather(const json_t *exam, takes *out) {
  const json_t *recordings = json_object_get(exam, "recordings");
  out->n = json_array_size(recordings);
  out->items = gn_new(out->n, sizeof *out->items);
  if (!out->items) return -1;
  for (size_t i = 0; i < out->n; i++) {
    const json_t *r = json_array_get(recordings, i);
    out->items[i] = (take){gn_visits_report(exam, i), gn_visits_text(r, "side"), gn_visits_text(r, "area"), gn_visits_number(r, "minutes_after_exercise"), false};
    out->items[i].used = !json_is_object(out->items[i].report); // one that could not be analysed says nothing
  }
  return 0;
}

static int grade_of(const json_t *report) {
  static const char *const GRADES[] = {"unusable", "poor", "fair", "good"};
  const char *grade = gn_visits_text(json_object_get(report, "quality"), "grade");
  for (int i = 0; i < 4; i++)
    if (same_text(grade, GRADES[i])) return i;
  return 0;
}

bool gn_compare_better(const json_t *a, const json_t *b) {
  if (grade_of(a) != grade_of(b)) return grade_of(a) > grade_of(b);
  return gn_visits_number(json_object_get(a, "quality"), "usable_s") > gn_visits_number(json_object_get(b, "quality"), "usable_s");
}

// The best recording of t's place and time; all of that kind count as spoken of.
static take *best_like(takes *all, const take *t) {
  take *best = NULL;
  for (size_t i = 0; i < all->n; i++) {
    take *one = &all->items[i];
    if (!same_place(one, t) || !same_time(one, t) || !json_is_object(one->report)) continue;
    one->used = true;
    if (!best || gn_compare_better(one->report, best->report)) best = one;
  }
  return best;
}

static bool is_lossy(const char *encoding) {
  static const char *const LOSSY[] = {"MP1", "MP2", "MP3", "Vorbis", "Opus", "GSM", "ADPCM", "mu-law", "A-law", "DPCM"};
  for (size_t i = 0; encoding && i < sizeof LOSSY / sizeof *LOSSY; i++)
    if (strstr(encoding, LOSSY[i])) return true;
  return false;
}

// Another recorder has another frequency response. What the file tells of it: its sample rate, and whether its coding drops
// part of the sound.
static const char *recorder_barrier(const json_t *first, const json_t *second) {
  const json_t *a = json_object_get(first, "recording"), *b = json_object_get(second, "recording");
  const double rate_a = gn_visits_number(a, "sample_rate_hz"), rate_b = gn_visits_number(b, "sample_rate_hz");
  if (rate_a < rate_b || rate_a > rate_b) return "the recordings have different sample rates: plainly different recorders, whose levels are not one measure";
  if (is_lossy(gn_visits_text(a, "encoding")) != is_lossy(gn_visits_text(b, "encoding")))
    return "one recording is coded with loss and the other is not: their levels are not one measure";
  return NULL;
}

static const char *time_barrier(const take *a, const take *b) {
  if (same_time(a, b)) return NULL;
  if (isnan(a->after) || isnan(b->after)) return "one recording was made at rest and the other after exercise";
  return "the recordings were made at different times after exercise";
}

bool gn_compare_same_recording(const json_t *first, const json_t *second) {
  const char *a = gn_visits_text(json_object_get(first, "recording"), "content_hash"), *b = gn_visits_text(json_object_get(second, "recording"), "content_hash");
  return a && b && !strcmp(a, b);
}

static gn_pair pair_of(gn_comparison *c, const take *a, const take *b, const char *barrier) {
  gn_pair p = {.into = c, .reports = {a->report, b->report}, .side = a->side, .area = a->area, .minutes_after_exercise = a->after, .barrier = barrier};
  if (!barrier && gn_compare_same_recording(a->report, b->report)) p.barrier = "both visits name the same recording, which was made at one of them at most";
  if (!p.barrier) p.barrier = time_barrier(a, b);
  const char *first = gn_visits_text(a->report, "species"), *second = gn_visits_text(b->report, "species");
  if (!p.barrier && !same_text(first, second)) p.barrier = "the recordings were analysed as different species";
  p.sound_barrier = recorder_barrier(a->report, b->report);
  if (!a->area && !p.sound_barrier) p.sound_barrier = "where on the chest was recorded is not stated, so the sounds may be those of different places";
  return p;
}

// What stands alone in one visit.
static void alone(gn_comparison *c, takes *all, int visit) {
  for (size_t i = 0; i < all->n; i++) {
    take *t = &all->items[i];
    if (t->used) continue;
    best_like(all, t);
    gn_change row = {.what = "recording", .label = "Recording", .unit = "", .change = NAN, .repeatability = NAN};
    row.values[visit] = (gn_value){GN_VALUE_WORD, NAN, "recorded"};
    row.values[!visit] = (gn_value){GN_VALUE_ABSENT, NAN, NULL};
    const gn_pair p = {.into = c, .side = t->side, .area = t->area, .minutes_after_exercise = t->after};
    gn_compare_add(&p, row, GN_NOT_COMPARABLE, "this place and time was recorded at the %s visit only: what is heard there has nothing to be held against", visit ? "second" : "first");
  }
}

// First what was recorded alike; then, where a place is left at both visits, what was not.
static void match(gn_comparison *c, takes both[2], const char *barrier, gn_pair_visitor visitor, void *user) {
  for (int alike = 1; alike >= 0; alike--)
    for (size_t i = 0; i < both[0].n; i++) {
      take *a = &both[0].items[i], *b = NULL;
      if (a->used) continue;
      for (size_t k = 0; k < both[1].n && !b; k++)
        if (!both[1].items[k].used && same_place(a, &both[1].items[k]) && (!alike || same_time(a, &both[1].items[k]))) b = &both[1].items[k];
      if (!b) continue;
      a = best_like(&both[0], a);
      b = best_like(&both[1], b);
      const gn_pair pair = pair_of(c, a, b, barrier);
      visitor(user, &pair);
    }
  for (int visit = 0; visit < 2; visit++) alone(c, &both[visit], visit);
}

int gn_compare_each_pair(gn_comparison *c, const char *barrier, gn_pair_visitor visitor, void *user) {
  takes both[2] = {{0}, {0}};
  const int refused = gather(c->exams[0], &both[0]) || gather(c->exams[1], &both[1]) ? -1 : 0;
  if (!refused) match(c, both, barrier, visitor, user);
  for (int i = 0; i < 2; i++) gn_free(both[i].items);
  return refused;
}
