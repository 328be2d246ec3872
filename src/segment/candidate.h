// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Accounts of a window: each a course of the period and the beats that go with it, heard out and compared.
#ifndef GN_SEGMENT_CANDIDATE_H
#define GN_SEGMENT_CANDIDATE_H

#include <stdbool.h>

#include "segment/decode.h"
#include "segment/onset.h"

#define GN_SYSTOLE_SD_MORE 0.02 // of log systole: added to the spread that is measured
#define GN_CANDIDATES_MOST 16

/// One account of the window.
typedef struct gn_candidate {
  gn_model model;
  bool irregular;        ///< no local period: one wide distribution
  float *place;          ///< grid place of the period by second
  double score;          ///< log likelihood of everything
  double systole_offset; ///< log of its beats' systole over the species' expectation, before it was bounded for the model
  double systole_spread; ///< of log systole over the beats, as it was before it was bounded for the model
  double gain_per_beat;  ///< log likelihood over that of no beat at all
  gn_beat_frames *beats;
  size_t n_beats;
  gn_sound_times *times; ///< their exact times (see timing.h); NULL: not known
  long moved_n;          ///< frames the furthest of their sounds lies from where the decoding before had it; LONG_MAX: there are more or fewer
} gn_candidate;

/// Nats a beat from which on an account is that of a clear heart: where decoding again gives the same beats (to GN_SAME_N frames), nothing
/// more is learnt from them.
/// A choice: with no limit one rate of 705 simulated recordings came out grossly wrong that is not determined with it, at 21 nats.
#define GN_CLEAR_GAIN 30.0

/// Frames within which a sound is where it was: its exact time is found in the waveform.
#define GN_SAME_N 2

/// Everything one window needs, so that one clear lets go of all of it.
typedef struct gn_hearing {
  const gn_features *f;
  const girthline_profile *profile;
  gn_durations *durations;
  gn_scores scores;
  gn_decoder *decoder;
  size_t n_seconds;
  gn_candidate list[GN_CANDIDATES_MOST];
  size_t n;
} gn_hearing;

/// Room for a window's features; -1 when memory is refused.
int gn_hearing_init(gn_hearing *h, const gn_features *f, const girthline_profile *profile, gn_durations *durations);
void gn_hearing_clear(gn_hearing *h);

/// List the accounts, hear each out, and put the most likely first (h->n == 0: nothing periodic). beside: another hearing of the same window, in
/// which a second thread hears half of them; NULL: none. -1 when memory is refused.
int gn_candidate_choose(gn_hearing *h, gn_hearing *beside);

/// What one window hands on to the next.
typedef struct gn_carried {
  bool known;
  gn_model model;
  double interval_s;    ///< median
  double gain_per_beat; ///< log likelihood
  double name_log_odds;
} gn_carried;

/// Hear the window out with what was learnt in the one before, with and without a steady period, instead of with every account
/// there could be, and put the more likely first (h->n == 0: no such period here). -1 when memory is refused.
int gn_candidate_resume(gn_hearing *h, const gn_carried *carried);

/// true where the first account tells of the same heart as the window before: as fast, and as clear.
bool gn_candidate_holds(const gn_hearing *h, const gn_carried *carried);
gn_carried gn_candidate_carry(const gn_hearing *h, double name_log_odds);

/// Forget the first account; the best of the others takes its place.
void gn_candidate_forget_first(gn_hearing *h);

/// Forget all accounts.
void gn_candidate_drop(gn_hearing *h);

/// A copy of an account to try something on; -1 when memory is refused. Let go of either with gn_candidate_clear.
int gn_candidate_copy(const gn_hearing *h, const gn_candidate *c, gn_candidate *out);
void gn_candidate_clear(gn_candidate *c);

void gn_candidate_forget_times(gn_candidate *c); ///< its beats are others

/// Score and decode a candidate again as its model stands.
int gn_candidate_decode(gn_hearing *h, gn_candidate *c);

/// Learn from its own beats, and score the window by what was learnt.
int gn_candidate_learn(gn_hearing *h, gn_candidate *c);

/// Learn from its own beats and decode again, some rounds long.
int gn_candidate_refine(gn_hearing *h, gn_candidate *c, int rounds);

/// Take the account's beats for single sounds: of each two that lie nearer to each other than to those on either side the first is S1 and the second
/// S2. Learns and decodes.
int gn_candidate_pair(gn_hearing *h, gn_candidate *c);

double gn_candidate_period_s(const gn_hearing *h, const gn_candidate *c, long frame); ///< local period at a frame
double gn_candidate_interval_n(const gn_candidate *c); ///< median interval, frames; 0 without one
double gn_candidate_systole_n(const gn_candidate *c);  ///< the same from S1 to S2

#endif
