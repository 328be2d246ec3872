// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/engine.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"
#include "base/maths.h"
#include "base/memory.h"

static const double USUAL_PEAK = 0.25;   // of full scale, the largest heart sound before gain_db
static const double AGC_TARGET = 0.35, AGC_MOST = 6, AGC_ATTACK_S = 0.015, AGC_RELEASE_S = 1.2; // a simple recorder's
static const double CONTACT_S = 0.15;    // the chest piece settles over this long

struct gn_synth {
  gn_synth_spec spec;
  animal animal;
  levels levels;
  gn_synth_engine *engine;
  recorder recorder, room_recorder;
  muffle muffle;
  steady room; // the second channel's own sensor
  gn_random room_r, dropout_r;
  double agc_square, drop_from_s, drop_to_s, drop_left;
  size_t frames_n, given_n;
  float *block;              // BLOCK_N frames, interleaved
  size_t block_n, block_at;  // frames in it, frames given
  int64_t start_n;           // of the next block
  gn_synth_sound *queue;
  size_t queue_n, queue_at, queue_capacity;
  spans bad, pauses;
  double *early, *intervals;
  size_t early_n, early_capacity, intervals_n, intervals_capacity;
  bool sorted;
};

// ---- truth

static int keep(double **items, size_t *n, size_t *capacity, double x) {
  if (gn_grow((void **)items, capacity, *n + 1, sizeof **items)) return -1;
  (*items)[(*n)++] = x;
  return 0;
}

static int queue_sound(gn_synth *s, const gn_synth_sound *sound) {
  if (sound->number == 0 || sound->onset_s < 0 || sound->onset_s >= s->spec.seconds) return 0;
  if (s->queue_at == s->queue_n) s->queue_at = s->queue_n = 0;
  if (gn_grow((void **)&s->queue, &s->queue_capacity, s->queue_n + 1, sizeof *s->queue)) return -1;
  s->queue[s->queue_n++] = *sound;
  return 0;
}

static int note_beat(void *context, const laid_beat *laid) {
  gn_synth *s = context;
  for (int k = 0; k < laid->n_sounds; k++)
    if (queue_sound(s, &laid->sounds[k])) return -1;
  const beat *b = &laid->b;
  const double next_s = b->s1_s + b->interval_s;
  if (b->s1_s >= s->spec.seconds) return 0;
  if (b->early && keep(&s->early, &s->early_n, &s->early_capacity, b->s1_s)) return -1;
  if (next_s >= s->spec.seconds) return 0;
  if (b->pause && gn_synth_spans_add(&s->pauses, b->s1_s, next_s)) return -1;
  return keep(&s->intervals, &s->intervals_n, &s->intervals_capacity, b->interval_s);
}

static int by_start(const void *x, const void *y) {
  const gn_synth_span *a = x, *b = y;
  return (a->start_s > b->start_s) - (a->start_s < b->start_s);
}

// What begins after the end is no part of the recording.
static void close_lists(gn_synth *s) {
  if (s->bad.n) qsort(s->bad.items, s->bad.n, sizeof *s->bad.items, by_start);
  while (s->bad.n && s->bad.items[s->bad.n - 1].start_s >= s->spec.seconds) s->bad.n--;
  for (size_t i = 0; i < s->bad.n; i++) s->bad.items[i].end_s = fmin(s->bad.items[i].end_s, s->spec.seconds);
  s->sorted = true;
}

// ---- making a block

static double contact_at(const gn_synth *s, double t_s) {
  const double sits_s = gn_synth_engine_sits(s->engine);
  if (sits_s <= 0 || t_s >= sits_s) return 1;
  return fmax(0, 1 - (sits_s - t_s) / CONTACT_S);
}

