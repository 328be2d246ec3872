// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/decode.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"

#define LONGEST_PERIODS 4.0    // an interval past this many local periods is a gap
#define SHORTEST_PERIODS 0.35
#define GAP_COST 14.0          // log probability of such a gap
#define UNSEEN_GAIN (BEAT_COST / 2) // a beat whose S2 lies behind the end has one sound to earn its place with
#define SYSTOLE_TAIL 0.03      // share of systoles far from the expectation
#define BEAT_COST 3.0          // log probability a beat has to earn: without it noise between beats is read as more beats. A
                               // choice: 2 to 5 differ little on simulated hearts
#define GENERIC_BEAT_GAIN 1.0  // while nothing is learnt a beat is given that much instead
#define NEVER (-1e30f)

double gn_systole_expected_s(const girthline_profile *p, double interval_s) {
  return fmin(p->systole_at_1s_s * gn_pow(interval_s, p->systole_exponent), p->systole_share_most * interval_s);
}

int gn_durations_init(gn_durations *d, const gn_lags *lags, double rate_hz, const girthline_profile *profile) {
  const double longest_s = gn_lags_s(lags, (double)(lags->n - 1));
  *d = (gn_durations){.lags = *lags, .rate_hz = rate_hz};
  d->most_interval_n = (size_t)(LONGEST_PERIODS * longest_s * rate_hz) + 2;
  d->most_systole_n = (size_t)(1.8 * gn_systole_expected_s(profile, longest_s) * rate_hz) + 2;
  d->interval = gn_new(lags->n * d->most_interval_n, sizeof(float));
  d->survival = gn_new(lags->n * d->most_interval_n, sizeof(float));
  d->systole = gn_new(lags->n * d->most_systole_n, sizeof(float));
  return d->interval && d->survival && d->systole ? 0 : -1;
}

void gn_durations_clear(gn_durations *d) {
  gn_free(d->interval);
  gn_free(d->survival);
  gn_free(d->systole);
  *d = (gn_durations){0};
}

static double lognormal(double x, double mean, double sd) {
  const double z = (gn_log(x / mean)) / sd;
  return gn_exp(-0.5 * z * z) / (sd * 2.5066282746310002 * x);
}

// While nothing is learnt a beat at the expected time costs nothing, so that a candidate is heard out at its own rate and
// soft sounds can be learnt by averaging; which candidate is right is decided afterwards, with every cost counted.
static void lift(float *row, size_t n) {
  float top = NEVER;
  for (size_t i = 0; i < n; i++) top = fmaxf(top, row[i]);
  for (size_t i = 0; i < n; i++)
    if (row[i] > NEVER) row[i] -= top;
}

// The interval around the period, with a flat tail in the logarithm on either side.
static void fill_interval(gn_durations *d, const gn_model *m, size_t j) {
  const double period_n = gn_lags_s(&d->lags, (double)j) * d->rate_hz;
  float *row = d->interval + j * d->most_interval_n, *rest = d->survival + j * d->most_interval_n;
  const double usual = 1 - m->long_share - m->short_share;
  const double long_width = gn_log(LONGEST_PERIODS / 1.2), short_width = gn_log(1 / SHORTEST_PERIODS);
  for (size_t r = 0; r < d->most_interval_n; r++) {
    const double x = (double)r / period_n;
    double p = 0;
    if (x >= SHORTEST_PERIODS && x <= LONGEST_PERIODS) {
      p = usual * lognormal(x, 1, m->interval_sd) / period_n;
      if (x > 1.2) p += m->long_share / (long_width * (double)r);
      if (x < 1) p += m->short_share / (short_width * (double)r);
    }
    row[r] = p > 1e-12 ? (float)gn_log(p) : NEVER;
  }
  if (m->generic) lift(row, d->most_interval_n);
  double sum = 0;
  for (size_t r = d->most_interval_n; r-- > 0;) {
    rest[r] = (float)gn_log(fmax(sum, 1e-6));
    if (row[r] > NEVER) sum += gn_exp((double)row[r]);
  }
}

