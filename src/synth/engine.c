// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/engine.h"

#include <string.h>

#include "base/memory.h"

static const double EVENT_S = 8; // a gut rumble, a phrase, the putting on: none reaches this far beyond its block
static const double LEAD_S = 0.5; // a beat's first sample may lie this much before its S1 (murmur filters settling)

struct gn_synth_engine {
  const gn_synth_spec *spec;
  heart heart;
  rhythm rhythm;
  beat next;
  murmur murmurs[GN_SYNTH_MURMURS_MOST];
  steady steady;
  events gut, voice, handling, knocks;
  track tracks[N_PARTS]; // event parts reach ahead, steady ones hold a block
  double sits_s;
  int64_t start_n;
};

bool gn_synth_engine_has(const gn_synth_engine *e, int part) { return e->tracks[part].x != NULL; }
double gn_synth_engine_pitch(const gn_synth_engine *e, size_t i) { return e->murmurs[i].what.pitch_hz; }
double gn_synth_engine_sits(const gn_synth_engine *e) { return e->sits_s; }

static bool wanted(const gn_synth_spec *s, int part) {
  if (part >= PART_MURMUR && part < PART_MURMUR + GN_SYNTH_MURMURS_MOST) return (size_t)(part - PART_MURMUR) < s->n_murmurs;
  switch (part) {
  case PART_BREATH: return s->noise & GN_SYNTH_BREATH;
  case PART_GUT: return s->noise & GN_SYNTH_GUT;
  case PART_HUM: return s->noise & GN_SYNTH_HUM;
  case PART_VOICE: return s->noise & GN_SYNTH_VOICE;
  case PART_WIND: return s->noise & GN_SYNTH_WIND;
  case PART_TOUCH: return s->put_on || (s->noise & (GN_SYNTH_HANDLING | GN_SYNTH_KNOCKS));
  default: return true;
  }
}

static bool is_steady(int part) {
  return part == PART_BREATH || part == PART_HUM || part == PART_WIND || part == PART_SENSOR;
}

// How far a beat's parts can reach: the longest interval its rhythm can give, and what comes before and after.
static double beat_reach_s(const gn_synth_spec *spec, const animal *a) {
  const double intervals = spec->rhythm == GN_SYNTH_PAUSES ? 1.4 * (spec->pause_beats + 1) : 2.4;
  return intervals * 60 / a->bpm + 3;
}

static int tracks_new(gn_synth_engine *e, const animal *a) {
  for (int k = 0; k < N_PARTS; k++) {
    if (!wanted(e->spec, k)) continue;
    track *t = &e->tracks[k];
    const double reach_s = is_steady(k) ? 0 : k < PART_BREATH ? beat_reach_s(e->spec, a) : EVENT_S;
    t->n = BLOCK_N + (size_t)(reach_s * e->spec->rate_hz);
    t->fs_hz = e->spec->rate_hz;
    t->x = gn_new(t->n, sizeof *t->x);
    if (!t->x) return -1;
  }
  return 0;
}

// The heart beat before the recording began; what is heard of that is a murmur that never stops.
static void lay_before(gn_synth_engine *e) {
  for (size_t i = 0; i < e->spec->n_murmurs; i++) {
    beat before = e->next;
    if (e->spec->murmurs[i].phase != GN_SYNTH_CONTINUOUS) continue;
    while (before.s1_s > 0) {
      before.s1_s -= before.interval_s;
      gn_synth_murmur_beat(&e->murmurs[i], &before, before.s1_s, before.s1_s + before.systole_s, &e->tracks[PART_MURMUR + i]);
    }
  }
}

