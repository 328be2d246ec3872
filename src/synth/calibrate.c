// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/engine.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

// The levels are the report's: RMS in 25 to 700 Hz. Every part runs alone through the recorder and the band, and its
// energy is gathered over the spans where the truth says its sound is.

static const double LISTEN_S = 300;            // the first pass hears no more than this
static const double LISTEN_LEAST_S = 10;       // and no less, so that the shortest recording has levels too
static const double BAND_HZ[2] = {25, 700};    // of all levels

enum { GATHER_S1, GATHER_S2, GATHER_GAP, GATHER_MURMUR };

// A span whose energy is still being gathered.
typedef struct pending { int64_t from_n, to_n; int kind; size_t index; } pending;

typedef struct ear {
  const gn_synth_spec *spec;
  double listen_s;
  pending *open;
  size_t n_open, open_capacity;
  double *s1, *murmurs[GN_SYNTH_MURMURS_MOST]; // mean squares by beat
  size_t s1_capacity, murmur_capacity[GN_SYNTH_MURMURS_MOST], n_beats;
  double sounds_sum, sounds_n;                 // over S1 and S2
  double gaps[N_NOISES][N_NOISES], gaps_n;     // products of noises between the sounds
  double length_sum[2];
} ear;

static int want(ear *e, double from_s, double to_s, int kind, size_t index) {
  if (to_s <= from_s || to_s > e->listen_s) return 0;
  if (gn_grow((void **)&e->open, &e->open_capacity, e->n_open + 1, sizeof *e->open)) return -1;
  const double fs = e->spec->rate_hz;
  e->open[e->n_open++] = (pending){(int64_t)ceil(from_s * fs), (int64_t)ceil(to_s * fs), kind, index};
  return 0;
}

static int hear_beat(void *context, const laid_beat *laid) {
  ear *e = context;
  const size_t at = e->n_beats++;
  if (gn_grow((void **)&e->s1, &e->s1_capacity, e->n_beats, sizeof *e->s1)) return -1;
  e->s1[at] = 0;
  for (size_t i = 0; i < e->spec->n_murmurs; i++) {
    if (gn_grow((void **)&e->murmurs[i], &e->murmur_capacity[i], e->n_beats, sizeof(double))) return -1;
    e->murmurs[i][at] = 0;
    if (want(e, laid->murmurs[i].start_s, laid->murmurs[i].end_s, GATHER_MURMUR, at * GN_SYNTH_MURMURS_MOST + i)) return -1;
  }
  const gn_synth_sound *s1 = &laid->sounds[0], *s2 = &laid->sounds[1];
  e->length_sum[0] += s1->end_s - s1->onset_s;
  e->length_sum[1] += s2->end_s - s2->onset_s;
  for (int k = 0; k < laid->n_sounds; k++) {
    const double next_s = k + 1 < laid->n_sounds ? laid->sounds[k + 1].onset_s : laid->b.s1_s + laid->b.interval_s;
    if (want(e, laid->sounds[k].end_s, next_s, GATHER_GAP, at)) return -1;
  }
  return want(e, s1->onset_s, s1->end_s, GATHER_S1, at) || want(e, s2->onset_s, s2->end_s, GATHER_S2, at);
}

static double square_sum(const float *x, size_t n) {
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += (double)x[i] * (double)x[i];
  return sum;
}

static void gather_noise(ear *e, float *const parts[], size_t from, size_t n) {
  for (int a = 0; a < N_NOISES; a++) {
    const float *x = parts[FIRST_NOISE + a];
    for (int b = 0; x && b <= a; b++) {
      const float *y = parts[FIRST_NOISE + b];
      double sum = 0;
      for (size_t i = from; y && i < from + n; i++) sum += (double)x[i] * (double)y[i];
      e->gaps[a][b] += sum;
    }
  }
  e->gaps_n += (double)n;
}

static void gather(ear *e, const pending *p, float *const parts[], size_t from, size_t n) {
  const double sum = p->kind == GATHER_GAP ? 0 : square_sum(parts[PART_HEART] + from, n);
  const double whole_n = (double)(p->to_n - p->from_n);
  if (p->kind == GATHER_GAP) gather_noise(e, parts, from, n);
  if (p->kind == GATHER_S1) e->s1[p->index] += sum / whole_n;
  if (p->kind == GATHER_MURMUR) {
    const size_t i = p->index % GN_SYNTH_MURMURS_MOST;
    e->murmurs[i][p->index / GN_SYNTH_MURMURS_MOST] += square_sum(parts[PART_MURMUR + i] + from, n) / whole_n;
    return;
  }
  if (p->kind == GATHER_GAP) return;
  e->sounds_sum += sum;
  e->sounds_n += (double)n;
}

// Give every open span its share of the block and close those that are done.
static void gather_block(ear *e, float *const parts[], int64_t start_n) {
  size_t kept = 0;
  for (size_t k = 0; k < e->n_open; k++) {
    const pending *p = &e->open[k];
    const int64_t from = p->from_n > start_n ? p->from_n : start_n;
    const int64_t to = p->to_n < start_n + BLOCK_N ? p->to_n : start_n + BLOCK_N;
    if (to > from) gather(e, p, parts, (size_t)(from - start_n), (size_t)(to - from));
    if (p->to_n > start_n + BLOCK_N) e->open[kept++] = *p;
  }
  e->n_open = kept;
}

// Median over beats of the murmur's mean square against S1's.
static double murmur_ratio(const ear *e, size_t i) {
  double *ratio = gn_new(e->n_beats, sizeof *ratio);
  if (!ratio) return -1;
  size_t n = 0;
  for (size_t k = 0; k < e->n_beats; k++)
    if (e->s1[k] > 0 && e->murmurs[i][k] > 0) ratio[n++] = e->murmurs[i][k] / e->s1[k];
  const double median = n ? gn_median(ratio, n) : 0;
  gn_free(ratio);
  return median;
}

