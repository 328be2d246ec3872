// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/model.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

// Choices, not varied one by one.
#define SD_FLOOR_DB 1.5        // of a learnt model with one spread for all
#define SD_FLOOR_SOUND_DB 3.0  // of the sounds, learnt apart: beats differ by more than clean levels show
#define SD_FLOOR_QUIET_DB 2.5  // of what lies between them
#define SD_GENERIC_DB 3.0      // around a bump, before anything is learnt
#define LIKE_GENERIC 0.3       // correlation of the two bands' levels around a bump
#define LIKE_MOST 0.8          // and the closest one that is learnt
#define LEVEL_LEAST_N 10       // frames (of 10 ms) a level is learnt from
#define SPREAD_LEAST_N 20      // and a spread
#define QUIET_SHARE 0.40       // of the frames: the level between the sounds before anything is learnt
#define LOUD_SHARE 0.96        // and that of a sound's peak
#define PRIOR_BEATS 1.5        // weight of the previous template against that many beats
// Before anything is learnt: spreads of log systole around the expectation and of log interval around the local period, shares of long and of short intervals.
static const double SYSTOLE_SD = 0.14, INTERVAL_SD = 0.07, LONG_SHARE = 0.03, SHORT_SHARE = 0.02;

// A sound as a bump: rises within 35 ms from 15 ms before its onset, falls to a fifth from 30 ms behind it to its end. Frames of 10 ms.
static const double RISE_BEFORE_N = 1.5, RISE_N = 3.5, TOP_N = 3, FALL_SHARE = 0.8;
static void bump(float t[][GN_N_BANDS], size_t n, const float *bottom, const float *top) {
  for (size_t k = 0; k < n; k++) {
    const double x = ((double)k - GN_TEMPLATE_LEAD + RISE_BEFORE_N) / RISE_N;
    const double rise = x <= 0 ? 0 : x >= 1 ? 1 : 0.5 - 0.5 * gn_cos(GN_PI * x);
    const double past = (double)k - GN_TEMPLATE_LEAD - TOP_N, len = (double)n - GN_TEMPLATE_LEAD - TOP_N;
    const double fall = past <= 0 ? 1 : 1 - FALL_SHARE * past / len;
    for (size_t b = 0; b < GN_N_BANDS; b++) t[k][b] = bottom[b] + (float)(rise * fall) * (top[b] - bottom[b]);
  }
}

// Inverse of the lower Cholesky factor of the covariance {xx, xy, yy}.
static gn_spread spread_of(double xx, double xy, double yy) {
  const double l00 = sqrt(xx), l10 = xy / l00, l11 = sqrt(yy - l10 * l10);
  return (gn_spread){{1 / l00, -l10 / (l00 * l11), 1 / l11}, 2 * (gn_log(l00) + gn_log(l11))};
}

// A template ends before the next sound's begins: no frame counts twice.
static size_t template_length(double sound_n, double room_n) {
  const double n = fmin(fmin(sound_n, room_n - GN_TEMPLATE_LEAD), GN_TEMPLATE_MOST - GN_TEMPLATE_LEAD);
  return GN_TEMPLATE_LEAD + (n < 3 ? 3 : (size_t)n);
}

