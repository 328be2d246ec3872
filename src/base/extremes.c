// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/extremes.h"
#include "base/wide.h"

// So many side by side that a compiler keeps a loop over them, and puts it into vector registers.
enum { LANES = 32 };

static void widen(float value, float *low, float *high) {
  *low = value < *low ? value : *low;
  *high = value > *high ? value : *high;
}

// Static, for two libraries hold this file: what chooses between the two is there once by its name, and each needs its own.
GN_WIDE static void widen_to_hold(const float *restrict x, size_t n, float *restrict low, float *restrict high) {
  float lows[LANES], highs[LANES];
  for (size_t k = 0; k < LANES; k++) lows[k] = *low, highs[k] = *high;
  size_t i = 0;
  for (; i + LANES <= n; i += LANES)
    for (size_t k = 0; k < LANES; k++) {
      lows[k] = x[i + k] < lows[k] ? x[i + k] : lows[k];
      highs[k] = x[i + k] > highs[k] ? x[i + k] : highs[k];
    }
  for (; i < n; i++) widen(x[i], low, high);
  for (size_t half = LANES / 2; half; half /= 2)
    for (size_t k = 0; k < half; k++) {
      lows[k] = lows[k + half] < lows[k] ? lows[k + half] : lows[k];
      highs[k] = highs[k + half] > highs[k] ? highs[k + half] : highs[k];
    }
  widen(lows[0], low, high);
  widen(highs[0], low, high);
}

void gn_extremes(const float *x, size_t n, float *low, float *high) { widen_to_hold(x, n, low, high); }