// A lost connection: for a second or three hardly anything comes through.
static double connection_at(gn_synth *s, double t_s, int *failed) {
  if (!(s->spec.noise & GN_SYNTH_DROPOUT) || t_s < s->drop_from_s) return 1;
  if (t_s >= s->drop_to_s) {
    const double length_s = gn_synth_between(&s->dropout_r, 1.0, 3.5);
    const double gap_s = s->drop_to_s > 0 ? 4 + gn_synth_exponential(&s->dropout_r, 30) : 0;
    s->drop_left = gn_synth_between(&s->dropout_r, 0, 0.02);
    s->drop_from_s = fmax(s->drop_from_s, s->drop_to_s) + gap_s;
    s->drop_to_s = s->drop_from_s + fmin(length_s, 0.3 * s->spec.seconds);
    if (gn_synth_spans_add(&s->bad, s->drop_from_s, s->drop_to_s)) *failed = 1;
    if (t_s < s->drop_from_s) return 1;
  }
  const double edge = fmin(fmin(t_s - s->drop_from_s, s->drop_to_s - t_s) / 0.004, 1);
  return 1 - edge * (1 - s->drop_left);
}

static void add_part(const gn_synth *s, const float *const parts[], int k, double share, float *x) {
  if (!parts[k]) return;
  const double gain = share * s->levels.gain[k];
  for (size_t i = 0; i < BLOCK_N; i++) x[i] += (float)(gain * (double)parts[k][i]);
}

static void mix_heart(gn_synth *s, const float *const parts[], float *x) {
  memset(x, 0, BLOCK_N * sizeof *x);
  for (int k = 0; k < N_PARTS; k++)
    if (gn_synth_part_is_body(k)) add_part(s, parts, k, 1, x);
  if (s->spec.muffled) gn_synth_muffle_run(&s->muffle, x, BLOCK_N);
  if (s->spec.put_on)
    for (size_t i = 0; i < BLOCK_N; i++)
      x[i] = (float)((double)x[i] * contact_at(s, (double)(s->start_n + (int64_t)i) / s->spec.rate_hz));
  for (int k = 0; k < N_PARTS; k++)
    if (!gn_synth_part_is_body(k)) add_part(s, parts, k, 1, x);
  gn_synth_recorder_run(&s->recorder, x, BLOCK_N);
}

// The second channel lies beside the animal: it hears voice, wind and hum well, touches a little, the heart hardly.
static void mix_room(gn_synth *s, const float *const parts[], float *x) {
  gn_synth_sensor(&s->room, &s->room_r, x, BLOCK_N);
  for (size_t i = 0; i < BLOCK_N; i++) x[i] = (float)((double)x[i] * s->levels.gain[PART_SENSOR]);
  add_part(s, parts, PART_HEART, 0.01, x);
  add_part(s, parts, PART_HUM, 1.4, x);
  add_part(s, parts, PART_VOICE, 2.5, x);
  add_part(s, parts, PART_WIND, 1.8, x);
  add_part(s, parts, PART_TOUCH, 0.15, x);
  gn_synth_recorder_run(&s->room_recorder, x, BLOCK_N);
}

static void gain_control(gn_synth *s, float *x) {
  const double fs = s->spec.rate_hz, up = 1 / (AGC_ATTACK_S * fs), down = 1 / (AGC_RELEASE_S * fs);
  const double target = AGC_TARGET * s->levels.heart_peak;
  for (size_t i = 0; i < BLOCK_N; i++) {
    const double square = (double)x[i] * (double)x[i];
    s->agc_square += (square > s->agc_square ? up : down) * (square - s->agc_square);
    const double level = sqrt(s->agc_square);
    x[i] = (float)((double)x[i] * (level * AGC_MOST > target ? target / level : AGC_MOST));
  }
}

static int finish(gn_synth *s, const float *x, int channel) {
  const double scale = USUAL_PEAK * gn_exp(s->spec.gain_db * 0.11512925464970229) / s->levels.heart_peak;
  int failed = 0;
  for (size_t i = 0; i < BLOCK_N; i++) {
    const double t_s = (double)(s->start_n + (int64_t)i) / s->spec.rate_hz;
    const double through = channel == 0 ? connection_at(s, t_s, &failed) : 1;
    const double v = (double)x[i] * scale * through + s->spec.dc;
    s->block[i * (size_t)s->spec.channels + (size_t)channel] = (float)fmin(fmax(v, -s->spec.clip), s->spec.clip);
  }
  return failed;
}