int gn_model_init(gn_model *m, const gn_features *f, const girthline_profile *profile, double systole_s, double diastole_s) {
  float *work = gn_room(f->n, sizeof *work);
  if (!work) return -1;
  *m = (gn_model){.generic = true, .pooled = true, .systole_sd = SYSTOLE_SD, .interval_sd = INTERVAL_SD, .long_share = LONG_SHARE, .short_share = SHORT_SHARE};
  float top[GN_N_BANDS], bottom[GN_N_BANDS];
  for (size_t b = 0; b < GN_N_BANDS; b++) {
    size_t n = 0;
    for (size_t k = 0; k < f->n; k++)
      if (!f->spoilt[k]) work[n++] = f->level_db[b][k];
    bottom[b] = n ? gn_quantile_f(work, n, QUIET_SHARE) : 0;
    top[b] = n ? gn_quantile_f(work, n, LOUD_SHARE) : 0;
    m->systole[b] = m->diastole[b] = bottom[b];
  }
  m->n_s1 = template_length(profile->s1_length_s * f->rate_hz + 3, systole_s * f->rate_hz);
  m->n_s2 = template_length(profile->s2_length_s * f->rate_hz + 3, diastole_s * f->rate_hz);
  bump(m->s1, m->n_s1, bottom, top);
  bump(m->s2, m->n_s2, bottom, top);
  m->sound = spread_of(SD_GENERIC_DB * SD_GENERIC_DB, LIKE_GENERIC * SD_GENERIC_DB * SD_GENERIC_DB, SD_GENERIC_DB * SD_GENERIC_DB);
  m->quiet = m->sound;
  gn_free(work);
  return 0;
}

// Mean over beats of the frames around a sound, drawn towards the present template by PRIOR_BEATS.
static void learn_template(const gn_features *f, const gn_beat_frames *beats, size_t n_beats, bool second, float t[][GN_N_BANDS], size_t n) {
  for (size_t k = 0; k < n; k++) {
    double sum[GN_N_BANDS] = {0}, weight = 0;
    for (size_t i = 0; i < n_beats; i++) {
      const long at = gn_beat_frame(&beats[i], second) - GN_TEMPLATE_LEAD + (long)k;
      if (at < 0 || at >= (long)f->n || f->spoilt[at]) continue;
      for (size_t b = 0; b < GN_N_BANDS; b++) sum[b] += (double)f->level_db[b][at];
      weight++;
    }
    for (size_t b = 0; b < GN_N_BANDS; b++)
      t[k][b] = (float)((sum[b] + PRIOR_BEATS * (double)t[k][b]) / (weight + PRIOR_BEATS));
  }
}

typedef enum part { NOWHERE, IN_S1, IN_SYSTOLE, IN_S2, IN_DIASTOLE } part;

// Which part of the cycle a frame belongs to, and its place in the template.
static void label_frames(const gn_model *m, const gn_features *f, const gn_beat_frames *beats, size_t n_beats, unsigned char *label, unsigned char *place) {
  memset(label, NOWHERE, f->n);
  for (size_t i = 0; i < n_beats; i++) {
    const long end = i + 1 < n_beats ? beats[i + 1].s1 - GN_TEMPLATE_LEAD : beats[i].s2 + (beats[i].s2 - beats[i].s1);
    for (long k = beats[i].s1 - GN_TEMPLATE_LEAD; k < end; k++) {
      if (k < 0 || k >= (long)f->n) continue;
      const long in1 = k - beats[i].s1 + GN_TEMPLATE_LEAD, in2 = k - beats[i].s2 + GN_TEMPLATE_LEAD;
      if (in2 >= 0 && in2 < (long)m->n_s2) label[k] = IN_S2, place[k] = (unsigned char)in2;
      else if (in2 >= 0) label[k] = IN_DIASTOLE;
      else if (in1 < (long)m->n_s1) label[k] = IN_S1, place[k] = (unsigned char)in1;
      else label[k] = IN_SYSTOLE;
    }
  }
}

static void learn_level(const gn_features *f, const unsigned char *label, part which, float *mean, float *work) {
  for (size_t b = 0; b < GN_N_BANDS; b++) {
    size_t n = 0;
    for (size_t k = 0; k < f->n; k++)
      if (label[k] == which && !f->spoilt[k]) work[n++] = f->level_db[b][k];
    if (n >= LEVEL_LEAST_N) mean[b] = gn_quantile_f(work, n, 0.5);
  }
}

typedef struct moments { double xx, xy, yy, n; } moments;

static gn_spread spread_learnt(moments s, const gn_spread *before, double least_sd) {
  if (s.n < SPREAD_LEAST_N) return *before;
  const double least = least_sd * least_sd, xx = fmax(s.xx / s.n, least), yy = fmax(s.yy / s.n, least);
  const double most = LIKE_MOST * sqrt(xx * yy);
  return spread_of(xx, fmin(most, fmax(-most, s.xy / s.n)), yy);
}

