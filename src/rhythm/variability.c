// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"
#include "base/wide.h"

#define M 2 // sample entropy's template length
static const double ENTROPY_R = 0.2;          // share of the SD (Richman and Moorman 2000)
static const size_t ENTROPY_FEWEST_N = 200;   // fewer intervals give too few matches to count
static const double NN50_MS = 50.0;           // Task Force 1996, Eur Heart J 17:354

typedef struct template { double x[M + 1]; } template;

static int by_value(const void *a, const void *b, int at) {
  const double p = ((const template *)a)->x[at], q = ((const template *)b)->x[at];
  return (p > q) - (p < q);
}

static int by_first(const void *a, const void *b) { return by_value(a, b, 0); }
static int by_second(const void *a, const void *b) { return by_value(a, b, 1); }

// The values of all templates in columns, which lets the compiler compare several at once; and the pairs that match over M and over M + 1 values.
typedef struct matching {
  double *x[M + 1];
  uint64_t pairs[2];
} matching;

// Template j with those of [from, to), whose second values match its own.
GN_WIDE static void match_run(matching *m, size_t j, size_t from, size_t to, double r) {
  const double *const first = m->x[0], *const third = m->x[2], u = first[j], v = third[j];
  uint64_t two = 0, three = 0;
  for (size_t k = from; k < to; k++) {
    const uint64_t near = fabs(first[k] - u) <= r;
    two += near;
    three += near & (uint64_t)(fabs(third[k] - v) <= r);
  }
  m->pairs[0] += two;
  m->pairs[1] += three;
}

// Each template of a strip [at, next) with those behind it and with those of the strip beside it, [next, end); both are sorted by their second values.
static void match_strip(matching *m, size_t at, size_t next, size_t end, double r) {
  const double *const second = m->x[1];
  size_t own = at, from = next, to = next;
  for (size_t j = at; j < next; j++) {
    while (own < next && second[own] - second[j] <= r) own++;
    while (from < end && second[j] - second[from] > r) from++;
    while (to < end && second[to] - second[j] <= r) to++;
    match_run(m, j, j + 1, own, r);
    match_run(m, j, from, to, r);
  }
}

// The next strip: templates from a place on, sorted by their first values, as far as these match the first one's. They are sorted by their second
// values and laid in columns. Returns its end.
static size_t cut_strip(template *p, size_t n, size_t at, double r, matching *m) {
  size_t end = at;
  while (end < n && p[end].x[0] - p[at].x[0] <= r) end++;
  qsort(p + at, end - at, sizeof *p, by_second);
  for (size_t i = at; i < end; i++)
    for (size_t k = 0; k <= M; k++) m->x[k][i] = p[i].x[k];
  return end;
}

// Cut into strips by their first values: what matches a template lies in its own strip or beside it. columns: room for 3 n.
static void count_matches(template *p, size_t n, double r, double *columns, uint64_t pairs[2]) {
  matching m = {.x = {columns, columns + n, columns + 2 * n}};
  qsort(p, n, sizeof *p, by_first);
  size_t next = cut_strip(p, n, 0, r, &m);
  for (size_t at = 0; at < next;) {
    const size_t end = cut_strip(p, n, next, r, &m);
    match_strip(&m, at, next, end, r);
    at = next;
    next = end;
  }
  memcpy(pairs, m.pairs, sizeof m.pairs);
}

double gn_rhythm_sample_entropy(const double *x, const bool *linked, size_t n, double r, bool *refused) {
  template *p = gn_new(n, sizeof *p);
  double *columns = gn_new(n, (M + 1) * sizeof *columns);
  uint64_t matches[2] = {0, 0};
  *refused = !p || !columns;
  if (!*refused) {
    size_t n_templates = 0;
    for (size_t i = 0; i + M < n; i++)
      if (!linked || (linked[i + 1] && linked[i + 2])) p[n_templates++] = (template){{x[i], x[i + 1], x[i + 2]}};
    count_matches(p, n_templates, r, columns, matches);
  }
  gn_free(columns);
  gn_free(p);
  return matches[0] && matches[1] ? -gn_log((double)matches[1] / (double)matches[0]) : (double)NAN;
}

// Share of a normal variable beyond +- z. Abramowitz and Stegun 1964, 7.1.26: error under 1.5e-7.
static double beyond(double z) {
  const double x = z / sqrt(2.0), t = 1 / (1 + 0.3275911 * x);
  return t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429)))) * gn_exp(-x * x);
}

typedef struct differences { size_t n, n_over_50; double rmssd_ms, sdsd_ms; } differences;

static differences differ(const gn_series *s) {
  differences d = {0, 0, NAN, NAN};
  double sum = 0, squares = 0;
  for (size_t i = 1; i < s->n; i++) {
    if (!s->linked[i]) continue;
    const double ms = 1000 * (s->len_s[i] - s->len_s[i - 1]);
    d.n++;
    // Times are sums of intervals, so a difference of exactly 50 ms comes back with a rounding of its last places.
    d.n_over_50 += fabs(ms) > NN50_MS + 1e-6;
    sum += ms;
    squares += ms * ms;
  }
  const double n = (double)d.n;
  if (d.n > 0) d.rmssd_ms = sqrt(squares / n);
  if (d.n > 1) d.sdsd_ms = sqrt(fmax(squares - sum * sum / n, 0) / (n - 1));
  return d;
}

