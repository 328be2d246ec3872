// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/score.h"

#include <math.h>
#include <stdlib.h>
#include <sys/stat.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/statistics.h"

#define STAGE "score"
#define SAME_TIME_S 1e-9 // times have four decimals: what is at the tolerance is within it

// Distances are compared as whole nanoseconds: the same order on every machine, whatever the last bit of a difference is.
typedef struct pair {
  int64_t distance_ns;
  size_t reference, detected;
} pair;
typedef struct pairs {
  pair *items;
  size_t n, capacity;
} pairs;

static int nearest_first(const void *a, const void *b) {
  const pair *x = a, *y = b;
  if (x->distance_ns != y->distance_ns) return x->distance_ns < y->distance_ns ? -1 : 1;
  if (x->reference != y->reference) return x->reference < y->reference ? -1 : 1;
  return (x->detected > y->detected) - (x->detected < y->detected);
}

static girthline_status list_pairs(pairs *p, const gn_score_times *reference, const gn_score_times *detected, double tolerance_s, girthline_error *error) {
  size_t from = 0;
  for (size_t r = 0; r < reference->n; r++) {
    while (from < detected->n && detected->at_s[from] < reference->at_s[r] - tolerance_s - SAME_TIME_S) from++;
    for (size_t d = from; d < detected->n && detected->at_s[d] <= reference->at_s[r] + tolerance_s + SAME_TIME_S; d++) {
      void *items = p->items;
      if (gn_grow(&items, &p->capacity, p->n + 1, sizeof *p->items)) return gn_error_memory(error, STAGE);
      p->items = items;
      p->items[p->n++] = (pair){(int64_t)floor(fabs(detected->at_s[d] - reference->at_s[r]) * 1e9 + 0.5), r, d};
    }
  }
  if (p->n) qsort(p->items, p->n, sizeof *p->items, nearest_first);
  return GIRTHLINE_OK;
}

static bool counts_at(const gn_score_spans *excluded, double at_s) {
  for (size_t i = 0; i < excluded->n; i++)
    if (at_s >= excluded->span[i].start_s && at_s < excluded->span[i].end_s) return false;
  return true;
}

static girthline_status tally(const pairs *p, const gn_score_times *reference, const gn_score_times *detected, const gn_score_spans *excluded,
                              gn_score_tally *t, girthline_error *error) {
  bool *used = gn_new(reference->n + detected->n, sizeof *used), *const taken = used ? used + reference->n : NULL;
  girthline_status status = used ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
  for (size_t i = 0; i < p->n && !status; i++) {
    const pair *x = &p->items[i];
    if (used[x->reference] || taken[x->detected]) continue;
    used[x->reference] = taken[x->detected] = true;
    if (!counts_at(excluded, reference->at_s[x->reference])) continue;
    t->n_matched++;
    status = gn_score_times_add(&t->error, detected->at_s[x->detected] - reference->at_s[x->reference], error);
  }
  for (size_t r = 0; r < reference->n && used; r++) t->n_missed += !used[r] && counts_at(excluded, reference->at_s[r]);
  for (size_t d = 0; d < detected->n && used; d++) t->n_false += !taken[d] && counts_at(excluded, detected->at_s[d]);
  gn_free(used);
  return status;
}

static girthline_status add_to_all(gn_score_recording *rec, int kind, girthline_error *error) {
  gn_score_tally *all = &rec->tally[GN_SCORE_ALL];
  const gn_score_tally *t = &rec->tally[kind];
  girthline_status status = GIRTHLINE_OK;
  all->n_matched += t->n_matched;
  all->n_missed += t->n_missed;
  all->n_false += t->n_false;
  for (size_t i = 0; i < t->error.n && !status; i++) status = gn_score_times_add(&all->error, t->error.at_s[i], error);
  return status;
}

