// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Repeatability within a recording. The formulas and their sources stand in docs/repeatability.md.
#include <math.h>
#include <string.h>

#include "clinic/compare_inside.h"
#include "clinic/visits_json.h"

#define WINDOW_S 15.0       ///< the time a rate is counted over at the stall
#define LEAST_IN_WINDOW 3   ///< intervals; fewer give no rate of their own
#define LEAST_INTERVALS 8   ///< for a spread to be worth a name; a choice
#define MEDIAN_FACTOR 1.2533141373155001 ///< sqrt(pi / 2): spread of the median against that of the mean, normal distribution

// Sums that give a mean and a standard deviation.
typedef struct sums {
  double n, sum, squares;
} sums;

static void take(sums *s, double x) {
  s->n++;
  s->sum += x;
  s->squares += x * x;
}

static double mean_of(const sums *s) { return s->sum / s->n; }

static double sd_of(const sums *s) {
  if (s->n < 2) return NAN;
  const double v = (s->squares - s->sum * s->sum / s->n) / (s->n - 1);
  return v > 0 ? sqrt(v) : 0;
}

typedef struct windows {
  sums rate_bpm, interval_s, now; // over windows; of the window at hand
  double end_s;
} windows;

static void close_window(windows *w) {
  if (w->now.n >= LEAST_IN_WINDOW) {
    take(&w->interval_s, mean_of(&w->now));
    take(&w->rate_bpm, 60 / mean_of(&w->now));
  }
  w->now = (sums){0};
}

static double larger(double a, double b) { return isnan(a) ? b : isnan(b) ? a : a > b ? a : b; }

gn_wander gn_compare_wander(const json_t *report) {
  const json_t *list = json_object_get(json_object_get(report, "rhythm"), "intervals");
  const double from_s = gn_visits_number(json_object_get(report, "rate"), "settled_from_s");
  windows w = {.end_s = NAN};
  sums all = {0};
  for (size_t i = 0; i < json_array_size(list); i++) {
    const json_t *v = json_array_get(list, i);
    const double start_s = gn_visits_number(v, "start_s"), len_s = gn_visits_number(v, "end_s") - start_s;
    if (!json_is_true(json_object_get(v, "used")) || !(len_s > 0) || start_s < from_s) continue;
    if (!(start_s < w.end_s)) {
      close_window(&w);
      w.end_s = start_s + WINDOW_S;
    }
    take(&w.now, len_s);
    take(&all, len_s);
  }
  close_window(&w);
  gn_wander out = {NAN, NAN, (size_t)all.n};
  if (all.n < LEAST_INTERVALS) return out;
  const double mean_s = mean_of(&all), error_s = sd_of(&all) / sqrt(all.n);
  out.interval_s = larger(sd_of(&w.interval_s), error_s);
  out.rate_bpm = larger(sd_of(&w.rate_bpm), MEDIAN_FACTOR * error_s * 60 / (mean_s * mean_s));
  return out;
}

double gn_compare_both(double a, double b) { return GN_COMPARE_NORMAL_95 * sqrt(a * a + b * b); }

double gn_compare_spread_of_sd(double sd, double n) { return n >= LEAST_INTERVALS ? sd / sqrt(2 * (n - 1)) : (double)NAN; }

double gn_compare_spread_of_rmssd(double rmssd, double n) { return n >= LEAST_INTERVALS ? rmssd * sqrt(3 * n - 4) / (2 * (n - 1)) : (double)NAN; }

double gn_compare_level_half(const json_t *phase) {
  const json_t *interval = json_object_get(phase, "level_db_interval");
  if (json_array_size(interval) != 2 || !json_is_number(json_array_get(interval, 0)) || !json_is_number(json_array_get(interval, 1))) return NAN;
  return fabs(json_number_value(json_array_get(interval, 1)) - json_number_value(json_array_get(interval, 0))) / 2;
}
