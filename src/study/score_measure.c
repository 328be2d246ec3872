// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Bootstrap intervals: Efron, "Bootstrap methods: another look at the jackknife", Annals of Statistics 7 (1979) 1-26; percentile
// form, by whole recordings where there are several (a cluster bootstrap).
#include "study/score.h"

#include <math.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"

#define STAGE "score"
#define LOW 0.025
#define HIGH 0.975
#define DEFINED_LEAST 0.5 // of the resamples must give a number, else there is no interval; a choice

static double share(size_t part, size_t rest) { return part + rest ? (double)part / (double)(part + rest) : (double)NAN; }

double gn_score_f1(size_t n_matched, size_t n_missed, size_t n_false) {
  const size_t all = 2 * n_matched + n_missed + n_false;
  return all ? 2 * (double)n_matched / (double)all : (double)NAN;
}

// The four numbers that are drawn again, resample by resample.
enum { SENSITIVITY, PPV, F1, TIMING, N_DRAWN };
typedef struct draws {
  double *x[N_DRAWN];
  size_t n[N_DRAWN];
} draws;

static girthline_status draws_init(draws *d, size_t n, girthline_error *error) {
  *d = (draws){0};
  for (int i = 0; i < N_DRAWN; i++)
    if (!(d->x[i] = gn_new(n, sizeof(double)))) return gn_error_memory(error, STAGE);
  return GIRTHLINE_OK;
}

static void draws_clear(draws *d) {
  for (int i = 0; i < N_DRAWN; i++) gn_free(d->x[i]);
}

static void note(draws *d, int which, double value) {
  if (isfinite(value)) d->x[which][d->n[which]++] = value;
}

static void interval_of(draws *d, int which, size_t n_resamples, gn_score_estimate *e) {
  const size_t n = d->n[which];
  e->interval[0] = e->interval[1] = (double)NAN;
  if (!isfinite(e->value) || !n || (double)n < DEFINED_LEAST * (double)n_resamples) return;
  e->interval[0] = gn_quantile(d->x[which], n, LOW);
  e->interval[1] = gn_quantile(d->x[which], n, HIGH);
}

static void set_intervals(draws *d, size_t n_resamples, gn_score_measures *m) {
  interval_of(d, SENSITIVITY, n_resamples, &m->sensitivity);
  interval_of(d, PPV, n_resamples, &m->ppv);
  interval_of(d, F1, n_resamples, &m->f1);
  interval_of(d, TIMING, n_resamples, &m->timing_mean_s);
}

static girthline_status measure_tally(const gn_score_tally *t, gn_score_measures *m, girthline_error *error) {
  *m = (gn_score_measures){.n_reference = t->n_matched + t->n_missed, .n_detected = t->n_matched + t->n_false, .n_matched = t->n_matched};
  m->sensitivity.value = share(t->n_matched, t->n_missed);
  m->ppv.value = share(t->n_matched, t->n_false);
  m->f1.value = gn_score_f1(t->n_matched, t->n_missed, t->n_false);
  m->timing_mean_s.value = gn_mean(t->error.at_s, t->error.n);
  m->timing_sd_s = gn_sd(t->error.at_s, t->error.n);
  double *copy = gn_new(t->error.n, sizeof *copy);
  if (!copy) return gn_error_memory(error, STAGE);
  if (t->error.n) memcpy(copy, t->error.at_s, t->error.n * sizeof *copy);
  m->timing_median_s = gn_median(copy, t->error.n);
  gn_free(copy);
  return GIRTHLINE_OK;
}

// Outcomes drawn with replacement: pairs first (each with its timing error), then misses, then false detections.
static void draw_outcomes(const gn_score_tally *t, gn_random *random, draws *d) {
  const size_t n = t->n_matched + t->n_missed + t->n_false;
  size_t matched = 0, missed = 0;
  double sum_s = 0;
  for (size_t i = 0; i < n; i++) {
    const size_t at = (size_t)gn_random_below(random, n);
    if (at < t->n_matched) {
      matched++;
      sum_s += t->error.at_s[at];
    } else if (at < t->n_matched + t->n_missed) {
      missed++;
    }
  }
  const size_t false_ones = n - matched - missed;
  note(d, SENSITIVITY, share(matched, missed));
  note(d, PPV, share(matched, false_ones));
  note(d, F1, gn_score_f1(matched, missed, false_ones));
  note(d, TIMING, matched ? sum_s / (double)matched : (double)NAN);
}

girthline_status gn_score_measure(const gn_score_recording *rec, int kind, size_t index, const gn_score_request *q, gn_score_measures *out,
                                  girthline_error *error) {
  const gn_score_tally *t = &rec->tally[kind];
  gn_random random = gn_random_of(q->seed + 8 * (uint64_t)index + (uint64_t)kind);
  draws d;
  girthline_status status = measure_tally(t, out, error);
  if (!status) {
    status = draws_init(&d, q->n_resamples, error);
    for (size_t i = 0; i < q->n_resamples && !status; i++) draw_outcomes(t, &random, &d);
    if (!status) set_intervals(&d, q->n_resamples, out);
    draws_clear(&d);
  }
  return status;
}

// Sums over recordings, as drawn.
typedef struct sums {
  size_t matched, missed, false_ones;
  double error_s;
} sums;

static void add_tally(sums *s, const gn_score_tally *t) {
  s->matched += t->n_matched;
  s->missed += t->n_missed;
  s->false_ones += t->n_false;
  for (size_t i = 0; i < t->error.n; i++) s->error_s += t->error.at_s[i];
}

