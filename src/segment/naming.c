// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/naming.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "segment/timing.h"

#define ROUNDS 2             // re-estimations after the names were exchanged
#define SURE_PER_ODD 2.0     // confidence in names adopted against the decoder's grows from even chances there (choice)
#define FIT_WEIGHT 10.0      // log odds against names under which the sounds are less likely a beat, by e: of 12 exchanges all that were
                             // right kept nine tenths of it, the wrong ones two thirds to three quarters (choice)
#define PAUSE_SHARE 1.35     // of the usual interval
// Systole is steady, diastole takes up what the interval varies by. What the onsets are off by, both gaps hold alike, so it is their variances' difference
// that tells, against its own error.
#define STEADY_SHARE 0.012   // of the interval: by so much diastole's spread exceeds systole's in a regular heart (choice)
#define STEADY_ERROR 2.34    // of a variance, as a share of it, times the root of the number: twice what a spread by the median deviation is off by (1.17)
#define STEADY_LOGISTIC 1.7  // log odds a standard error: the logistic curve that lies nearest to the normal one
#define STEADY_MOST 6.0      // log odds (choice)
#define TIME_MOST 12.0       // log odds that an unusual systole brings (choice)

double gn_naming_limited(double x, double most) { return fmin(most, fmax(-most, x)); }

double gn_naming_time_odds(double z, double range) {
  return fmin(TIME_MOST, 0.5 * z * z) - gn_log(gn_log(range) / (GN_NAMING_SYSTOLE_SD * sqrt(2 * GN_PI)));
}

double gn_naming_systole_z(double systole_s, double expected_s) { return gn_log(systole_s / expected_s) / GN_NAMING_SYSTOLE_SD; }

// A difference smaller than its error says little, unless that is what a heart's would be; one far over it is believed whatever its size.
static double odds_of_steadiness(double sd1, double sd2, double interval_s, size_t m) {
  const double v1 = sd1 * sd1, v2 = sd2 * sd2, error = STEADY_ERROR * sqrt((v1 * v1 + v2 * v2) / (double)m);
  if (!(error > 0)) return 0;
  const double usual = fmax(STEADY_SHARE * STEADY_SHARE * interval_s * interval_s, (v2 - v1) * (v2 - v1) / (2 * error));
  return gn_naming_limited(STEADY_LOGISTIC * (v2 - v1) / error * usual / sqrt(usual * usual + error * error), STEADY_MOST);
}

// What the gaps behind m first and second sounds tell, log odds; reorders them.
static double odds_of_gaps(const girthline_profile *profile, double *after1, double *after2, size_t m) {
  if (m < 2) return 0;
  const double a = gn_median(after1, m), b = gn_median(after2, m);
  const double expected = gn_systole_expected_s(profile, a + b);
  const double za = gn_naming_systole_z(a, expected), zb = gn_naming_systole_z(b, expected);
  return gn_naming_limited(0.5 * (zb * zb - za * za), 20) + odds_of_steadiness(gn_robust_sd(after1, m, a), gn_robust_sd(after2, m, b), a + b, m);
}

// room holds two values for every beat.
static double odds_of_times(const gn_hearing *h, const gn_candidate *c, const gn_sound_times *first, double *room) {
  const size_t n = c->n_beats;
  const gn_sound_times *second = first + n;
  double *after1 = room, *after2 = room + n;
  size_t m = 0;
  for (size_t i = 0; i + 1 < n; i++) {
    const double a = second[i].onset_s - first[i].onset_s, b = first[i + 1].onset_s - second[i].onset_s;
    if (!(a > 0 && b > 0) || a + b > PAUSE_SHARE * gn_candidate_period_s(h, c, c->beats[i].s1)) continue; // a pause says nothing about systole
    after1[m] = a;
    after2[m++] = b;
  }
  return odds_of_gaps(h->profile, after1, after2, m);
}

