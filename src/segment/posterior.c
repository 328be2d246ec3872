// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/maths.h"
#include "segment/decode_parts.h"

#define PRUNE 12.0 // nats under the best that are left out of a sum

// Everything the sums hang on.
typedef struct sums {
  gn_decoder *d;
  const gn_scores *s;
  const gn_durations *dur;
} sums;

static double log_add(double a, double b) {
  if (a < b) {
    const double t = a;
    a = b;
    b = t;
  }
  return b < a - 30 ? a : a + gn_log(1 + gn_exp(b - a));
}

static size_t place_of(const sums *x, size_t i) { return x->d->row[i]; }

static double end_score(const sums *x, size_t i) {
  const size_t j = place_of(x, i);
  return gn_decode_end_score(x->dur, j, x->d->n + x->d->pad - i, (size_t)(GN_LONGEST_PERIODS * x->dur->period_n[j]));
}

static void sum_systoles(const sums *x) {
  gn_decoder *d = x->d;
  for (size_t a = 0; a < d->n_alive; a++) {
    const size_t i = d->alive[a];
    const size_t j = place_of(x, i);
    const float *row = x->dur->systole + j * x->dur->most_systole_n;
    const double top = (double)(d->go[i] - d->reach[i]) - gn_decode_beat_gain(x->s);
    double sum = 0;
    for (size_t k = x->dur->systole_from_n[j]; k <= x->dur->systole_to_n[j]; k++) {
      const double v = gn_decode_systole_score(x->s, row, i, k) - top;
      if (v > -PRUNE) sum += gn_exp(v);
    }
    d->systole[a] = (sum > 0 ? top + gn_log(sum) : (double)GN_NEVER) + gn_decode_beat_gain(x->s);
  }
}

static void find_steps(const sums *x) {
  gn_decoder *d = x->d;
  for (size_t a = 0; a < d->n_alive; a++) {
    const size_t j = place_of(x, d->alive[a]);
    d->chance[a] = x->dur->chance + j * x->dur->most_interval_n;
    d->least[a] = gn_decode_shortest(d, x->dur->period_n[j], d->alive[a]);
  }
}

// Probability of the interval from one followed S1 to another, by their places in alive; less than most_interval_n apart.
static double step_chance(const gn_decoder *d, size_t a, size_t b) {
  const size_t r = d->alive[b] - d->alive[a];
  return r >= d->least[a] ? (double)d->chance[a][r] : 0;
}

// The sums grow by some ten nats a beat: they are kept as factors over exp(base), and base follows.
#define REBASE 200.0 // nats: four periods of the clearest heart stay far within a double's reach

static void rebase(double *weight, size_t n, double *base, double to) {
  const double factor = gn_exp(*base - to);
  for (size_t i = 0; i < n; i++) weight[i] *= factor;
  *base = to;
}

static void sum_ahead(const sums *x) {
  gn_decoder *d = x->d;
  double base = 0;
  size_t first = 0;
  for (size_t b = 0; b < d->n_alive; b++) {
    const size_t to = d->alive[b];
    while (d->alive[first] + x->dur->most_interval_n <= to) first++;
    double sum = 0;
    for (size_t a = first; a < b; a++) sum += d->weight[a] * step_chance(d, a, b);
    const double begin = gn_decode_begin_score(d, x->dur, place_of(x, to), to);
    d->ahead[b] = (sum > 0 ? log_add(begin, base + gn_log(sum)) : begin) + (double)x->s->s1[to];
    const double through = d->ahead[b] + d->systole[b];
    if (b == 0) base = through;
    if (through > base + REBASE) rebase(d->weight + first, b - first, &base, through);
    d->weight[b] = gn_exp(through - base);
  }
}

// After the S2 that follows an S1.
static void sum_behind(const sums *x) {
  gn_decoder *d = x->d;
  double base = 0;
  size_t end = d->n_alive;
  for (size_t a = d->n_alive; a-- > 0;) {
    const size_t from = d->alive[a];
    while (end > a + 1 && d->alive[end - 1] >= from + x->dur->most_interval_n) end--;
    double sum = 0;
    for (size_t b = a + 1; b < end; b++) sum += d->weight[b] * step_chance(d, a, b);
    const double last = end_score(x, from);
    d->behind[a] = sum > 0 ? log_add(last, base + gn_log(sum)) : last;
    const double through = (double)x->s->s1[from] + d->systole[a] + d->behind[a];
    if (a + 1 == d->n_alive) base = through;
    if (through > base + REBASE) rebase(d->weight + a + 1, end - a - 1, &base, through);
    d->weight[a] = gn_exp(through - base);
  }
}

// Place in alive of the first frame that does not lie ahead of this one.
static size_t first_from(const gn_decoder *d, long from) {
  size_t low = 0, high = d->n_alive;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if ((long)d->alive[middle] < from) low = middle + 1;
    else high = middle;
  }
  return low;
}

// Expected number of first sounds from one frame to before another.
static double firsts_between(const gn_decoder *d, double all, long from, long to) {
  double p = 0;
  for (size_t a = first_from(d, from); a < d->n_alive && (long)d->alive[a] < to; a++)
    p += gn_exp(gn_min(0, d->ahead[a] + d->systole[a] + d->behind[a] - all));
  return gn_min(1, p);
}

#define REACH_N 40 // frames to either side within which an S1 may lie to which the S2 belongs

static double second_posterior(const sums *x, double all, const gn_beat_frames *beat, long near_n) {
  const gn_decoder *d = x->d;
  const long at1 = beat->s1 + (long)d->pad, at2 = beat->s2 + (long)d->pad;
  double p = 0;
  for (size_t a = first_from(d, at1 - REACH_N); a < d->n_alive && (long)d->alive[a] <= at1 + REACH_N; a++) {
    const long i = (long)d->alive[a];
    const float *row = x->dur->systole + place_of(x, (size_t)i) * x->dur->most_systole_n;
    const double rest = d->ahead[a] + d->behind[a] - all;
    if (rest + d->systole[a] < -PRUNE) continue;
    for (long k = at2 - near_n - i; k <= at2 + near_n - i; k++)
      if (k >= GN_TEMPLATE_LEAD && k < (long)x->dur->most_systole_n && row[k] > GN_NEVER)
        p += gn_exp(gn_min(0, rest + gn_decode_systole_score(x->s, row, (size_t)i, (size_t)k) + gn_decode_beat_gain(x->s)));
  }
  return gn_min(1, p);
}

void gn_decode_posterior(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t near_n, gn_posterior *out) {
  const sums x = {d, s, dur};
  const long near = (long)near_n;
  sum_systoles(&x);
  find_steps(&x);
  sum_ahead(&x);
  sum_behind(&x);
  double all = (double)GN_NEVER;
  for (size_t a = 0; a < d->n_alive; a++) all = log_add(all, d->ahead[a] + d->systole[a] + end_score(&x, d->alive[a]));
  for (size_t b = 0; b < d->n_beats; b++) {
    const long at = d->beats[b].s1 + (long)d->pad, next = b + 1 < d->n_beats ? d->beats[b + 1].s1 + (long)d->pad : at;
    out[b].s1 = (float)firsts_between(d, all, at - near, at + near + 1);
    out[b].s2 = (float)second_posterior(&x, all, &d->beats[b], near);
    out[b].unbroken = (float)(1 - firsts_between(d, all, at + near + 1, next - near));
  }
}
