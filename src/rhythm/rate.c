// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"

static const double WINDOW_S = 15.0;       // a listener's count

// What an order statistic may reorder.
static void copy_lengths(const gn_series *s, size_t from, double *room) { memcpy(room, s->len_s + from, (s->n - from) * sizeof *room); }

static double median_bpm(const gn_series *s, size_t from, double *room) {
  copy_lengths(s, from, room);
  return 60 / gn_median(room, s->n - from);
}

static double mean_bpm(const gn_series *s) { return 60 / gn_mean(s->len_s, s->n); }

// Start of the steady last part into *from; false where there is none.
// Steady: the fitted rate is so near to where it ends; the first that holds long enough.
static bool steady_part(const gn_series *s, const gn_fall *fall, size_t *from) {
  const girthline_rhythm_limits *m = s->limits;
  const double steady[] = {m->steady_share_1, m->steady_share_2, m->steady_share_3, m->steady_share_4};
  const size_t last = s->n - 1;
  const double end_s = s->start_s[last] + s->len_s[last], final_s = gn_rhythm_fall_len_s(fall, s->start_s[last]);
  for (size_t k = 0; k < sizeof steady / sizeof *steady; k++) {
    size_t i = 0;
    while (i < s->n && final_s / gn_rhythm_fall_len_s(fall, s->start_s[i]) > 1 + steady[k]) i++;
    *from = i;
    if (i + (size_t)m->steady_intervals_n <= s->n && end_s - s->start_s[i] >= m->steady_s) return true;
  }
  return false;
}

static int settle(girthline_result *r, const gn_series *s, const gn_fall *fall, double *room) {
  const char *pointer = "/rate/settled_from_s";
  if (!fall->found) {
    r->rate.settled_bpm = r->rate.bpm;
    return gn_result_undetermine(r, pointer, "The rate did not fall after the start, so the settled rate is that of the whole.");
  }
  size_t from = 0;
  if (steady_part(s, fall, &from)) {
    r->rate.settled_from_s = s->start_s[from];
    r->rate.settled_bpm = median_bpm(s, from, room);
    return 0;
  }
  if (gn_result_undetermine(r, pointer, "The rate was still falling at the end.")) return -1;
  return gn_result_undetermine(r, "/rate/settled_bpm", "The rate was still falling at the end; record for longer.");
}

static bool overlaps_hidden(const girthline_result *r, double from_s, double to_s) {
  for (size_t i = 0; i < r->quality.n_problems && r->quality.problems[i].span.start_s < to_s; i++)
    if (gn_rhythm_hides(&r->limits.rhythm, &r->quality.problems[i]) && r->quality.problems[i].span.end_s > from_s) return true;
  return false;
}

// Every interval that touches [from, to) is used, or lies at an end of the list; and the beats reach over the window.
// *first moves on through the intervals. Returns the beats in the window, or -1 where it is not usable.
static int count_beats(const girthline_result *r, double from_s, double to_s, size_t *first) {
  const girthline_rhythm *y = &r->rhythm;
  while (*first < y->n_intervals && y->intervals[*first].span.end_s < from_s) ++*first;
  int beats = 0, used = 0;
  double longest_s = 0, last_s = from_s;
  for (size_t i = *first; i < y->n_intervals && y->intervals[i].span.start_s < to_s; i++) {
    const girthline_interval *v = &y->intervals[i];
    if (!v->used) return -1;
    used++;
    longest_s = fmax(longest_s, v->span.end_s - v->span.start_s);
    if (i == *first && v->span.start_s - from_s > r->limits.rhythm.reach_intervals * longest_s) return -1; // the beats begin too late
    if (v->span.start_s >= from_s) beats++;
    last_s = v->span.end_s;
    const bool closes = i + 1 == y->n_intervals || y->intervals[i + 1].span.start_s > v->span.end_s;
    if (closes && last_s >= from_s && last_s < to_s) beats++;
  }
  return used && to_s - last_s <= r->limits.rhythm.reach_intervals * longest_s ? beats : -1;
}

