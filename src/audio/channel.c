// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The choice of a channel: the one that beats. Louder is not better (a loose plug hums), so only the shape of the
// envelope counts: how well its logarithm repeats after one beat, stretch by stretch, since the next beats may come later or sooner.
#include <math.h>
#include <string.h>

#include "audio/decimate.h"
#include "audio/internal.h"
#include "base/error.h"
#include "base/maths.h"
#include "base/memory.h"

static const double LOOK_S = 60;                  // as the header says
static const double BAND_HZ[2] = {30, 120};       // as the header says: S1 and S2 of every species are strong in it
static const double HOP_S = 0.01, SMOOTH_S = 0.08; // a choice: about a sound's length, longer than two periods of the band's lower end
static const double LAG_S[2] = {0.25, 2.5};       // 24 to 240 beats a minute
static const double SLOW_S = 5;                   // swells slower than this (breathing, handling) are taken out
// Two beats of the slowest rate; and by how much an envelope may move before more of it says nothing. Choices, on 800 simulated pairs of a
// heart and its room (voices, breath, gut, handling, wind), of which three are exchanged; of 400 others one is.
static const double REPEAT_S = 5, FULL_SD_DB = 12;
static const double SILENT_RATIO = 1e-8;          // a stretch 80 dB under the loudest one is silent
static const double STRETCH_S = 3;                // holds at least one beat of a resting horse
static const double SOUND_ALONE = 1e-3;           // so that any sound goes before silence

// Butterworth second-order section, direct form II transposed; bilinear transform with its warping undone.
typedef struct section {
  double b[3], a[2], z[2];
} section;

typedef struct listener {
  gn_decimator *decimator;
  section low, high;
  double sum;
  size_t n_sum;
} listener;

typedef struct chooser {
  gn_audio *audio;
  listener *listeners;
  float *one, *thin;  // one block of a channel; decimated
  float *power;       // channels x n_hops
  size_t n_channels, n_hops, per_hop;
  size_t *n_power;
} chooser;

static section section_of(double corner_hz, double fs_hz, int is_high) {
  const double k = gn_tan(GN_PI * corner_hz / fs_hz), norm = 1 / (1 + sqrt(2) * k + k * k);
  const double b0 = is_high ? norm : k * k * norm;
  return (section){.b = {b0, is_high ? -2 * b0 : 2 * b0, b0}, .a = {2 * (k * k - 1) * norm, (1 - sqrt(2) * k + k * k) * norm}};
}

static double section_step(section *s, double x) {
  const double y = s->b[0] * x + s->z[0];
  s->z[0] = s->b[1] * x - s->a[0] * y + s->z[1];
  s->z[1] = s->b[2] * x - s->a[1] * y;
  return y;
}

static void listen(chooser *c, size_t channel, size_t n_thin) {
  listener *l = &c->listeners[channel];
  for (size_t i = 0; i < n_thin; i++) {
    const double y = section_step(&l->low, section_step(&l->high, (double)c->thin[i]));
    l->sum += y * y;
    if (++l->n_sum < c->per_hop) continue;
    if (c->n_power[channel] < c->n_hops) c->power[channel * c->n_hops + c->n_power[channel]++] = (float)l->sum;
    l->sum = 0;
    l->n_sum = 0;
  }
}

static void hear_block(chooser *c, size_t n) {
  for (size_t ch = 0; ch < c->n_channels; ch++) {
    for (size_t i = 0; i < n; i++) {
      const float x = c->audio->block[i * c->n_channels + ch];
      c->one[i] = fabsf(x) <= GN_AUDIO_SAMPLE_MOST ? x : 0;
    }
    listen(c, ch, gn_decimator_push(c->listeners[ch].decimator, c->one, n, c->thin));
  }
}

// The share of stretches that hold any sound.
static double sounding(const float *power, size_t n, size_t stretch) {
  double loudest = 0;
  size_t n_all = 0, n_loud = 0;
  for (int pass = 0; pass < 2; pass++)
    for (size_t at = 0; at < n; at += stretch) {
      double most = 0;
      for (size_t i = at; i < n && i < at + stretch; i++) most = fmax(most, (double)power[i]);
      if (pass == 0) loudest = fmax(loudest, most);
      n_all += (size_t)pass;
      if (pass == 1 && most > SILENT_RATIO * loudest) n_loud++;
    }
  return n_all ? (double)n_loud / (double)n_all : 0;
}

// Sum over i-half .. i+half within 0 .. n-1, divided by their number; out may not be in.
static void smooth(const float *in, size_t n, size_t half, float *out) {
  double sum = 0;
  size_t from = 0, to = 0;
  for (size_t i = 0; i < n; i++) {
    for (; to < n && to <= i + half; to++) sum += (double)in[to];
    for (; from + half < i; from++) sum -= (double)in[from];
    out[i] = (float)(sum / (double)(to - from));
  }
}

static double correlation(const float *x, size_t n, size_t lag_n) {
  double sum = 0;
  for (size_t i = 0; i + lag_n < n; i++) sum += (double)x[i] * (double)x[i + lag_n];
  return sum;
}

