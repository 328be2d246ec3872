// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/trust.h"

#include <math.h>

#include "base/maths.h"

// Chosen on 525 simulated hearts over ten species and 60 recordings of noise, tones, voices, breath, wind, gut and knocks:
// one heart in 285 is refused, three of the 60 pass (knocks and a voice that come in a heart-like order).
#define CLEAR_LEAST 2        // beats: less than two whole ones cannot repeat
#define GAIN_LEAST 4.0       // log likelihood per beat
#define CONTRAST_LEAST 10.0  // dB over both bands together, of the clearer of the two sounds
#define CONTRAST_OTHER 3.0   // of the other one: a loud murmur may all but cover it
// Where a murmur covers a sound, many beats at a steady time from one another, and a steady systole, say enough.
#define STEADY_CLEAR 10      // beats
#define STEADY_GAIN 12.0     // log likelihood per beat
#define STEADY_SD 0.07
#define STEADY_SHARE 0.85
#define STEADY_OFFSET 0.20   // log systole against the species' expectation
#define SHARE_MOST 0.70      // of the interval that systole may take: diastole is never less than a third, whatever the rate
#define USUAL_LEAST 0.55     // share of intervals: an irregular heart spreads them, but most stay within a factor
// A heart's systole is steady however irregular its beats; pairs picked out of noise are not: of 195 uneven hearts 98 in 100
// lie under 0.12, most noises over 0.15.
#define SYSTOLE_SD_MOST 0.145
#define OFFSET_STRANGE 0.29  // a systole as far from the species' expectation as is looked for
#define SYSTOLE_SD_STRANGE 0.10
#define USUAL_STRANGE 0.70
#define INTERVALS_LEAST 5    // before their share means anything
#define ALIKE_MOST 1.4       // dB: sounds closer than this are one sound
#define MOVES 8              // steps to either side in which the templates are held against each other, to a frame
#define EVEN_MOST 0.04       // how near half the interval systole is for evenly spaced sounds

static double peak_db(const float t[][GN_N_BANDS], size_t n, const float *ground) {
  double peak = 0;
  for (size_t k = 0; k < n; k++) peak = fmax(peak, (double)(t[k][0] + t[k][1] - ground[0] - ground[1]));
  return peak;
}

// RMS difference of the templates with the second moved by some part of a frame: equal sounds that fall between the frames in two
// ways differ by several dB on their steep rise.
static double moved_difference_db(const gn_model *m, double moved_n) {
  const size_t n = m->n_s1 < m->n_s2 ? m->n_s1 : m->n_s2;
  double sum = 0;
  size_t n_there = 0;
  for (size_t k = 0; k < n; k++) {
    const double at = (double)k + moved_n;
    if (at < 0 || at > (double)(n - 1)) continue;
    const size_t i = at < (double)(n - 1) ? (size_t)at : n - 2;
    n_there++;
    for (size_t b = 0; b < GN_N_BANDS; b++) {
      const double second = (double)m->s2[i][b] + (at - (double)i) * (double)(m->s2[i + 1][b] - m->s2[i][b]), d = (double)m->s1[k][b] - second;
      sum += d * d;
    }
  }
  return n_there ? sqrt(sum / (double)(GN_N_BANDS * n_there)) : HUGE_VAL;
}

static double difference_db(const gn_model *m) {
  if (m->n_s1 < 2 || m->n_s2 < 2) return 0;
  double least = HUGE_VAL;
  for (int k = -MOVES; k <= MOVES; k++) least = fmin(least, moved_difference_db(m, (double)k / MOVES));
  return least;
}

gn_trust gn_trust_measure(const gn_hearing *h, const gn_candidate *c) {
  const gn_model *m = &c->model;
  gn_trust t = {.usual_share = 1, .alike_db = difference_db(m), .systole_sd = c->systole_spread, .systole_offset = m->systole_log_offset};
  const double interval_n = gn_candidate_interval_n(c);
  size_t usual = 0;
  for (size_t i = 0; i < c->n_beats; i++) {
    const gn_beat_frames *b = &c->beats[i];
    t.n_clear += b->s1 >= 0 && b->s2 < (long)h->f->n && !h->f->spoilt[b->s1] && !h->f->spoilt[b->s2];
    if (i + 1 == c->n_beats) break;
    const double q = (double)(c->beats[i + 1].s1 - b->s1) / interval_n;
    usual += q > 0.5 && q < 1.8;
  }
  t.gain_per_beat = c->gain_per_beat;
  const float *ground = m->systole[0] + m->systole[1] > m->diastole[0] + m->diastole[1] ? m->systole : m->diastole;
  t.contrast_db[0] = peak_db(m->s1, m->n_s1, ground);
  t.contrast_db[1] = peak_db(m->s2, m->n_s2, ground);
  if (c->n_beats > INTERVALS_LEAST) t.usual_share = (double)usual / (double)(c->n_beats - 1);
  const gn_beat_frames *mid = &c->beats[c->n_beats / 2];
  t.systole_share = interval_n > 0 ? (double)(mid->s2 - mid->s1) / interval_n : 0;
  return t;
}

const char *gn_trust_refusal(const gn_trust *t, const girthline_profile *profile, double interval_s) {
  if (t->n_clear < CLEAR_LEAST) return "fewer than two whole beats could be made out";
  if (t->gain_per_beat < GAIN_LEAST) return "nothing that repeats like heart sounds stands out of the background";
  const double clearer = fmax(t->contrast_db[0], t->contrast_db[1]), other = fmin(t->contrast_db[0], t->contrast_db[1]);
  const bool steady = t->n_clear >= STEADY_CLEAR && t->gain_per_beat >= STEADY_GAIN && t->systole_sd <= STEADY_SD && t->usual_share >= STEADY_SHARE && fabs(t->systole_offset) <= STEADY_OFFSET;
  if (!steady && (clearer < CONTRAST_LEAST || other < CONTRAST_OTHER)) return "what repeats does not come as pairs of short sounds";
  if (t->systole_share >= SHARE_MOST) return "the time between the paired sounds is too long for a heart at that rate";
  const bool unsteady = t->systole_sd >= SYSTOLE_SD_STRANGE || t->usual_share <= USUAL_STRANGE;
  if (t->systole_sd >= SYSTOLE_SD_MOST || (fabs(t->systole_offset) >= OFFSET_STRANGE && unsteady))
    return "the time between the paired sounds is not steady as a heart's is";
  if (t->usual_share <= USUAL_LEAST) return "the sounds that were found follow no beat";
  const bool even = fabs(t->systole_share - 0.5) < EVEN_MOST, half_possible = interval_s / 2 > 60 / profile->possible_bpm[1];
  if (even && half_possible && t->alike_db < ALIKE_MOST) return "the sounds are evenly spaced and all alike, so knocks or one sound a beat cannot be told from pairs";
  return NULL;
}

double gn_trust_confidence(double posterior) {
  // The posterior is too sure of itself. Straightened on the same simulated hearts: 0.90 was right in 0.65, 0.97 in 0.83,
  // 0.999 in 0.985.
  const double p = fmin(1 - 1e-6, fmax(1e-6, posterior));
  return 1 / (1 + gn_exp(1.05 - 0.76 * gn_log(p / (1 - p))));
}
