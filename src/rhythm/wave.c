// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "rhythm/line.h"

static const double TURN_STEP = 0.2; // of a turn over the stretch: a fifth loses under 2 % of the wave's power
#define FEWEST_N 6                   // intervals: a line and a wave have five parameters
// A wave this likely, in nats, tells of single intervals as well. Through fewer than ten intervals of a fibrillating heart one passes by chance (a
// choice: simulated dogs that swing by 25 to 40 % give 15 and more in 15 s).
static const double SURE_NATS = 15;

// hz == 0: mean and slope only.
static bool solve(const gn_stretch *w, double hz, gn_line *out) {
  gn_line_sums sums;
  gn_line_sum(w, hz, &sums);
  return gn_line_solve(&sums, hz > 0 ? GN_LINE_TERMS : 2, NULL, out);
}

static bool best_line(const girthline_rhythm_limits *m, const gn_stretch *w, double interval_s, gn_line *best) {
  const double span_s = w->t[w->n - 1] - w->t[0] + interval_s;
  const double most = span_s / (m->wave_intervals_a_turn * interval_s);
  bool found = false;
  for (double turns = m->wave_turns; turns <= most; turns += TURN_STEP) {
    gn_line l = {{0}, 0, 0, 0};
    if (!solve(w, turns / span_s, &l) || (found && l.sse >= best->sse)) continue;
    *best = l;
    found = true;
  }
  return found;
}

// (Here and below: the least spread a heart has about its wave keeps a perfect fit from counting for everything.)
// One wrong beat spoils the two intervals beside it and bends the wave: leave out those that fit worst, one after the
// other, and keep the number of them that pays best.
static void drop_misfits(const girthline_rhythm_limits *m, gn_stretch *w, double interval_s, gn_line *best) {
  const gn_stretch whole = *w;
  const double n = (double)whole.n, floor = m->least_spread * m->least_spread, before = best->sse / n + floor;
  gn_stretch less = whole;
  gn_line l = *best;
  double most_score = 0;
  for (size_t k = 1; k <= whole.n / (size_t)m->misfit_one_in_n; k++) {
    gn_line_drop_worst(&less, &l);
    if (!best_line(m, &less, interval_s, &l)) return;
    const double now = l.sse / (double)less.n + floor;
    const double score = 0.5 * (double)less.n * gn_log(before / now) - m->misfit_price * (double)k * gn_log(n);
    if (score <= most_score) continue;
    most_score = score;
    *w = less;
    *best = l;
  }
}

typedef struct sums { double n, sst, sse, power, gain, price, *periods; size_t n_periods; } sums; // periods: room for one a window

// *wave keeps a frequency of 0 where there is none.
static void add_stretch(const girthline_rhythm_limits *m, gn_stretch *w, double interval_s, sums *u, gn_line *wave) {
  gn_line flat = {{0}, 0, 0, 0};
  if (w->n < FEWEST_N || !solve(w, 0, &flat)) return;
  if (flat.sse < (double)w->n * m->even_spread * m->even_spread) { // a wave's amplitude is at most sqrt 2 of the intervals' SD
    u->n += (double)w->n;
    u->sst += flat.sse;
    u->sse += flat.sse;
    return;
  }
  const size_t whole_n = w->n;
  if (!best_line(m, w, interval_s, wave)) return;
  drop_misfits(m, w, interval_s, wave);
  if (!solve(w, 0, &flat)) return;
  const double n = (double)w->n, floor = n * m->least_spread * m->least_spread;
  u->n += n;
  u->sst += flat.sse;
  u->sse += wave->sse;
  u->power += n * (wave->c[2] * wave->c[2] + wave->c[3] * wave->c[3]);
  u->gain += 0.5 * n * gn_log((flat.sse + floor) / (wave->sse + floor));
  u->price += (m->wave_price + m->misfit_price * (double)(whole_n - w->n)) * gn_log(n); // leaving out is choosing, too
  u->periods[u->n_periods++] = 1 / wave->hz;
}

static void read_out(gn_series *s, const sums *u, gn_wave *out) {
  out->kept = u->n / (double)s->n;
  out->amplitude = sqrt(u->power / u->n);
  out->explained = u->sst > 0 ? 1 - u->sse / u->sst : 0;
  out->residual = sqrt(u->sse / u->n);
  out->evidence = u->gain - u->price;
  for (size_t i = 0; i < s->n && out->evidence < SURE_NATS; i++) s->swing[i] = 1;
  out->period_s = gn_median(u->periods, u->n_periods);
}

int gn_rhythm_wave(gn_series *s, gn_wave *out) {
  memset(out, 0, sizeof *out);
  out->evidence = -INFINITY;
  out->residual = out->period_s = NAN;
  if (s->n < FEWEST_N) return 0;
  const size_t n_windows = (s->n + GN_STRETCH_N - 1) / GN_STRETCH_N;
  sums u = {.periods = gn_new(n_windows, sizeof *u.periods)};
  if (!u.periods) return -1;
  for (size_t k = 0; k < n_windows; k++) {
    const size_t from = s->n * k / n_windows, to = s->n * (k + 1) / n_windows;
    double len_s[GN_STRETCH_N];
    for (size_t i = from; i < to; i++) len_s[i - from] = s->len_s[i] / s->trend[i];
    const double middle_s = gn_median(len_s, to - from);
    gn_stretch w = {.n = 0};
    for (size_t i = from; i < to; i++) {
      const double y = s->len_s[i] / s->trend[i] / middle_s;
      if (y < s->limits->wave_keep_low || y > s->limits->wave_keep_high || s->kind[i] == GN_SPLIT) continue;
      w.t[w.n] = s->start_s[i] + 0.5 * s->len_s[i];
      w.y[w.n++] = y;
    }
    gn_line wave = {{0}, 0, 0, 0};
    add_stretch(s->limits, &w, middle_s, &u, &wave);
    for (size_t i = from; i < to && wave.hz > 0; i++)
      s->swing[i] = fmax(gn_line_at(&w, &wave, s->start_s[i] + 0.5 * s->len_s[i]) * middle_s * s->trend[i] / s->usual_s[i], s->limits->wave_keep_low);
  }
  if (u.n > 0) read_out(s, &u, out);
  gn_free(u.periods);
  return 0;
}
