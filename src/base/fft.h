// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Real Fourier transforms. The only place that knows the FFT library; one object per thread.
#ifndef GN_BASE_FFT_H
#define GN_BASE_FFT_H

#include <stddef.h>

typedef struct gn_fft gn_fft;

size_t gn_fft_size(size_t at_least); ///< the next even length that is fast

/// n even, >= 2. NULL when refused.
gn_fft *gn_fft_new(size_t n);
void gn_fft_free(gn_fft *fft); ///< accepts NULL

/// spectrum: n/2 + 1 pairs (real, imaginary), unscaled.
void gn_fft_forward(gn_fft *fft, const float *samples, float *spectrum);

/// The inverse, scaled by 1/n: inverse(forward(x)) = x.
void gn_fft_inverse(gn_fft *fft, const float *spectrum, float *samples);

/// power[k] = |spectrum[k]|^2 for n/2 + 1 bins.
void gn_fft_power(gn_fft *fft, const float *samples, float *power);

#endif
