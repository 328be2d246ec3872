// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Explicit-duration decoding: S1, systole, S2, diastole, over a window, given the evidence and the local period.
#ifndef GN_SEGMENT_DECODE_H
#define GN_SEGMENT_DECODE_H

#include "segment/durations.h"
#include "segment/model.h"

/// Room for decoding a window, reused by every pass.
typedef struct gn_decoder gn_decoder;
gn_decoder *gn_decoder_new(size_t n_frames, size_t pad);
void gn_decoder_free(gn_decoder *d);

/// The best sequence of beats. place: grid place of the local period by second (n_place). Returns its log likelihood over
/// that of no beat at all; *beats points into d.
double gn_decode_best(gn_decoder *d, const gn_scores *s, const gn_durations *dur, const float *place, size_t n_place,
                      const gn_beat_frames **beats, size_t *n_beats);

/// What all sequences together say of each beat of the best one.
typedef struct gn_posterior {
  float s1, s2;    ///< probability that the sound lies near where the best sequence has it
  float unbroken;  ///< probability that no further beat lies before the next one
} gn_posterior;

/// Posteriors of the best sequence's beats; near means within near_n frames; out has room for n_beats. Needs a gn_decode_best
/// of the same scores and durations before.
void gn_decode_posterior(gn_decoder *d, const gn_scores *s, const gn_durations *dur, size_t near_n, gn_posterior *out);

#endif