// How far the autocorrelation rises again after its lowest place: a swell that only fades is no beat.
static double clarity(const float *level, size_t n, double hop_s) {
  const double zero = correlation(level, n, 0);
  const size_t first = (size_t)(LAG_S[0] / hop_s), last = (size_t)(LAG_S[1] / hop_s);
  if (!(zero > 0)) return 0;
  double best = 0, lowest = zero;
  for (size_t lag = first / 2; lag <= last && lag < n / 2; lag++) {
    const double here = correlation(level, n, lag);
    lowest = fmin(lowest, here);
    if (lag >= first) best = fmax(best, (here - lowest) / zero);
  }
  return best * fmin(1, sqrt(zero / (double)n) / FULL_SD_DB);
}

// The mean over stretches that overlap by half; over all of it where it is no longer than one.
static double mean_clarity(const float *level, size_t n, double hop_s) {
  const size_t most = (size_t)(REPEAT_S / hop_s), stretch = most < n ? most : n, step = stretch / 2 + 1;
  double sum = 0;
  size_t n_sum = 0;
  for (size_t at = 0; at + stretch <= n; at += step, n_sum++) sum += clarity(level + at, stretch, hop_s);
  return sum / (double)n_sum;
}

static double score(chooser *c, size_t channel, float *work, float *level) {
  float *power = c->power + channel * c->n_hops;
  const size_t n = c->n_power[channel];
  const double hop_s = LOOK_S / (double)c->n_hops, share = sounding(power, n, (size_t)(STRETCH_S / hop_s));
  double sum = 0;
  smooth(power, n, (size_t)(SMOOTH_S / hop_s / 2), work);
  for (size_t i = 0; i < n; i++) sum += (double)work[i];
  if (!(sum > 0)) return 0;
  const double floor_power = 1e-6 * sum / (double)n; // 60 dB under the mean: digital silence between beats has a level
  for (size_t i = 0; i < n; i++) level[i] = (float)gn_db((double)work[i] + floor_power);
  smooth(level, n, (size_t)(SLOW_S / hop_s / 2), work);
  for (size_t i = 0; i < n; i++) level[i] -= work[i];
  return share * (SOUND_ALONE + mean_clarity(level, n, hop_s));
}

static int chooser_init(chooser *c, gn_audio *audio) {
  const double fs_hz = audio->recording.sample_rate_hz;
  *c = (chooser){.audio = audio, .n_channels = (size_t)audio->info.channels};
  c->listeners = gn_new(c->n_channels, sizeof *c->listeners);
  c->one = gn_new(GN_AUDIO_BLOCK, sizeof *c->one);
  c->thin = gn_new(GN_AUDIO_BLOCK + 1, sizeof *c->thin);
  c->n_power = gn_new(c->n_channels, sizeof *c->n_power);
  if (!c->listeners || !c->one || !c->thin || !c->n_power) return -1;
  for (size_t ch = 0; ch < c->n_channels; ch++) {
    listener *l = &c->listeners[ch];
    if (!(l->decimator = gn_decimator_new(fs_hz))) return -1;
    const double thin_hz = gn_decimator_fs_hz(l->decimator);
    l->high = section_of(BAND_HZ[0], thin_hz, 1);
    l->low = section_of(BAND_HZ[1], thin_hz, 0);
    c->per_hop = (size_t)floor(thin_hz * HOP_S + 0.5);
    c->n_hops = (size_t)floor(LOOK_S * thin_hz / (double)c->per_hop);
  }
  c->power = gn_new(c->n_channels * c->n_hops + 2 * c->n_hops, sizeof *c->power);
  return c->power ? 0 : -1;
}

static void chooser_clear(chooser *c) {
  for (size_t ch = 0; c->listeners && ch < c->n_channels; ch++) gn_decimator_free(c->listeners[ch].decimator);
  gn_free(c->listeners);
  gn_free(c->one);
  gn_free(c->thin);
  gn_free(c->power);
  gn_free(c->n_power);
}

static size_t best_channel(chooser *c) {
  float *work = c->power + c->n_channels * c->n_hops, *level = work + c->n_hops;
  size_t best = 0;
  double best_score = score(c, 0, work, level);
  for (size_t ch = 1; ch < c->n_channels; ch++) {
    const double s = score(c, ch, work, level);
    if (s > best_score) {
      best = ch;
      best_score = s;
    }
  }
  return best;
}

void gn_audio_take_channel(gn_audio *audio, int channel) {
  audio->recording.channel_used = channel;
  audio->channel = (size_t)channel - 1;
}

girthline_status gn_audio_choose_channel(gn_audio *audio, size_t first, size_t end, girthline_error *error) {
  girthline_status status = gn_audio_seek(audio, first, error);
  gn_audio_take_channel(audio, 1);
  if (audio->info.channels == 1) return status;
  chooser c;
  if (chooser_init(&c, audio)) status = gn_error_memory(error, "audio");
  size_t left = (size_t)(LOOK_S * audio->recording.sample_rate_hz);
  if (end - first < left) left = end - first;
  for (size_t n = 1; !status && n && left; left -= n) hear_block(&c, n = gn_audio_read_frames(audio, audio->block, left < GN_AUDIO_BLOCK ? left : GN_AUDIO_BLOCK));
  if (!status) {
    gn_audio_take_channel(audio, (int)best_channel(&c) + 1);
    status = gn_audio_seek(audio, first, error);
  }
  chooser_clear(&c);
  return status;
}
