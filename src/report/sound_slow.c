// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Slower with the pitch kept: windowed pieces laid at a wider spacing, each taken from where it best continues the
// one before (waveform-similarity overlap-add, Verhelst and Roelands 1993, ICASSP 2:554).
#include "report/sound.h"

#include <math.h>

#include "base/error.h"
#include "base/maths.h"
#include "base/memory.h"

#define PIECE_S 0.080  ///< about two periods of the lowest tone of a heart sound (25 Hz)
#define SEARCH_S 0.012 ///< half a period of 40 Hz to either side
#define STRIDE 4       ///< every fourth sample and shift is looked at: at 8000 Hz a fifth of a period of 400 Hz

static double at(const gn_sound *s, ptrdiff_t i) { return i >= 0 && (size_t)i < s->n ? (double)s->samples[i] : 0; }

// How well the piece at `b` follows on as the piece at `a` would: correlation over energy.
static double likeness(const gn_sound *s, ptrdiff_t a, ptrdiff_t b, ptrdiff_t n) {
  double cross = 0, energy = 1e-12;
  for (ptrdiff_t i = 0; i < n; i += STRIDE) {
    const double y = at(s, b + i);
    cross += at(s, a + i) * y;
    energy += y * y;
  }
  return cross / sqrt(energy);
}

static ptrdiff_t best_start(const gn_sound *s, ptrdiff_t wanted, ptrdiff_t follows, ptrdiff_t n, ptrdiff_t reach) {
  ptrdiff_t best = wanted;
  double most = likeness(s, follows, wanted, n);
  for (ptrdiff_t shift = STRIDE; shift <= reach; shift += STRIDE)
    for (int side = -1; side <= 1; side += 2) {
      const double score = likeness(s, follows, wanted + side * shift, n);
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
  out->samples = gn_new(n + 1, sizeof *out->samples);
  double *window = gn_new((size_t)half * 2, sizeof *window);
  if (!out->samples || !window) {
    gn_free(window);
    gn_sound_clear(out);
    return gn_error_memory(error, "report");
  }
  out->n = n;
  for (ptrdiff_t i = 0; i < 2 * half; i++) window[i] = 0.5 - 0.5 * gn_cos(GN_PI * ((double)i + 0.5) / (double)half);
  ptrdiff_t from = -half;
  for (ptrdiff_t to = -half; to < (ptrdiff_t)n; to += half) {
    for (ptrdiff_t i = 0; i < 2 * half; i++)
      if (to + i >= 0 && to + i < (ptrdiff_t)n) out->samples[to + i] += (float)(window[i] * at(sound, from + i));
    const ptrdiff_t wanted = (ptrdiff_t)((double)(to + 2 * half) / factor) - half;
    from = best_start(sound, wanted, from + half, 2 * half, reach);
  }
  gn_free(window);
  return GIRTHLINE_OK;
}

girthline_status gn_sound_transpose(const gn_sound *sound, double factor, gn_sound *out, girthline_error *error) {
  gn_sound slow = {0};
  girthline_status status = gn_sound_slow(sound, factor, &slow, error);
  if (!status) status = gn_sound_resample(&slow, sound->rate_hz / factor, out, error);
  if (!status) out->rate_hz = sound->rate_hz;
  gn_sound_clear(&slow);
  return status;
}
