// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Slower with the pitch kept: windowed pieces laid at a wider spacing, each taken from where it best continues the
// one before (waveform-similarity overlap-add, Verhelst and Roelands 1993, ICASSP 2:554).
#include "report/sound.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/error.h"
#include "base/maths.h"
#include "base/memory.h"

#define PIECE_S 0.080  ///< about two periods of the lowest tone of a heart sound (25 Hz)
#define SEARCH_S 0.012 ///< half a period of 40 Hz to either side
#define STRIDE 4       ///< every fourth sample and shift is looked at: at 8000 Hz a fifth of a period of 400 Hz
#define LANES 8        ///< sums side by side, for speed

// The sound with silence before and after, and the same dealt out so that every fourth sample lies beside the next.
typedef struct source {
  float *samples, *dealt;
  size_t n, before, n_dealt;
} source;

static const float *dealt_at(const source *s, ptrdiff_t i) {
  const size_t at = (size_t)(i + (ptrdiff_t)s->before);
  return s->dealt + at % STRIDE * s->n_dealt + at / STRIDE;
}

static bool source_init(source *s, const gn_sound *sound, size_t before, size_t after) {
  s->n = sound->n + before + after;
  s->before = before;
  s->n_dealt = s->n / STRIDE + 1;
  s->samples = gn_new(s->n_dealt * STRIDE, sizeof *s->samples);
  s->dealt = gn_new(s->n_dealt * STRIDE, sizeof *s->dealt);
  if (!s->samples || !s->dealt) return false;
  memcpy(s->samples + before, sound->samples, sound->n * sizeof *s->samples);
  for (size_t i = 0; i < s->n; i++) s->dealt[i % STRIDE * s->n_dealt + i / STRIDE] = s->samples[i];
  return true;
}

static void source_clear(source *s) {
  gn_free(s->samples);
  gn_free(s->dealt);
}

// How well the piece at `b` follows on as the piece at `a` would: correlation over energy.
static double likeness(const float *a, const float *b, size_t n) {
  float cross[LANES] = {0}, energy[LANES] = {0};
  for (size_t i = 0; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) {
      cross[k] += a[i + k] * b[i + k];
      energy[k] += b[i + k] * b[i + k];
    }
  double sum = 0, square = 1e-12;
  for (size_t k = 0; k < LANES; k++) {
    sum += (double)cross[k];
    square += (double)energy[k];
  }
  return sum / sqrt(square);
}

static ptrdiff_t best_start(const source *s, ptrdiff_t wanted, ptrdiff_t follows, ptrdiff_t n, ptrdiff_t reach) {
  const float *like = dealt_at(s, follows);
  const size_t n_dealt = (size_t)(n / STRIDE);
  ptrdiff_t best = wanted;
  double most = likeness(like, dealt_at(s, wanted), n_dealt);
  for (ptrdiff_t shift = STRIDE; shift <= reach; shift += STRIDE)
    for (int side = -1; side <= 1; side += 2) {
      const double score = likeness(like, dealt_at(s, wanted + side * shift), n_dealt);
      if (score <= most * (1 + 1e-9)) continue;
      most = score;
      best = wanted + side * shift;
    }
  return best;
}

girthline_status gn_sound_slow(const gn_sound *sound, double factor, gn_sound *out, girthline_error *error) {
  const ptrdiff_t half = (ptrdiff_t)lround(PIECE_S * sound->rate_hz / 2), reach = (ptrdiff_t)lround(SEARCH_S * sound->rate_hz);
  *out = (gn_sound){.rate_hz = sound->rate_hz, .start_s = sound->start_s};
  if (!sound->n || half < 2) return GIRTHLINE_OK;
  const size_t n = (size_t)((double)sound->n * factor);
  source s = {0};
  double *window = gn_new((size_t)half * 2, sizeof *window);
  out->samples = gn_new(n + 1, sizeof *out->samples);
  if (!source_init(&s, sound, (size_t)(2 * half + reach), (size_t)(6 * half + reach)) || !out->samples || !window) { // as far as a piece can reach
    gn_free(window);
    source_clear(&s);
    gn_sound_clear(out);
    return gn_error_memory(error, "report");
  }
  out->n = n;
  for (size_t i = 0; i < 2 * (size_t)half; i++) window[i] = gn_hann(i, 2 * (size_t)half);
  ptrdiff_t from = -half;
  for (ptrdiff_t to = -half; to < (ptrdiff_t)n; to += half) {
    const float *piece = s.samples + s.before + from;
    for (ptrdiff_t i = 0; i < 2 * half; i++)
      if (to + i >= 0 && to + i < (ptrdiff_t)n) out->samples[to + i] += (float)(window[i] * (double)piece[i]);
    const ptrdiff_t wanted = (ptrdiff_t)((double)(to + 2 * half) / factor) - half;
    from = best_start(&s, wanted, from + half, half, reach); // over the half that is laid over the piece before
  }
  gn_free(window);
  source_clear(&s);
  return GIRTHLINE_OK;
}

girthline_status gn_sound_transpose(const gn_sound *sound, double factor, gn_sound *out, girthline_error *error) {
  gn_sound slow = {0};
  girthline_status status = gn_sound_slow(sound, factor, &slow, error);
  if (!status) status = gn_sound_raise(&slow, factor, out, error);
  gn_sound_clear(&slow);
  return status;
}

girthline_status gn_sound_raise(const gn_sound *slow, double factor, gn_sound *out, girthline_error *error) {
  const girthline_status status = gn_sound_resample(slow, slow->rate_hz / factor, out, error);
  if (!status) out->rate_hz = slow->rate_hz;
  return status;
}
