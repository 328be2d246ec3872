// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/timing.h"

#include <limits.h>
#include <math.h>

#include "base/memory.h"
#include "base/statistics.h"

// Choices.
#define USUAL_MOST 1.25   // times the usual interval or its inverse: with one sound left out the middle lies elsewhere
#define USUAL_LEAST_N 8   // usual intervals, before their mean means anything
#define CHANCE_ERRORS 4.0 // standard errors of that mean
#define ROOM_SHARE 0.5    // of the usual gap to the next sound that a sound may be taken to last: what lies behind is the next one's

// Usual gap from a first (second) sound to the next sound, seconds; infinite without one. room holds a value for every beat.
static double usual_gap_s(const gn_hearing *h, const gn_candidate *c, bool after_second, double *room) {
  size_t n = 0;
  for (size_t i = 0; i < c->n_beats; i++) {
    if (after_second && i + 1 == c->n_beats) break;
    room[n++] = (double)(after_second ? c->beats[i + 1].s1 - c->beats[i].s2 : c->beats[i].s2 - c->beats[i].s1) / h->f->rate_hz;
  }
  return n ? gn_median(room, n) : HUGE_VAL;
}

static int refine(const gn_hearing *h, const gn_candidate *c, gn_sound_times *first, gn_sound_times *second) {
  const size_t n = c->n_beats;
  long *frames = gn_new(2 * n, sizeof *frames);
  double *room = gn_new(n, sizeof *room);
  int bad = !frames || !room;
  if (!bad) {
    for (size_t i = 0; i < n; i++) {
      frames[i] = c->beats[i].s1 >= 0 ? c->beats[i].s1 : LONG_MIN;
      frames[n + i] = c->beats[i].s2 < (long)h->f->n ? c->beats[i].s2 : LONG_MIN;
    }
    const double first_s = fmin(h->profile->s1_length_s, ROOM_SHARE * usual_gap_s(h, c, false, room));
    const double second_s = fmin(h->profile->s2_length_s, ROOM_SHARE * usual_gap_s(h, c, true, room));
    bad = gn_onset_refine(h->f, frames, n, first_s, first) || gn_onset_refine(h->f, frames + n, n, second_s, second);
  }
  gn_free(frames);
  gn_free(room);
  return bad ? -1 : 0;
}

int gn_timing_find(const gn_hearing *h, gn_candidate *c) {
  if (c->times) return 0;
  c->times = gn_new(2 * c->n_beats, sizeof *c->times);
  if (!c->times) return -1;
  if (!refine(h, c, c->times, c->times + c->n_beats)) return 0;
  gn_free(c->times);
  c->times = NULL;
  return -1;
}

int gn_timing_uneven(const gn_hearing *h, gn_candidate *c, double *uneven) {
  *uneven = (double)NAN;
  if (!h->f->wave) return 0;
  if (gn_timing_find(h, c)) return -1;
  const double usual_s = gn_candidate_interval_n(c) / h->f->rate_hz;
  const gn_sound_times *first = c->times, *second = c->times + c->n_beats;
  double sum = 0, squares = 0, n = 0;
  for (size_t i = 0; i + 1 < c->n_beats; i++) {
    const double interval_s = first[i + 1].onset_s - first[i].onset_s, off = (second[i].onset_s - first[i].onset_s) / interval_s - 0.5;
    if (!isfinite(off) || interval_s > USUAL_MOST * usual_s || interval_s < usual_s / USUAL_MOST) continue;
    sum += off, squares += off * off, n++;
  }
  if (n >= USUAL_LEAST_N) *uneven = fabs(sum / n) - CHANCE_ERRORS * sqrt(gn_variance_of_mean(sum, squares, n));
  return 0;
}