// 60 over the median interval between first sounds; an interval that an excluded span touches is none.
static girthline_status reference_rate(const gn_score_times *s1, const gn_score_spans *excluded, double *bpm, girthline_error *error) {
  gn_score_times interval = {0};
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 1; i < s1->n && !status; i++) {
    bool clear = true;
    for (size_t k = 0; k < excluded->n; k++) clear = clear && (s1->at_s[i] < excluded->span[k].start_s || s1->at_s[i - 1] >= excluded->span[k].end_s);
    if (clear) status = gn_score_times_add(&interval, s1->at_s[i] - s1->at_s[i - 1], error);
  }
  *bpm = interval.n ? 60 / gn_median(interval.at_s, interval.n) : (double)NAN;
  gn_free(interval.at_s);
  return status;
}

// What lies outside the part that was analysed is excluded too.
static girthline_status exclude_rest(gn_score_spans *excluded, const gn_score_report *report, girthline_error *error) {
  void *items = excluded->span;
  if (gn_grow(&items, &excluded->capacity, excluded->n + 2, sizeof *excluded->span)) return gn_error_memory(error, STAGE);
  excluded->span = items;
  if (report->from_s > 0) excluded->span[excluded->n++] = (girthline_span){-INFINITY, report->from_s};
  if (isfinite(report->to_s)) excluded->span[excluded->n++] = (girthline_span){report->to_s, INFINITY};
  return GIRTHLINE_OK;
}

static girthline_status score_kinds(gn_score_recording *rec, const gn_score_times sound[4], const gn_score_spans *excluded, const gn_score_request *q,
                                    girthline_error *error) {
  girthline_status status = reference_rate(&sound[0], excluded, &rec->reference_bpm, error);
  for (int k = 0; k < (q->extra ? 4 : 2) && !status; k++) {
    pairs p = {0};
    status = list_pairs(&p, &sound[k], &rec->report->sound[k], q->tolerance_s, error);
    if (!status) status = tally(&p, &sound[k], &rec->report->sound[k], excluded, &rec->tally[k], error);
    if (!status) status = add_to_all(rec, k, error);
    gn_free(p.items);
  }
  return status;
}

static girthline_status score_one(gn_score_recording *rec, const gn_score_request *q, girthline_error *error) {
  gn_score_times sound[4] = {0};
  gn_score_spans excluded = {0};
  girthline_status status = gn_score_reference_read(q, rec->report->file, sound, &excluded, &rec->reason, error);
  if (!status && !rec->reason) status = exclude_rest(&excluded, rec->report, error);
  if (!status && !rec->reason) status = score_kinds(rec, sound, &excluded, q, error);
  for (int k = 0; k < 4; k++) gn_free(sound[k].at_s);
  gn_free(excluded.span);
  return status;
}

girthline_status gn_score_set_run(gn_score_set *set, const gn_score_reports *reports, const gn_score_request *q, girthline_error *error) {
  struct stat st;
  *set = (gn_score_set){.items = gn_new(reports->n, sizeof *set->items)};
  if (!set->items) return gn_error_memory(error, STAGE);
  if (reports->n > 1 && !stat(q->reference, &st) && !S_ISDIR(st.st_mode))
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, STAGE, "%s is the reference of one recording, and there are %zu reports: name a folder", q->reference,
                        reports->n);
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < reports->n && !status; i++) {
    set->items[i] = (gn_score_recording){.report = &reports->items[i], .bpm = reports->items[i].bpm, .reference_bpm = (double)NAN};
    set->n = i + 1;
    status = score_one(&set->items[i], q, error);
    set->n_scored += !status && !set->items[i].reason;
  }
  return status;
}

void gn_score_set_clear(gn_score_set *set) {
  for (size_t i = 0; i < set->n; i++) {
    gn_free(set->items[i].reason);
    for (int k = 0; k < GN_N_SCORES; k++) gn_free(set->items[i].tally[k].error.at_s);
  }
  gn_free(set->items);
  *set = (gn_score_set){0};
}