static void fill_systole(gn_durations *d, const gn_model *m, const girthline_profile *profile, size_t j) {
  const double interval_s = gn_lags_s(&d->lags, (double)j);
  const double mean_n = fmin(gn_systole_expected_s(profile, interval_s) * gn_exp(m->systole_log_offset), 0.72 * interval_s) * d->rate_hz;
  float *row = d->systole + j * d->most_systole_n;
  for (size_t k = 0; k < d->most_systole_n; k++) {
    const double x = (double)k / mean_n;
    double p = 0;
    if (x > 0.55 && x < 1.7)
      p = (1 - SYSTOLE_TAIL) * lognormal(x, 1, m->systole_sd) / mean_n + SYSTOLE_TAIL * lognormal(x, 1, 0.3) / mean_n;
    row[k] = p > 1e-12 ? (float)gn_log(p) : NEVER;
  }
  if (m->generic) lift(row, d->most_systole_n);
}

void gn_durations_fill(gn_durations *d, const gn_model *m, const girthline_profile *profile, double least_place, double most_place) {
  for (size_t j = 0; j < d->lags.n; j++) {
    if ((double)j < least_place - 1 || (double)j > most_place + 1) continue;
    fill_interval(d, m, j);
    fill_systole(d, m, profile, j);
  }
}

struct gn_decoder {
  size_t n, pad;          // frames, padding as in the scores
  float *reach;           // best score of a sequence whose last S1 is here
  float *go;              // the same with the S2 that suits it best
  int *from, *second;     // where the S1 before lies (-1: none); frames from S1 to S2
  gn_beat_frames *beats;
  size_t n_beats;
  double *ahead, *behind, *systole; // logarithms of forward, backward and systole sums
};

gn_decoder *gn_decoder_new(size_t n_frames, size_t pad) {
  gn_decoder *d = gn_new(1, sizeof *d);
  if (!d) return NULL;
  const size_t n = n_frames + 2 * pad;
  d->n = n_frames;
  d->pad = pad;
  d->reach = gn_new(n, sizeof(float));
  d->go = gn_new(n, sizeof(float));
  d->from = gn_new(n, sizeof(int));
  d->second = gn_new(n, sizeof(int));
  d->beats = gn_new(n, sizeof *d->beats);
  d->ahead = gn_new(n, sizeof(double));
  d->behind = gn_new(n, sizeof(double));
  d->systole = gn_new(n, sizeof(double));
  if (d->reach && d->go && d->from && d->second && d->beats && d->ahead && d->behind && d->systole) return d;
  gn_decoder_free(d);
  return NULL;
}

void gn_decoder_free(gn_decoder *d) {
  if (!d) return;
  gn_free(d->reach);
  gn_free(d->go);
  gn_free(d->from);
  gn_free(d->second);
  gn_free(d->beats);
  gn_free(d->ahead);
  gn_free(d->behind);
  gn_free(d->systole);
  gn_free(d);
}

static size_t place_at(const gn_decoder *d, const gn_durations *dur, const float *place, size_t n_place, size_t i) {
  const long k = (long)i - (long)d->pad;
  const double second = k <= 0 ? 0 : (double)k / dur->rate_hz;
  const size_t w = second >= (double)(n_place - 1) ? n_place - 1 : (size_t)(second + 0.5);
  const double j = (double)place[w] + 0.5;
  return j <= 0 ? 0 : j >= (double)dur->lags.n ? dur->lags.n - 1 : (size_t)j;
}

static double beat_cost(const gn_scores *s) { return s->generic ? -GENERIC_BEAT_GAIN : BEAT_COST; }

// Evidence and probability of a systole of k frames from the S1 at i.
static double systole_score(const gn_scores *s, const float *row, size_t i, size_t k) {
  const size_t n = s->n + 2 * s->pad;
  const size_t a = i + s->after_s1_n < n ? i + s->after_s1_n : n, b = i + k - GN_TEMPLATE_LEAD < n ? i + k - GN_TEMPLATE_LEAD : n;
  const double between = b > a ? s->systole[b] - s->systole[a] : 0;
  return (double)row[k] + between + (i + k < n ? (double)s->s2[i + k] : 0);
}