static int null_below(girthline_result *r, double *value, const char *pointer, double alone) {
  if (!(*value < r->limits.rhythm.jitter_times * alone)) return 0;
  *value = NAN;
  const char *unit = strstr(pointer, "percent") ? "%" : "ms";
  if (alone < 1) return gn_result_undetermine(r, pointer, "It lies below twice what the uncertainty of the onsets alone would give (under 1 %s).", unit);
  return gn_result_undetermine(r, pointer, "It lies below twice what the uncertainty of the onsets alone would give (%.0f %s).", alone, unit);
}

// An onset's own SD is jitter / sqrt 2; a successive difference holds three onsets as 1, -2, 1: sqrt 6 of it, so sqrt 3
// times the interval's.
static int judge_by_jitter(girthline_result *r, double jitter_ms) {
  girthline_rhythm *y = &r->rhythm;
  if (!(jitter_ms > 0)) return 0;
  const double rmssd_ms = sqrt(3.0) * jitter_ms;
  if (null_below(r, &y->rmssd_ms, "/rhythm/rmssd_ms", rmssd_ms)) return -1;
  if (null_below(r, &y->sd1_ms, "/rhythm/sd1_ms", rmssd_ms / sqrt(2.0))) return -1;
  return null_below(r, &y->pnn50_percent, "/rhythm/pnn50_percent", 100 * beyond(NN50_MS / rmssd_ms));
}

static int fill_differences(girthline_result *r, const gn_series *s, double sdnn_ms) {
  girthline_rhythm *y = &r->rhythm;
  const differences d = differ(s);
  y->rmssd_ms = d.rmssd_ms;
  if (d.n) y->pnn50_percent = 100 * (double)d.n_over_50 / (double)d.n;
  y->sd1_ms = d.sdsd_ms / sqrt(2.0);
  // Brennan et al. 2001, IEEE Trans Biomed Eng 48:1342.
  const double square = 2 * sdnn_ms * sdnn_ms - 0.5 * d.sdsd_ms * d.sdsd_ms;
  y->sd2_ms = square >= 0 ? sqrt(square) : (double)NAN;
  const char *few = "It needs at least two intervals that follow each other.", *fewer = "It needs at least three intervals that follow each other.";
  if (d.n < 1 && (gn_result_undetermine(r, "/rhythm/rmssd_ms", "%s", few) || gn_result_undetermine(r, "/rhythm/pnn50_percent", "%s", few))) return -1;
  if (d.n < 2 && (gn_result_undetermine(r, "/rhythm/sd1_ms", "%s", fewer) || gn_result_undetermine(r, "/rhythm/sd2_ms", "%s", fewer))) return -1;
  if (d.n >= 2 && isnan(y->sd2_ms) && gn_result_undetermine(r, "/rhythm/sd2_ms", "Beats alternate so strongly that the formula has no root.")) return -1;
  return 0;
}

static int fill_entropy(girthline_result *r, const gn_series *s, double sd_s) {
  const char *pointer = "/rhythm/sample_entropy";
  if (s->n < ENTROPY_FEWEST_N)
    return gn_result_undetermine(r, pointer, "It needs at least %zu usable intervals; there are %zu.", ENTROPY_FEWEST_N, s->n);
  bool refused = false;
  r->rhythm.sample_entropy = gn_rhythm_sample_entropy(s->len_s, s->linked, s->n, ENTROPY_R * sd_s, &refused);
  if (refused) return -1;
  return isnan(r->rhythm.sample_entropy) ? gn_result_undetermine(r, pointer, "No run of three intervals came back within the tolerance.") : 0;
}

int gn_rhythm_variability(girthline_result *r, const gn_series *s, double onset_jitter_ms) {
  girthline_rhythm *y = &r->rhythm;
  static const char *const FROM_ONE[] = {"/rhythm/mean_interval_s", "/rhythm/longest_interval_s"};
  static const char *const FROM_TWO[] = {"/rhythm/sdnn_ms", "/rhythm/interval_cv_percent"};
  for (int i = 0; i < 2; i++) {
    if (s->n < 1 && gn_result_undetermine(r, FROM_ONE[i], "No interval between two beats was usable.")) return -1;
    if (s->n < 2 && gn_result_undetermine(r, FROM_TWO[i], "It needs at least two usable intervals.")) return -1;
  }
  y->onset_jitter_ms = onset_jitter_ms >= 0 && isfinite(onset_jitter_ms) ? onset_jitter_ms : (double)NAN;
  if (isnan(y->onset_jitter_ms) && gn_result_undetermine(r, "/rhythm/onset_jitter_ms", "%s",
                                                         r->beats_given ? "The sounds were given by hand: how exactly their onsets lie is not known."
                                                         : r->n_beats   ? "Too few beats were found to tell how exactly their onsets lie."
                                                                        : "No heart beats were found whose onsets could be compared."))
    return -1;
  const double sd_s = gn_sd(s->len_s, s->n);
  y->mean_interval_s = gn_mean(s->len_s, s->n);
  y->sdnn_ms = 1000 * sd_s;
  y->interval_cv_percent = 100 * sd_s / y->mean_interval_s;
  for (size_t i = 0; i < s->n; i++)
    if (!(s->len_s[i] <= y->longest_interval_s)) y->longest_interval_s = s->len_s[i];
  if (fill_differences(r, s, y->sdnn_ms) || judge_by_jitter(r, y->onset_jitter_ms)) return -1;
  return fill_entropy(r, s, sd_s);
}
