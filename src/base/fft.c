// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/fft.h"

#include <kiss_fftr.h>

#include "base/memory.h"

static const size_t N_MOST = (size_t)1 << 28; // the FFT library counts in int

struct gn_fft {
  size_t n;
  kiss_fftr_cfg forward, inverse;
  kiss_fft_cpx *bins;
};

size_t gn_fft_size(size_t at_least) {
  if (at_least < 2) at_least = 2;
  if (at_least > N_MOST) return at_least; // gn_fft_new refuses it
  return (size_t)kiss_fftr_next_fast_size_real((int)at_least);
}

gn_fft *gn_fft_new(size_t n) {
  if (n < 2 || n % 2 || n > N_MOST) return NULL;
  gn_fft *fft = gn_new(1, sizeof *fft);
  if (!fft) return NULL;
  fft->n = n;
  fft->forward = kiss_fftr_alloc((int)n, 0, NULL, NULL);
  fft->inverse = kiss_fftr_alloc((int)n, 1, NULL, NULL);
  fft->bins = gn_new(n / 2 + 1, sizeof *fft->bins);
  if (!fft->forward || !fft->inverse || !fft->bins) {
    gn_fft_free(fft);
    return NULL;
  }
  return fft;
}

void gn_fft_free(gn_fft *fft) {
  if (!fft) return;
  kiss_fftr_free(fft->forward);
  kiss_fftr_free(fft->inverse);
  gn_free(fft->bins);
  gn_free(fft);
}

void gn_fft_forward(gn_fft *fft, const float *samples, float *spectrum) {
  kiss_fftr(fft->forward, samples, fft->bins);
  for (size_t k = 0; k <= fft->n / 2; k++) {
    spectrum[2 * k] = fft->bins[k].r;
    spectrum[2 * k + 1] = fft->bins[k].i;
  }
}

void gn_fft_inverse(gn_fft *fft, const float *spectrum, float *samples) {
  const float scale = 1.0f / (float)fft->n;
  for (size_t k = 0; k <= fft->n / 2; k++) {
    fft->bins[k].r = spectrum[2 * k] * scale;
    fft->bins[k].i = spectrum[2 * k + 1] * scale;
  }
  kiss_fftri(fft->inverse, fft->bins, samples);
}

void gn_fft_power(gn_fft *fft, const float *samples, float *power) {
  kiss_fftr(fft->forward, samples, fft->bins);
  for (size_t k = 0; k <= fft->n / 2; k++) power[k] = fft->bins[k].r * fft->bins[k].r + fft->bins[k].i * fft->bins[k].i;
}
