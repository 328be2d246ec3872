// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "filter/halve.h"

#include "base/maths.h"
#include "base/memory.h"
#include "base/wide.h"

static const double LEAST_HZ = 1800; // what lies within 270 Hz of half of it is 70 dB down, and the highest band of the heart sounds ends there
// Odd samples to either side. Of a low-pass that ends at a quarter of the rate every other tap is 0; under Blackman's window (Harris 1978) so many
// leave 74 dB.
enum { REACH = 7 };

typedef struct taps { float middle, of[REACH]; } taps;

static taps design(void) {
  taps t = {0};
  double of[REACH], sum = 0.5;
  for (size_t j = 0; j < REACH; j++) {
    const double n = (double)(2 * j + 1), turn = GN_PI * n / (2 * REACH);
    of[j] = (j % 2 ? -1 : 1) / (GN_PI * n) * (0.42 + 0.5 * gn_cos(turn) + 0.08 * gn_cos(2 * turn));
    sum += 2 * of[j];
  }
  t.middle = (float)(0.5 / sum);
  for (size_t j = 0; j < REACH; j++) t.of[j] = (float)(of[j] / sum);
  return t;
}

// The odd samples, and beyond the ends as many as the n even ones reach.
GN_WIDE static void take_odd(const gn_signal *w, size_t n, float *restrict odd) {
  const float *restrict const samples = w->samples;
  const size_t n_odd = w->n / 2;
  for (size_t i = 0; i < n_odd; i++) odd[REACH + i] = samples[2 * i + 1];
  for (size_t i = 0; i < REACH; i++) odd[i] = gn_signal_before(samples, 2 * (REACH - i) - 1);
  for (size_t i = REACH + n_odd; i < n + 2 * REACH - 1; i++) odd[i] = gn_signal_behind(samples, w->n, 2 * (i - REACH) + 2 - w->n);
}

// Every even sample; odd: the others, REACH - 1 of them before the first one's neighbours and behind the last one's.
GN_WIDE static void weigh(const taps *t, const float *restrict samples, const float *restrict odd, size_t n, float *restrict out) {
  for (size_t i = 0; i < n; i++) {
    float sum = t->middle * samples[2 * i];
    for (size_t j = 0; j < REACH; j++) sum += t->of[j] * (odd[i + REACH - 1 - j] + odd[i + REACH + j]);
    out[i] = sum;
  }
}

int gn_halve(const gn_signal *window, gn_signal *out, float **room) {
  *out = *window;
  *room = NULL;
  if (window->fs_hz < LEAST_HZ || window->n <= 2 * REACH) return 0;
  const size_t n = (window->n + 1) / 2, n_odd = n + 2 * REACH - 1;
  float *const x = gn_room(n, sizeof *x), *const odd = gn_room(n_odd, sizeof *odd);
  const bool refused = !x || !odd;
  const taps t = design();
  if (!refused) {
    take_odd(window, n, odd);
    weigh(&t, window->samples, odd, n, x);
  }
  gn_free(odd);
  if (refused) {
    gn_free(x);
    return -1;
  }
  *out = (gn_signal){x, n, window->fs_hz / 2, window->start_s};
  *room = x;
  return 0;
}