static int make_block(gn_synth *s) {
  const float *parts[N_PARTS];
  float x[BLOCK_N];
  if (gn_synth_engine_block(s->engine, parts, &s->bad, note_beat, s)) return -1;
  mix_heart(s, parts, x);
  if (s->spec.agc) gain_control(s, x);
  int failed = finish(s, x, 0);
  if (s->spec.channels == 2) {
    mix_room(s, parts, x);
    failed |= finish(s, x, 1);
  }
  s->start_n += BLOCK_N;
  s->block_n = BLOCK_N;
  s->block_at = 0;
  return failed ? -1 : 0;
}

// ---- the object

static int start(gn_synth *s) {
  gn_synth_animal_draw(&s->animal, &s->spec);
  if (gn_synth_calibrate(&s->spec, &s->animal, &s->levels)) return -1;
  s->engine = gn_synth_engine_new(&s->spec, &s->animal);
  s->block = gn_new((size_t)BLOCK_N * (size_t)s->spec.channels, sizeof *s->block);
  if (!s->engine || !s->block) return -1;
  s->recorder = s->room_recorder = gn_synth_recorder_of(&s->spec);
  s->muffle = gn_synth_muffle_of(&s->spec);
  gn_synth_steady_start(&s->room, &s->spec, &s->animal);
  s->room_r = gn_synth_stream(s->spec.seed, STREAM_ROOM);
  s->dropout_r = gn_synth_stream(s->spec.seed, STREAM_DROPOUT);
  s->drop_from_s = gn_synth_between(&s->dropout_r, 0.1, 0.7) * fmin(s->spec.seconds, 25);
  s->frames_n = (size_t)(s->spec.seconds * s->spec.rate_hz + 0.5);
  const double sits_s = gn_synth_engine_sits(s->engine);
  return sits_s > 0 ? gn_synth_spans_add(&s->bad, 0, sits_s) : 0;
}

gn_synth *gn_synth_new(const gn_synth_spec *spec, girthline_error *error) {
  if (gn_synth_spec_check(spec, error)) return NULL;
  gn_synth *s = gn_new(1, sizeof *s);
  if (s) s->spec = *spec;
  if (!s || start(s)) {
    gn_error_memory(error, "synth");
    gn_synth_free(s);
    return NULL;
  }
  return s;
}

void gn_synth_free(gn_synth *s) {
  if (!s) return;
  gn_synth_engine_free(s->engine);
  gn_free(s->block);
  gn_free(s->queue);
  gn_free(s->bad.items);
  gn_free(s->pauses.items);
  gn_free(s->early);
  gn_free(s->intervals);
  gn_free(s);
}

size_t gn_synth_frames(const gn_synth *s) { return s->frames_n; }

size_t gn_synth_read(gn_synth *s, float *frames, size_t n, girthline_error *error) {
  size_t done = 0;
  const size_t wide = (size_t)s->spec.channels;
  while (done < n && s->given_n < s->frames_n) {
    if (s->block_at == s->block_n && make_block(s)) {
      gn_error_memory(error, "synth");
      return done;
    }
    size_t take = s->block_n - s->block_at;
    if (take > n - done) take = n - done;
    if (take > s->frames_n - s->given_n) take = s->frames_n - s->given_n;
    memcpy(frames + done * wide, s->block + s->block_at * wide, take * wide * sizeof *frames);
    s->block_at += take;
    s->given_n += take;
    done += take;
  }
  if (s->given_n == s->frames_n && !s->sorted) close_lists(s);
  return done;
}

bool gn_synth_next_sound(gn_synth *s, gn_synth_sound *out) {
  if (s->queue_at == s->queue_n) return false;
  *out = s->queue[s->queue_at++];
  return true;
}

void gn_synth_facts_get(const gn_synth *s, gn_synth_facts *out) {
  *out = (gn_synth_facts){.breaths_per_min = s->animal.breaths_per_min,
                          .bad = s->bad.items, .n_bad = s->bad.n,
                          .pauses = s->pauses.items, .n_pauses = s->pauses.n,
                          .early_s = s->early, .n_early = s->early_n,
                          .intervals_s = s->intervals, .n_intervals = s->intervals_n,
                          .s1_length_s = s->levels.s1_length_s, .s2_length_s = s->levels.s2_length_s};
  for (size_t i = 0; i < s->spec.n_murmurs; i++) {
    out->murmurs[i] = s->spec.murmurs[i];
    out->murmurs[i].pitch_hz = gn_synth_engine_pitch(s->engine, i);
  }
}