gn_synth_engine *gn_synth_engine_new(const gn_synth_spec *spec, const animal *a) {
  gn_synth_engine *e = gn_new(1, sizeof *e);
  if (!e) return NULL;
  e->spec = spec;
  if (gn_synth_heart_start(&e->heart, spec, a) || tracks_new(e, a)) {
    gn_synth_engine_free(e);
    return NULL;
  }
  gn_synth_rhythm_start(&e->rhythm, spec, a);
  gn_synth_rhythm_next(&e->rhythm, &e->next);
  for (size_t i = 0; i < spec->n_murmurs; i++) gn_synth_murmur_start(&e->murmurs[i], spec, i, a);
  lay_before(e);
  gn_synth_steady_start(&e->steady, spec, a);
  gn_synth_gut_start(&e->gut, spec);
  gn_synth_voice_start(&e->voice, spec);
  gn_synth_handling_start(&e->handling, spec);
  gn_synth_knocks_start(&e->knocks, spec);
  if (spec->put_on) e->sits_s = gn_synth_put_on(spec, &e->tracks[PART_TOUCH]);
  return e;
}

void gn_synth_engine_free(gn_synth_engine *e) {
  if (!e) return;
  gn_synth_heart_clear(&e->heart);
  for (int k = 0; k < N_PARTS; k++) gn_free(e->tracks[k].x);
  gn_free(e);
}

static int lay_beats(gn_synth_engine *e, double until_s, gn_synth_on_beat on_beat, void *context) {
  while (e->next.s1_s - LEAD_S < until_s) {
    laid_beat laid = {.b = e->next};
    laid.n_sounds = gn_synth_heart_beat(&e->heart, &e->next, &e->tracks[PART_HEART], laid.sounds);
    for (size_t i = 0; i < e->spec->n_murmurs; i++)
      laid.murmurs[i] = gn_synth_murmur_beat(&e->murmurs[i], &e->next, laid.sounds[0].end_s, laid.sounds[1].end_s,
                                             &e->tracks[PART_MURMUR + i]);
    if (on_beat && on_beat(context, &laid)) return -1;
    gn_synth_rhythm_next(&e->rhythm, &e->next);
  }
  return 0;
}

static void steady_parts(gn_synth_engine *e) {
  track *t = e->tracks;
  if (t[PART_BREATH].x) gn_synth_breath(&e->steady, e->start_n, t[PART_BREATH].x, BLOCK_N);
  if (t[PART_HUM].x) gn_synth_hum(&e->steady, e->start_n, t[PART_HUM].x, BLOCK_N);
  if (t[PART_WIND].x) gn_synth_wind(&e->steady, t[PART_WIND].x, BLOCK_N);
  gn_synth_sensor(&e->steady, &e->steady.sensor_r, t[PART_SENSOR].x, BLOCK_N);
}

static void advance(track *t, size_t by_n) {
  if (!t->x || t->n <= by_n) return;
  memmove(t->x, t->x + by_n, (t->n - by_n) * sizeof *t->x);
  memset(t->x + t->n - by_n, 0, by_n * sizeof *t->x);
  t->start_n += (int64_t)by_n;
}

int gn_synth_engine_block(gn_synth_engine *e, const float *parts[N_PARTS], spans *bad, gn_synth_on_beat on_beat, void *context) {
  if (e->start_n > 0)
    for (int k = 0; k < N_PARTS; k++) advance(&e->tracks[k], BLOCK_N);
  const double until_s = (double)(e->start_n + BLOCK_N) / e->spec->rate_hz;
  if (lay_beats(e, until_s, on_beat, context)) return -1;
  if (e->spec->noise & GN_SYNTH_GUT) gn_synth_gut(&e->gut, until_s, &e->tracks[PART_GUT]);
  if (e->spec->noise & GN_SYNTH_VOICE) gn_synth_voice(&e->voice, until_s, &e->tracks[PART_VOICE]);
  if (e->spec->noise & GN_SYNTH_KNOCKS) gn_synth_knocks(&e->knocks, until_s, &e->tracks[PART_TOUCH]);
  if ((e->spec->noise & GN_SYNTH_HANDLING) && gn_synth_handling(&e->handling, until_s, &e->tracks[PART_TOUCH], bad)) return -1;
  steady_parts(e);
  for (int k = 0; k < N_PARTS; k++) parts[k] = e->tracks[k].x;
  e->start_n += BLOCK_N;
  return 0;
}