int gn_naming_of_beats(const girthline_profile *profile, const girthline_beat *beats, size_t n, double *log_odds) {
  double *after1 = gn_new(3 * n, sizeof *after1), *after2 = after1 ? after1 + n : NULL, *whole = after1 ? after1 + 2 * n : NULL;
  size_t m = 0, kept = 0;
  *log_odds = 0;
  if (!after1) return -1;
  for (size_t i = 0; i + 1 < n; i++) {
    const double a = beats[i].s2_onset_s - beats[i].s1_onset_s, b = beats[i + 1].s1_onset_s - beats[i].s2_onset_s;
    if (!(a > 0 && b > 0)) continue; // not both sounds
    after1[m] = a;
    after2[m] = b;
    whole[m++] = a + b;
  }
  const double most_s = m ? PAUSE_SHARE * gn_median(whole, m) : 0;
  for (size_t i = 0; i < m; i++) {
    if (after1[i] + after2[i] > most_s) continue;
    after1[kept] = after1[i];
    after2[kept++] = after2[i];
  }
  *log_odds = odds_of_gaps(profile, after1, after2, kept);
  gn_free(after1);
  return 0;
}

// Log odds that the names are right rather than exchanged. The evidence of the frames has no say: it is the same sounds
// under either name, and its small differences are accidents of the templates' lengths. What tells S1 from S2 is the time
// between them at that rate, which of the two gaps is the steadier (the one after S1), and how they sound.
static int weigh(const gn_hearing *h, gn_candidate *c, double *log_odds) {
  const size_t n = c->n_beats;
  *log_odds = 0;
  if (n < 3) return 0;
  double *room = gn_new(2 * n, sizeof *room);
  const int bad = !room || gn_timing_find(h, c);
  if (!bad) *log_odds = odds_of_times(h, c, c->times, room) + gn_model_naming(&c->model);
  gn_free(room);
  return bad ? -1 : 0;
}

static int exchange(gn_hearing *h, gn_candidate *c) {
  const gn_model before = c->model;
  gn_candidate_forget_times(c);
  c->n_beats--;
  for (size_t i = 0; i < c->n_beats; i++) c->beats[i] = (gn_beat_frames){c->beats[i].s2, c->beats[i + 1].s1};
  memcpy(c->model.s1, before.s2, sizeof before.s2);
  memcpy(c->model.s2, before.s1, sizeof before.s1);
  return gn_candidate_refine(h, c, ROUNDS);
}

int gn_naming_settle(gn_hearing *h, gn_candidate *c, double *log_odds) {
  gn_candidate other;
  double other_odds;
  if (weigh(h, c, log_odds)) return -1;
  if (*log_odds >= 0) return 0;
  if (gn_candidate_copy(h, c, &other)) return -1;
  const int bad = exchange(h, &other) || weigh(h, &other, &other_odds);
  // The same sounds, learnt either way round: both views count. That the exchanged ones fit better says little, for they were learnt on longer.
  const double loses = bad ? 0 : gn_log(fmax(c->gain_per_beat, 1e-3) / fmax(other.gain_per_beat, 1e-3));
  if (!bad) *log_odds = 0.5 * (*log_odds - other_odds) + FIT_WEIGHT * fmax(0, loses);
  if (!bad && *log_odds < 0) {
    const gn_candidate t = *c;
    *c = other;
    other = t;
    *log_odds = -*log_odds;
  }
  gn_candidate_clear(&other);
  return bad ? -1 : 0;
}

double gn_naming_confidence(double log_odds) {
  // Slope from 525 simulated recordings: 0.6 right at odds of 0 to 1, 0.9 at 2 to 3, 0.97 at 6 to 8, all beyond.
  return fmin(0.995, 1 / (1 + gn_exp(-0.7 * log_odds)));
}

double gn_naming_margin(double log_odds) { return SURE_PER_ODD * fabs(log_odds - GN_NAMING_ADOPT); }

double gn_naming_adopted_confidence(double log_odds) { return gn_naming_confidence(fmin(gn_naming_margin(log_odds), GN_NAMING_SURE_MOST)); }