static void learn_spread(gn_model *m, const gn_features *f, const unsigned char *label, const unsigned char *place) {
  moments sound = {0}, quiet = {0};
  for (size_t k = 0; k < f->n; k++) {
    if (label[k] == NOWHERE || f->spoilt[k]) continue;
    const float *mean = label[k] == IN_S1 ? m->s1[place[k]] : label[k] == IN_S2 ? m->s2[place[k]] : label[k] == IN_SYSTOLE ? m->systole : m->diastole;
    moments *s = label[k] == IN_S1 || label[k] == IN_S2 ? &sound : &quiet;
    const double x = (double)(f->level_db[0][k] - mean[0]), y = (double)(f->level_db[1][k] - mean[1]);
    s->xx += x * x, s->xy += x * y, s->yy += y * y, s->n++;
  }
  if (m->pooled) {
    sound = (moments){sound.xx + quiet.xx, sound.xy + quiet.xy, sound.yy + quiet.yy, sound.n + quiet.n};
    quiet = sound;
  }
  m->sound = spread_learnt(sound, &m->sound, m->pooled ? SD_FLOOR_DB : SD_FLOOR_SOUND_DB);
  m->quiet = spread_learnt(quiet, &m->quiet, m->pooled ? SD_FLOOR_DB : SD_FLOOR_QUIET_DB);
}

int gn_model_learn(gn_model *m, const gn_features *f, const gn_beat_frames *beats, size_t n_beats) {
  unsigned char *label = gn_new(2 * f->n, 1), *place = label ? label + f->n : NULL;
  float *work = gn_room(f->n, sizeof *work);
  if (label && work) {
    learn_template(f, beats, n_beats, false, m->s1, m->n_s1);
    learn_template(f, beats, n_beats, true, m->s2, m->n_s2);
    label_frames(m, f, beats, n_beats, label, place);
    learn_level(f, label, IN_SYSTOLE, m->systole, work);
    learn_level(f, label, IN_DIASTOLE, m->diastole, work);
    learn_spread(m, f, label, place);
    m->generic = false;
  }
  const int ok = label && work;
  gn_free(label);
  gn_free(work);
  return ok ? 0 : -1;
}

// Frames whose level is over half the way from the background to the template's peak, and the pitch as upper against lower
// band at their peaks.
static void shape_of(const gn_model *m, const float tmpl[][GN_N_BANDS], size_t n, double *width_n, double *pitch_db) {
  float peak[GN_N_BANDS] = {0}, top = 0;
  for (size_t k = 0; k < n; k++) {
    top = fmaxf(top, tmpl[k][0] + tmpl[k][1]);
    for (size_t b = 0; b < GN_N_BANDS; b++) peak[b] = fmaxf(peak[b], tmpl[k][b]);
  }
  const float ground = m->diastole[0] + m->diastole[1];
  *width_n = 0;
  for (size_t k = 0; k < n; k++) *width_n += tmpl[k][0] + tmpl[k][1] - ground > 0.5f * (top - ground);
  *pitch_db = (double)(peak[1] - peak[0]);
}

double gn_model_naming(const gn_model *m) {
  // Weights, log odds: 570 simulated hearts over 110 a minute, where the time between the sounds tells little, would give 0.9 a dB and
  // 1.2 a frame; somewhat less, for a real chest piece and its place change both (choice).
  const double per_db = 0.8, per_frame = 1.0, most = 5;
  double width1, width2, pitch1, pitch2;
  if (m->generic) return 0;
  shape_of(m, m->s1, m->n_s1, &width1, &pitch1);
  shape_of(m, m->s2, m->n_s2, &width2, &pitch2);
  return fmin(most, fmax(-most, per_db * (pitch2 - pitch1))) + fmin(most, fmax(-most, per_frame * (width1 - width2)));
}