// How loud each noise is against the others, in power; drawn, so that no two recordings mix alike.
static void noise_gains(const ear *e, levels *out) {
  static const double SHARE[N_NOISES] = {1.0, 0.8, 0.35, 0.7, 0.8, 0.10}; // breath, gut, hum, voice, wind, sensor
  gn_random r = gn_synth_stream(e->spec->seed, STREAM_ROOM);
  double weight[N_NOISES], total = 0;
  for (int a = 0; a < N_NOISES; a++) {
    const double share = SHARE[a] * gn_synth_spread(&r, 0.5);
    weight[a] = e->gaps[a][a] > 0 ? sqrt(share * e->gaps_n / e->gaps[a][a]) : 0;
  }
  for (int a = 0; a < N_NOISES; a++)
    for (int b = 0; b <= a; b++) total += (a == b ? 1 : 2) * weight[a] * weight[b] * e->gaps[a][b];
  const double noise = e->gaps_n > 0 ? total / e->gaps_n : 0, sounds = e->sounds_n > 0 ? e->sounds_sum / e->sounds_n : 0;
  const double gain = noise > 0 && sounds > 0 ? sqrt(sounds * gn_from_db(-e->spec->snr_db) / noise) : 1e-3;
  for (int a = 0; a < N_NOISES; a++) out->gain[FIRST_NOISE + a] = gain * weight[a];
}

static int conclude(const ear *e, levels *out) {
  out->gain[PART_HEART] = 1;
  out->gain[PART_TOUCH] = out->heart_peak;
  for (size_t i = 0; i < e->spec->n_murmurs; i++) {
    const double ratio = murmur_ratio(e, i);
    if (ratio < 0) return -1;
    out->gain[PART_MURMUR + i] = ratio > 0 ? sqrt(gn_from_db(e->spec->murmurs[i].level_db) / ratio) : 0.1;
  }
  noise_gains(e, out);
  const double n = e->n_beats ? (double)e->n_beats : 1;
  out->s1_length_s = e->length_sum[0] / n;
  out->s2_length_s = e->length_sum[1] / n;
  return 0;
}

typedef struct strip { recorder recorder; muffle muffle; biquad low[2], high[2]; } strip;

// Fourth-order Butterworth at both ends of the band.
static strip strip_of(const gn_synth_spec *spec) {
  strip s = {.recorder = gn_synth_recorder_of(spec), .muffle = gn_synth_muffle_of(spec)};
  static const double Q[2] = {0.54119610014619698, 1.3065629648763766};
  for (int k = 0; k < 2; k++) {
    s.low[k] = gn_synth_high_pass(spec->rate_hz, BAND_HZ[0], Q[k]);
    s.high[k] = gn_synth_low_pass(spec->rate_hz, BAND_HZ[1], Q[k]);
  }
  return s;
}

static void strip_run(strip *s, const gn_synth_spec *spec, int part, float *x, levels *out) {
  if (spec->muffled && gn_synth_part_is_body(part)) gn_synth_muffle_run(&s->muffle, x, BLOCK_N);
  gn_synth_recorder_run(&s->recorder, x, BLOCK_N);
  if (part == PART_HEART)
    for (size_t i = 0; i < BLOCK_N; i++) out->heart_peak = fmax(out->heart_peak, fabs((double)x[i]));
  for (int k = 0; k < 2; k++) {
    gn_synth_filter(&s->low[k], x, BLOCK_N);
    gn_synth_filter(&s->high[k], x, BLOCK_N);
  }
}

static int listen(gn_synth_engine *engine, ear *e, float *store, levels *out) {
  strip strips[N_PARTS];
  float *parts[N_PARTS] = {0};
  for (int k = 0; k < N_PARTS; k++) {
    strips[k] = strip_of(e->spec);
    if (k != PART_TOUCH && gn_synth_engine_has(engine, k)) parts[k] = store + (size_t)k * BLOCK_N;
  }
  spans bad = {0};
  const double until_n = e->listen_s * e->spec->rate_hz;
  int failed = 0;
  for (int64_t at = 0; (double)at < until_n && !failed; at += BLOCK_N) {
    const float *raw[N_PARTS];
    failed = gn_synth_engine_block(engine, raw, &bad, hear_beat, e);
    for (int k = 0; k < N_PARTS && !failed; k++) {
      if (!parts[k]) continue;
      memcpy(parts[k], raw[k], BLOCK_N * sizeof(float));
      strip_run(&strips[k], e->spec, k, parts[k], out);
    }
    if (!failed) gather_block(e, parts, at);
  }
  gn_free(bad.items);
  return failed;
}

int gn_synth_calibrate(const gn_synth_spec *spec, const animal *a, levels *out) {
  *out = (levels){0};
  ear e = {.spec = spec, .listen_s = fmin(fmax(spec->seconds, LISTEN_LEAST_S), LISTEN_S)};
  gn_synth_engine *engine = gn_synth_engine_new(spec, a);
  float *store = gn_new((size_t)N_PARTS * BLOCK_N, sizeof *store);
  const int failed = !engine || !store || listen(engine, &e, store, out) || conclude(&e, out);
  gn_synth_engine_free(engine);
  gn_free(store);
  gn_free(e.open);
  gn_free(e.s1);
  for (int i = 0; i < GN_SYNTH_MURMURS_MOST; i++) gn_free(e.murmurs[i]);
  return failed ? -1 : 0;
}