// The S2 that suits the S1 at i best; one that would lie behind the window's end counts by its whole probability, for
// nothing there says where.
static void choose_systole(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t j, size_t i) {
  const float *row = dur->systole + j * dur->most_systole_n;
  const size_t end = d->n + d->pad;
  double best = (double)NEVER, behind = 0;
  size_t first_behind = 0;
  d->second[i] = 0;
  for (size_t k = GN_TEMPLATE_LEAD; k < dur->most_systole_n; k++) {
    if (row[k] <= NEVER) continue;
    if (i + k >= end) {
      behind += gn_exp((double)row[k]);
      if (!first_behind || row[k] > row[first_behind]) first_behind = k;
      continue;
    }
    const double v = systole_score(s, row, i, k);
    if (v > best) best = v, d->second[i] = (int)k;
  }
  if (behind > 0 && gn_log(behind) + UNSEEN_GAIN > best) best = gn_log(behind) + UNSEEN_GAIN, d->second[i] = (int)first_behind;
  d->go[i] = d->reach[i] + (float)(best - beat_cost(s));
}

// The next S1 comes after this beat's S2 has had time to sound.
static size_t shortest(const gn_decoder *d, double period_n, size_t i) {
  const size_t a = (size_t)(SHORTEST_PERIODS * period_n), b = (size_t)(1.35 * d->second[i]);
  return a > b ? a : b;
}

static void trace_back(gn_decoder *d, int last) {
  size_t n = 0;
  for (int i = last; i >= 0; i = d->from[i]) n++;
  d->n_beats = n;
  for (int i = last; i >= 0; i = d->from[i]) d->beats[--n] = (gn_beat_frames){i - (long)d->pad, i - (long)d->pad + d->second[i]};
}

double gn_decode_best(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place,
                      const gn_beat_frames **beats, size_t *n_beats) {
  const size_t n = d->n + d->pad; // no S1 in the padding behind
  for (size_t i = 0; i < n; i++) d->reach[i] = NEVER, d->from[i] = -1;
  float far = NEVER; // the best start of a gap so far
  int far_from = -1;
  double best = (double)NEVER;
  int last = -1;
  for (size_t i = 0; i < n; i++) {
    const size_t j = place_at(d, dur, place, n_place, i);
    const double period_n = gn_lags_s(&dur->lags, (double)j) * dur->rate_hz;
    const size_t most = (size_t)(LONGEST_PERIODS * period_n);
    if (i >= most && d->go[i - most] > far) far = d->go[i - most], far_from = (int)(i - most);
    // Begin here, after nothing, or after a gap.
    const float begin = (float)-(gn_log(period_n) + ((double)i > (double)d->pad + 1.3 * period_n ? GAP_COST : 0));
    if (begin > d->reach[i]) d->reach[i] = begin, d->from[i] = -1;
    if (far - (float)GAP_COST > d->reach[i]) d->reach[i] = far - (float)GAP_COST, d->from[i] = far_from;
    d->reach[i] += s->s1[i];
    choose_systole(d, s, dur, j, i);
    const float *row = dur->interval + j * dur->most_interval_n;
    const size_t least = shortest(d, period_n, i), reach_n = most < n - i ? most : n - i;
    for (size_t r = least; r < reach_n; r++) {
      const float v = d->go[i] + row[r];
      if (v > d->reach[i + r]) d->reach[i + r] = v, d->from[i + r] = (int)i;
    }
    const size_t left = n - i;
    const double end = (double)d->go[i] + (left < most ? (double)dur->survival[j * dur->most_interval_n + left] : -GAP_COST);
    if (end > best) best = end, last = (int)i;
  }
  trace_back(d, last);
  *beats = d->beats;
  *n_beats = d->n_beats;
  return best;
}

static double log_add(double a, double b) {
  if (a < b) {
    const double t = a;
    a = b;
    b = t;
  }
  return b < a - 30 ? a : a + gn_log(1 + gn_exp(b - a));
}

#define PRUNE 12.0 // nats under the best that are left out of a sum

static void systole_sums(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place, size_t n) {
  for (size_t i = 0; i < n; i++) {
    const float *row = dur->systole + place_at(d, dur, place, n_place, i) * dur->most_systole_n;
    double sum = (double)NEVER;
    const double top = (double)(d->go[i] - d->reach[i]) + beat_cost(s);
    for (size_t k = GN_TEMPLATE_LEAD; k < dur->most_systole_n; k++) {
      if (row[k] <= NEVER) continue;
      const double v = systole_score(s, row, i, k);
      if (v > top - PRUNE) sum = log_add(sum, v);
    }
    d->systole[i] = sum - beat_cost(s);
  }
}

