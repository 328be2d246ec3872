// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the search for the best sequence and the sums over all sequences share.
#ifndef GN_SEGMENT_DECODE_PARTS_H
#define GN_SEGMENT_DECODE_PARTS_H

#include <stdbool.h>

#include "base/maths.h"
#include "segment/decode.h"

#define GN_GAP_COST 14.0                  // log probability of a gap longer than any interval
#define GN_GAP_PERIOD_COST 1.0            // the same for each local period that it goes on: a heart does. Of 615 hard simulated recordings none is
                                          // read worse for it and twelve stretches of beats under noise are read; 2 and 4 cost rhythms
#define GN_GENERIC_BEAT_GAIN 1.0          // log probability that a beat is given while nothing is learnt. Afterwards it costs or gains nothing but
                                          // what its sounds and durations are worth

#define GN_BLOCK 16

struct gn_decoder {
  size_t n, pad;          ///< frames, padding as in the scores
  unsigned short *row;    ///< place of the local period in the duration tables
  float *offered;         ///< best score of a sequence whose next S1 would lie here
  float *hope;            ///< what its systole and its S2 could add to an S1 here at most
  float *reach;           ///< `offered` with the evidence for an S1 here
  float *go;              ///< and with the S2 that suits it best; GN_NEVER where none could matter
  float *most;            ///< the largest sum of a systole's probability and its S2, inside the window, where go was asked for
  bool *is_near;          ///< that S2 lies within the template of S1, and no systole before it
  int *from, *second;     ///< where the S1 before lies (-1: none); frames from a followed S1 to its S2, 0 of others
  gn_beat_frames *beats;
  size_t n_beats;
  size_t *alive, n_alive; ///< the frames where an S1 is worth following, in rising order
  size_t *crest;          ///< room for the search: frames that nothing behind them stands over, of falling score
  float *worth;           ///< what an S2 here brings beside its probability, but for what precedes systole
  float *top;             ///< the most of that by block of GN_BLOCK frames
  double *ahead, *behind, *systole; ///< by place in alive: logarithms of forward, backward and systole sums
  double *weight;         ///< by place in alive: room for the sums
  const float **chance;   ///< by place in alive: the row of interval probabilities
  size_t *least;          ///< by place in alive: shortest interval, frames
};

// The row of the duration tables by frame: that of the second it is nearest to.
static inline size_t gn_decode_row_of(const gn_durations *dur, const float *place, size_t second) {
  const double j = (double)place[second] + 0.5;
  return j <= 0 ? 0 : j >= (double)dur->lags.n ? dur->lags.n - 1 : (size_t)j;
}

// Log probability that the next S1 lies behind the end, left frames on.
static inline double gn_decode_end_score(const gn_durations *dur, size_t j, size_t left, size_t most) {
  return left < most ? gn_log((double)dur->survival[j * dur->most_interval_n + left]) : -GN_GAP_COST;
}

// Log probability of beginning with an S1 at i: within the first period or so, or after a gap.
static inline double gn_decode_begin_score(const gn_decoder *d, const gn_durations *dur, size_t j, size_t i) {
  return -dur->log_period[j] - ((double)i > (double)d->pad + 1.3 * dur->period_n[j] ? GN_GAP_COST : 0);
}

static inline double gn_decode_beat_gain(const gn_scores *s) { return s->generic ? GN_GENERIC_BEAT_GAIN : 0; }

// Evidence and probability of a systole of k frames from the S1 at i.
static inline double gn_decode_systole_score(const gn_scores *s, const float *row, size_t i, size_t k) {
  const size_t n = s->n + 2 * s->pad;
  const size_t a = i + s->after_s1_n < n ? i + s->after_s1_n : n, b = i + k - GN_TEMPLATE_LEAD < n ? i + k - GN_TEMPLATE_LEAD : n;
  const double between = b > a ? s->systole[b] - s->systole[a] : 0;
  return (double)row[k] + between + (i + k < n ? (double)s->s2[i + k] : 0);
}

// The next S1 comes after this beat's S2 has had time to sound.
static inline size_t gn_decode_shortest(const gn_decoder *d, double period_n, size_t i) {
  const size_t a = (size_t)(GN_SHORTEST_PERIODS * period_n), b = (size_t)(1.35 * d->second[i]);
  return a > b ? a : b;
}

#endif