static int count_windows(girthline_result *r) {
  girthline_rate *rate = &r->rate;
  const double from_s = r->recording.from_s, to_s = r->recording.to_s;
  if (!(to_s - from_s >= WINDOW_S)) return 0;
  const size_t n = (size_t)((to_s - from_s + 1e-9) / WINDOW_S);
  rate->counted = gn_new(n, sizeof *rate->counted);
  if (!rate->counted) return -1;
  size_t first = 0;
  for (size_t k = 0; k < n; k++) {
    const girthline_span w = {from_s + WINDOW_S * (double)k, from_s + WINDOW_S * (double)(k + 1)};
    if (overlaps_hidden(r, w.start_s, w.end_s)) continue;
    const int beats = count_beats(r, w.start_s, w.end_s, &first);
    if (beats >= 0) rate->counted[rate->n_counted++] = (girthline_counted){w, beats, beats * 60 / WINDOW_S};
  }
  return 0;
}

// Windows that start at a beat: the mean rate over the whole intervals inside each.
static int extremes(girthline_result *r, const gn_series *s) {
  girthline_rate *rate = &r->rate;
  const double to_s = r->recording.to_s;
  size_t end = 0; // one past the last interval inside the window
  for (size_t i = 0; i < s->n; i++) {
    if (end < i + 1) end = i + 1;
    const double stop_s = s->start_s[i] + WINDOW_S;
    while (end < s->n && s->linked[end] && s->start_s[end] + s->len_s[end] <= stop_s) end++;
    const double reach_s = s->start_s[end - 1] + s->len_s[end - 1];
    const bool cut = end < s->n ? !s->linked[end] : stop_s > to_s || stop_s - reach_s > r->limits.rhythm.reach_intervals * s->usual_s[end - 1];
    if (cut || reach_s > stop_s) continue;
    const double bpm = 60 * (double)(end - i) / (reach_s - s->start_s[i]);
    if (!(bpm >= rate->min_bpm)) rate->min_bpm = bpm;
    if (!(bpm <= rate->max_bpm)) rate->max_bpm = bpm;
  }
  if (!isnan(rate->min_bpm)) return 0;
  const char *why = "No stretch of 15 s had beats without a gap.";
  return gn_result_undetermine(r, "/rate/min_bpm", "%s", why) || gn_result_undetermine(r, "/rate/max_bpm", "%s", why) ? -1 : 0;
}

static int stand(girthline_result *r) {
  const girthline_settings *set = &r->settings;
  girthline_rate *rate = &r->rate;
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(set->species, set->age_days, &store);
  const bool no_age = p && p->age_matters && set->age_days < 0;
  const char *young = gn_species_young(set->species, set->age_days, r->limits.findings.adult_days);
  if (!p || no_age || young) {
    char why[160];
    if (young) snprintf(why, sizeof why, "The usual rate of so young an animal is that of a %s: name the species %s.", young, young);
    else snprintf(why, sizeof why, "%s", no_age ? "The usual rate of a young animal depends on its age, which was not given." : "The species is not known.");
    return gn_result_undetermine(r, "/rate/standing", "%s", why) || gn_result_undetermine(r, "/rate/usual_range_bpm", "%s", why) ? -1 : 0;
  }
  rate->usual_range_bpm[0] = p->usual_bpm[0];
  rate->usual_range_bpm[1] = p->usual_bpm[1];
  if (set->minutes_after_exercise >= 0)
    return gn_result_undetermine(r, "/rate/standing", "The recording was made after exercise; the usual range is for rest.");
  if (isnan(rate->settled_bpm)) return gn_result_undetermine(r, "/rate/standing", "%s", isnan(rate->bpm) ? "There is no rate to hold against the usual range." : "The settled rate was not determined.");
  rate->standing = gn_result_standing(rate->settled_bpm, p->usual_bpm);
  return 0;
}

static const char *const RATE_KEYS[] = {"/rate/bpm", "/rate/mean_bpm", "/rate/settled_bpm", "/rate/settled_from_s", "/rate/min_bpm", "/rate/max_bpm"};
enum { N_RATE_KEYS = sizeof RATE_KEYS / sizeof *RATE_KEYS };

static int no_rate(girthline_result *r, size_t n, bool few) {
  const size_t needed = (size_t)r->limits.rhythm.rate_intervals_n;
  for (size_t i = 0; i < N_RATE_KEYS; i++) {
    int refused;
    if (!n) refused = gn_result_undetermine(r, RATE_KEYS[i], "No interval between two beats was usable; a rate needs %zu.", needed);
    else if (n < needed) refused = gn_result_undetermine(r, RATE_KEYS[i], "Only %zu usable interval%s between beats; a rate needs %zu.", n, n == 1 ? "" : "s", needed);
    else if (few) refused = gn_result_undetermine(r, RATE_KEYS[i], "Only %zu intervals between beats, in a small part of the time, were usable: they may not be the usual ones.", n);
    else refused = gn_result_undetermine(r, RATE_KEYS[i], "The %zu usable intervals between beats are too unlike one another to carry a rate.", n);
    if (refused) return -1;
  }
  return 0;
}