static void sums_ahead(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place, size_t n) {
  for (size_t i = 0; i < n; i++) d->ahead[i] = (double)NEVER;
  for (size_t i = 0; i < n; i++) {
    const size_t j = place_at(d, dur, place, n_place, i);
    const double period_n = gn_lags_s(&dur->lags, (double)j) * dur->rate_hz;
    d->ahead[i] = log_add(d->ahead[i], -(gn_log(period_n) + ((double)i > (double)d->pad + 1.3 * period_n ? GAP_COST : 0)));
    d->ahead[i] += (double)s->s1[i];
    const float *row = dur->interval + j * dur->most_interval_n;
    const size_t least = shortest(d, period_n, i), most = (size_t)(LONGEST_PERIODS * period_n);
    const double go = d->ahead[i] + d->systole[i];
    for (size_t r = least; r < most && i + r < n; r++) {
      const double v = go + (double)row[r];
      // The best sequence through i + r bounds what matters there.
      if (v > (double)(d->reach[i + r] - s->s1[i + r]) - PRUNE) d->ahead[i + r] = log_add(d->ahead[i + r], v);
    }
  }
}

static void sums_behind(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place, size_t n) {
  for (size_t i = n; i-- > 0;) {
    const size_t j = place_at(d, dur, place, n_place, i);
    const double period_n = gn_lags_s(&dur->lags, (double)j) * dur->rate_hz;
    const float *row = dur->interval + j * dur->most_interval_n;
    const size_t least = shortest(d, period_n, i), most = (size_t)(LONGEST_PERIODS * period_n), left = n - i;
    double top = left < most ? (double)dur->survival[j * dur->most_interval_n + left] : -GAP_COST;
    for (size_t r = least; r < most && r < left; r++)
      top = fmax(top, (double)row[r] + (double)s->s1[i + r] + d->systole[i + r] + d->behind[i + r]);
    double sum = left < most ? (double)dur->survival[j * dur->most_interval_n + left] : -GAP_COST;
    for (size_t r = least; r < most && r < left; r++) {
      const double v = (double)row[r] + (double)s->s1[i + r] + d->systole[i + r] + d->behind[i + r];
      if (v > top - PRUNE) sum = log_add(sum, v);
    }
    d->behind[i] = sum; // after the S2 that follows the S1 at i
  }
}

void gn_decode_posterior(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place,
                         size_t near_n, float *s1, float *s2) {
  const size_t n = d->n + d->pad;
  systole_sums(d, s, dur, place, n_place, n);
  sums_ahead(d, s, dur, place, n_place, n);
  sums_behind(d, s, dur, place, n_place, n);
  double all = (double)NEVER;
  for (size_t i = 0; i < n; i++) {
    const size_t j = place_at(d, dur, place, n_place, i), left = n - i;
    const double period_n = gn_lags_s(&dur->lags, (double)j) * dur->rate_hz;
    const double end = left < (size_t)(LONGEST_PERIODS * period_n) ? (double)dur->survival[j * dur->most_interval_n + left] : -GAP_COST;
    all = log_add(all, d->ahead[i] + d->systole[i] + end);
  }
  for (size_t b = 0; b < d->n_beats; b++) {
    const long at1 = d->beats[b].s1 + (long)d->pad, at2 = d->beats[b].s2 + (long)d->pad;
    double p1 = 0, p2 = 0;
    for (long i = at1 - (long)near_n; i <= at1 + (long)near_n; i++)
      if (i >= 0 && i < (long)n) p1 += gn_exp(fmin(0, d->ahead[i] + d->systole[i] + d->behind[i] - all));
    for (long i = at1 - 40; i <= at1 + 40; i++) {
      if (i < 0 || i >= (long)n) continue;
      const float *row = dur->systole + place_at(d, dur, place, n_place, (size_t)i) * dur->most_systole_n;
      const double rest = d->ahead[i] + d->behind[i] - all;
      if (rest + d->systole[i] < -PRUNE) continue;
      for (long k = at2 - (long)near_n - i; k <= at2 + (long)near_n - i; k++)
        if (k >= GN_TEMPLATE_LEAD && k < (long)dur->most_systole_n && row[k] > NEVER)
          p2 += gn_exp(fmin(0, rest + systole_score(s, row, (size_t)i, (size_t)k) - beat_cost(s)));
    }
    s1[b] = (float)fmin(1, p1);
    s2[b] = (float)fmin(1, p2);
  }
}
