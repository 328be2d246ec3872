// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Two runs over the same recordings: the difference of the pooled measures with a bootstrap over recordings (the same draw for both
// runs, so that the pairing is kept), and the sign test (Conover, Practical Nonparametric Statistics, 3rd ed., 1999, section 3.4).
#include "study/score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "base/statistics.h"

#define STAGE "score"

typedef struct couple {
  const gn_score_tally *first, *second;
} couple;

enum { SENSITIVITY, PPV, F1, N_DRAWN };
typedef struct triple {
  double x[N_DRAWN];
} triple;

static triple measures(size_t matched, size_t missed, size_t false_ones) {
  const double m = (double)matched;
  return (triple){{matched + missed ? m / (double)(matched + missed) : (double)NAN, matched + false_ones ? m / (double)(matched + false_ones) : (double)NAN,
                   gn_score_f1(matched, missed, false_ones)}};
}

// The difference over the couples that `pick` names; NULL: over all, once each.
static triple difference(const couple *c, size_t n, const size_t *pick) {
  size_t sum[2][3] = {{0}};
  for (size_t i = 0; i < n; i++)
    for (int run = 0; run < 2; run++) {
      const couple *at = &c[pick ? pick[i] : i];
      const gn_score_tally *t = run ? at->second : at->first;
      sum[run][0] += t->n_matched;
      sum[run][1] += t->n_missed;
      sum[run][2] += t->n_false;
    }
  triple a = measures(sum[0][0], sum[0][1], sum[0][2]);
  const triple b = measures(sum[1][0], sum[1][1], sum[1][2]);
  for (int k = 0; k < N_DRAWN; k++) a.x[k] -= b.x[k];
  return a;
}

// Twice the smaller tail of a fair coin; ln of each term from the one before, so that no power runs out of range.
static double sign_test(size_t better, size_t worse) {
  const size_t n = better + worse, least = better < worse ? better : worse;
  if (!n) return 1;
  double term_ln = -(double)n * gn_log(2), p = 0;
  for (size_t i = 0; i <= least; i++) {
    p += gn_exp(term_ln);
    term_ln += gn_log((double)(n - i)) - gn_log((double)(i + 1));
  }
  return 2 * p < 1 ? 2 * p : 1;
}

static int by_file(const void *a, const void *b) {
  return strcmp((*(const gn_score_recording *const *)a)->report->file, (*(const gn_score_recording *const *)b)->report->file);
}

// The couples in the first run's order.
static girthline_status couple_up(const gn_score_set *first, const gn_score_set *second, couple *c, size_t *n, girthline_error *error) {
  const gn_score_recording **order = gn_new(second->n, sizeof *order);
  if (!order) return gn_error_memory(error, STAGE);
  for (size_t i = 0; i < second->n; i++) order[i] = &second->items[i];
  if (second->n) qsort(order, second->n, sizeof *order, by_file);
  for (size_t i = 0; i < first->n; i++) {
    const gn_score_recording *key = &first->items[i];
    const gn_score_recording *const *found = bsearch(&key, order, second->n, sizeof *order, by_file);
    if (found && !key->reason && !(*found)->reason) c[(*n)++] = (couple){&key->tally[GN_SCORE_ALL], &(*found)->tally[GN_SCORE_ALL]};
  }
  gn_free(order);
  return GIRTHLINE_OK;
}

static girthline_status draw(const couple *c, size_t n, const gn_score_request *q, gn_score_estimate *const out[N_DRAWN], girthline_error *error) {
  gn_random random = gn_random_of(q->seed);
  double *x = gn_new(q->n_resamples * N_DRAWN, sizeof *x);
  size_t *pick = gn_new(n, sizeof *pick), got[N_DRAWN] = {0};
  const girthline_status status = x && pick ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
  for (size_t i = 0; i < q->n_resamples && !status; i++) {
    for (size_t k = 0; k < n; k++) pick[k] = (size_t)gn_random_below(&random, n);
    const triple d = difference(c, n, pick);
    for (size_t k = 0; k < N_DRAWN; k++)
      if (isfinite(d.x[k])) x[k * q->n_resamples + got[k]++] = d.x[k];
  }
  for (size_t k = 0; k < N_DRAWN && !status; k++) {
    if (2 * got[k] < q->n_resamples) continue;
    out[k]->interval[0] = gn_quantile(x + k * q->n_resamples, got[k], 0.025);
    out[k]->interval[1] = gn_quantile(x + k * q->n_resamples, got[k], 0.975);
  }
  gn_free(x);
  gn_free(pick);
  return status;
}

girthline_status gn_score_compare(const gn_score_set *first, const gn_score_set *second, const gn_score_request *q, gn_score_comparison *out,
                                  girthline_error *error) {
  couple *c = gn_new(first->n, sizeof *c);
  *out = (gn_score_comparison){0};
  girthline_status status = c ? couple_up(first, second, c, &out->n_recordings, error) : gn_error_memory(error, STAGE);
  if (!status && !out->n_recordings)
    status = gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, STAGE, "the two runs share no recording that is scored: --against takes a run over the same files");
  if (status) {
    gn_free(c);
    return status;
  }
  gn_score_estimate *const estimates[N_DRAWN] = {&out->sensitivity, &out->ppv, &out->f1};
  const triple whole = difference(c, out->n_recordings, NULL);
  for (int k = 0; k < N_DRAWN; k++) *estimates[k] = (gn_score_estimate){whole.x[k], {(double)NAN, (double)NAN}};
  for (size_t i = 0; i < out->n_recordings; i++) {
    const double by = difference(&c[i], 1, NULL).x[F1];
    out->n_better += by > 0;
    out->n_worse += by < 0;
    out->n_equal += !(by > 0) && !(by < 0);
  }
  out->sign_test_p = sign_test(out->n_better, out->n_worse);
  if (out->n_recordings >= 2) status = draw(c, out->n_recordings, q, estimates, error);
  gn_free(c);
  return status;
}
