// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What S1, systole, S2 and diastole look like in a recording, and how well each frame fits.
#ifndef GN_SEGMENT_MODEL_H
#define GN_SEGMENT_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/species.h>

#include "base/features.h"

#define GN_TEMPLATE_MOST 40
#define GN_TEMPLATE_LEAD 4 // frames of a template before the onset: the 40 ms smoothing spreads a sound 20 ms ahead

/// A decoded beat in frames; the window's frames are 0 .. n-1, sounds may lie a little outside.
typedef struct gn_beat_frames { long s1, s2; } gn_beat_frames;
static inline long gn_beat_frame(const gn_beat_frames *beat, bool second) { return second ? beat->s2 : beat->s1; }

/// A covariance of the two bands' levels, dB^2.
typedef struct gn_spread {
  double whiten[3]; ///< lower triangle of the inverse Cholesky factor
  double log_det;   ///< log determinant
} gn_spread;

/// Levels in dB over the background by band; a template's frame GN_TEMPLATE_LEAD is the onset.
typedef struct gn_model {
  size_t n_s1, n_s2;
  float s1[GN_TEMPLATE_MOST][GN_N_BANDS], s2[GN_TEMPLATE_MOST][GN_N_BANDS];
  float systole[GN_N_BANDS], diastole[GN_N_BANDS];
  bool pooled;          ///< learn one spread for both sounds, and let systoles lie far off: fair between candidates; else the chosen one follows its own
  gn_spread sound, quiet; ///< around the templates; around systole and diastole
  bool generic;         ///< templates are bumps of free gain and width
  double systole_log_offset; ///< of this recording against the species' expectation
  double systole_sd;    ///< spread of log systole around the expectation
  double interval_sd;   ///< spread of log interval around the local period
  double long_share, short_share; ///< intervals far longer and shorter than the period
} gn_model;

/// Evidence by frame relative to diastole, already scaled; index i is frame i - pad.
typedef struct gn_scores {
  size_t n, pad;        ///< frames of the window; frames of nothing before and after it
  bool generic;         ///< from a model that has learnt nothing
  size_t after_s1_n;    ///< frames from S1's onset to where its template ends and systole begins
  float *s1, *s2;       ///< a sound with its onset here
  double *systole;      ///< running sum of systole against diastole: frames a .. b-1 give systole[b] - systole[a]
  double diastole_total; ///< log likelihood of all frames as diastole, with the determinant
  float *u, *v;         ///< room: the levels as the templates' spread whitens them
  double *over;         ///< room: running sum of what diastole lacks
} gn_scores;

int gn_scores_init(gn_scores *s, size_t n, size_t pad); ///< -1 when memory is refused
void gn_scores_clear(gn_scores *s);

/// A model before anything was decoded: bumps of the species' usual lengths, or what systole and diastole leave room for, at
/// the window's own levels. -1 when memory is refused.
int gn_model_init(gn_model *m, const gn_features *f, const girthline_profile *profile, double systole_s, double diastole_s);

/// true for two models that score every frame alike: both generic and of the same lengths, as made for one window.
bool gn_model_alike(const gn_model *a, const gn_model *b);

void gn_model_score(const gn_model *m, const gn_features *f, gn_scores *out);

/// Learn means and covariance from decoded beats (those whose sounds are not spoilt). With few beats the templates stay
/// near what they were. -1 when memory is refused.
int gn_model_learn(gn_model *m, const gn_features *f, const gn_beat_frames *beats, size_t n_beats);

/// How much the learnt templates sound like S1 and S2 under these names rather than exchanged, as a log odds: S1 is longer
/// and lower, S2 shorter and higher pitched (Estrada 2014; Patteson, Equine Cardiology 3.4.1). 0 for a generic model.
double gn_model_naming(const gn_model *m);

#endif