static void note_sums(draws *d, const sums *s) {
  note(d, SENSITIVITY, share(s->matched, s->missed));
  note(d, PPV, share(s->matched, s->false_ones));
  note(d, F1, gn_score_f1(s->matched, s->missed, s->false_ones));
  note(d, TIMING, s->matched ? s->error_s / (double)s->matched : (double)NAN);
}

static double rate_error_percent(const gn_score_recording *rec) { return 100 * (rec->bpm - rec->reference_bpm) / rec->reference_bpm; }

// The scored recordings, each with its sums made once.
typedef struct drawing {
  const gn_score_recording **rec;
  sums *sum; // GN_N_SCORES a recording
  size_t n;
} drawing;

static girthline_status drawing_init(drawing *w, const gn_score_set *set, girthline_error *error) {
  *w = (drawing){.rec = gn_new(set->n_scored, sizeof *w->rec), .sum = gn_new(set->n_scored * GN_N_SCORES, sizeof *w->sum)};
  if (!w->rec || !w->sum) return gn_error_memory(error, STAGE);
  for (size_t i = 0; i < set->n; i++) {
    if (set->items[i].reason) continue;
    for (int k = 0; k < GN_N_SCORES; k++) add_tally(&w->sum[w->n * GN_N_SCORES + (size_t)k], &set->items[i].tally[k]);
    w->rec[w->n++] = &set->items[i];
  }
  return GIRTHLINE_OK;
}

static void drawing_clear(drawing *w) {
  gn_free(w->rec);
  gn_free(w->sum);
}

static void add_sums(sums *to, const sums *from) {
  to->matched += from->matched;
  to->missed += from->missed;
  to->false_ones += from->false_ones;
  to->error_s += from->error_s;
}

// Every kind and the rate are read from the same draw of recordings.
static void draw_recordings(const drawing *w, const gn_score_request *q, draws d[GN_N_SCORES], draws *rate) {
  gn_random random = gn_random_of(q->seed);
  for (size_t i = 0; i < q->n_resamples; i++) {
    sums s[GN_N_SCORES] = {0};
    double total = 0;
    size_t n_rates = 0;
    for (size_t k = 0; k < w->n; k++) {
      const size_t at = (size_t)gn_random_below(&random, w->n);
      const double percent = fabs(rate_error_percent(w->rec[at]));
      for (size_t kind = 0; kind < GN_N_SCORES; kind++) add_sums(&s[kind], &w->sum[at * GN_N_SCORES + kind]);
      if (isfinite(percent)) total += percent, n_rates++;
    }
    for (int kind = 0; kind < GN_N_SCORES; kind++) note_sums(&d[kind], &s[kind]);
    note(rate, 0, n_rates ? total / (double)n_rates : (double)NAN);
  }
}

static girthline_status pool_kind(const drawing *w, int kind, gn_score_measures *m, girthline_error *error) {
  gn_score_tally all = {0};
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < w->n && !status; i++) {
    const gn_score_tally *t = &w->rec[i]->tally[kind];
    all.n_matched += t->n_matched;
    all.n_missed += t->n_missed;
    all.n_false += t->n_false;
    for (size_t e = 0; e < t->error.n && !status; e++) status = gn_score_times_add(&all.error, t->error.at_s[e], error);
  }
  if (!status) status = measure_tally(&all, m, error);
  gn_free(all.error.at_s);
  return status;
}

static girthline_status pool_rates(const drawing *w, gn_score_pooled *out, girthline_error *error) {
  gn_score_times percent = {0};
  girthline_status status = GIRTHLINE_OK;
  size_t within = 0;
  for (size_t i = 0; i < w->n && !status; i++) {
    const double off = fabs(rate_error_percent(w->rec[i]));
    within += off <= 5;
    if (isfinite(off)) status = gn_score_times_add(&percent, off, error);
  }
  out->n_rates = percent.n;
  out->rate_within_5_percent = percent.n ? (double)within / (double)percent.n : (double)NAN;
  out->rate_error_mean_percent.value = gn_mean(percent.at_s, percent.n);
  out->rate_error_median_percent = gn_median(percent.at_s, percent.n);
  gn_free(percent.at_s);
  return status;
}

girthline_status gn_score_pool(const gn_score_set *set, const gn_score_request *q, gn_score_pooled *out, girthline_error *error) {
  drawing w = {0};
  draws d[GN_N_SCORES] = {0}, rate = {0};
  *out = (gn_score_pooled){0};
  girthline_status status = drawing_init(&w, set, error);
  for (int k = 0; k < GN_N_SCORES && !status; k++) status = pool_kind(&w, k, &out->kind[k], error);
  if (!status) status = pool_rates(&w, out, error);
  for (int k = 0; k < GN_N_SCORES && !status; k++) status = draws_init(&d[k], q->n_resamples, error);
  if (!status) status = draws_init(&rate, q->n_resamples, error);
  if (!status && w.n >= 2) draw_recordings(&w, q, d, &rate);
  if (!status) {
    for (int k = 0; k < GN_N_SCORES; k++) set_intervals(&d[k], q->n_resamples, &out->kind[k]);
    interval_of(&rate, 0, q->n_resamples, &out->rate_error_mean_percent);
  }
  for (int k = 0; k < GN_N_SCORES; k++) draws_clear(&d[k]);
  draws_clear(&rate);
  drawing_clear(&w);
  return status;
}