static double known_s(const gn_series *s) {
  double sum = 0;
  for (size_t i = 0; i < s->n; i++) sum += s->len_s[i];
  return sum;
}

// How many of the recording's intervals the series has not: by their mean, what lies between them, and what is longer than any of them ahead of
// the first and behind the last.
static double missing_n(const girthline_result *r, const gn_series *s) {
  const double end_s = s->start_s[s->n - 1] + s->len_s[s->n - 1], all_s = known_s(s);
  double longest_s = 0;
  for (size_t i = 0; i < s->n; i++) longest_s = fmax(longest_s, s->len_s[i]);
  const double missing_s = fmax(0, end_s - s->start_s[0] - all_s) + fmax(0, s->start_s[0] - r->recording.from_s - longest_s) +
                           fmax(0, r->recording.to_s - end_s - longest_s);
  return missing_s / all_s * (double)s->n;
}

// Standard error of the median interval, share of it: from the median deviation, so that pauses and early beats do not count. The intervals are a
// sample of the recording's own, without replacement: the fewer are missing, the surer it is (Cochran 1977, Sampling Techniques, section 2.6: from
// memory).
static double median_error(const gn_series *s, double without_n, double *room) {
  const double n = (double)s->n;
  copy_lengths(s, 0, room);
  const double median_s = gn_median(room, s->n);
  return 1.2533 * gn_robust_sd(room, s->n, median_s) * sqrt(without_n / (without_n + n) / n) / median_s;
}

// Of few intervals the middle one may be two of the next shorter, of which a beat was missed: then it is not known which are the usual ones.
static bool middle_may_be_two(const gn_series *s, double *room) {
  const girthline_rhythm_limits *m = s->limits;
  if (s->n < 2 || (double)s->n > m->rate_few_n || s->alternates) return false;
  const double steps = (double)(s->n - 1), at = (double)(s->n / 2);
  copy_lengths(s, 0, room);
  return gn_quantile(room, s->n, at / steps) >= m->rate_twice * gn_quantile(room, s->n, (at - 1) / steps);
}

static bool unsure(const girthline_result *r, const gn_series *s, double *room) {
  const girthline_rhythm_limits *m = s->limits;
  const double without_n = missing_n(r, s);
  if (!(r->quality.heart_to_noise_db < GN_RHYTHM_NOISY_DB)) return median_error(s, without_n, room) > m->rate_error;
  const double error = median_error(s, without_n + m->rate_wrong_n, room);
  return error > m->rate_error_noisy || (error > m->rate_error_split && median_bpm(s, 0, room) > m->rate_split * mean_bpm(s));
}

// Few of the intervals between the beats that were found: those that look alike, whatever they are.
static bool few_of_many(const girthline_result *r, const gn_series *s) {
  const girthline_rhythm_limits *m = s->limits;
  const double all_s = gn_result_beat_s(&r->beats[r->n_beats - 1]) - gn_result_beat_s(&r->beats[0]);
  return (double)s->n <= m->rate_few_n && known_s(s) < m->rate_few_share * all_s;
}

int gn_rhythm_rate(girthline_result *r, const gn_series *s, const gn_fall *fall) {
  if (s->n < (size_t)r->limits.rhythm.rate_intervals_n) return no_rate(r, s->n, false) || stand(r) ? -1 : 0;
  double *room = gn_new(s->n, sizeof *room);
  if (!room) return -1;
  const bool few = few_of_many(r, s);
  if (few || middle_may_be_two(s, room) || unsure(r, s, room)) {
    gn_free(room);
    return no_rate(r, s->n, few) || stand(r) ? -1 : 0;
  }
  r->rate.bpm = median_bpm(s, 0, room);
  r->rate.mean_bpm = mean_bpm(s);
  const int failed = settle(r, s, fall, room);
  gn_free(room);
  if (failed || count_windows(r) || extremes(r, s)) return -1;
  return stand(r);
}
