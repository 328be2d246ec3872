// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Power spectra of many short signals at once, all of one length: the same steps for each, side by side.
#ifndef GN_BASE_FFT_MANY_H
#define GN_BASE_FFT_MANY_H

#include <stddef.h>

#define GN_FFT_MANY 16 ///< signals at once

typedef struct gn_fft_many gn_fft_many;

/// n even, a product of 2, 3 and 5 (as gn_fft_size gives it), at most 65536. NULL when refused. One object per thread.
gn_fft_many *gn_fft_many_new(size_t n);
void gn_fft_many_free(gn_fft_many *fft); ///< accepts NULL

/// Take in GN_FFT_MANY signals: n samples of each, times its taper; what is not finite counts as 0. They must be taken in anew before every
/// transform.
void gn_fft_many_take(gn_fft_many *fft, const float *const *signals, const float *taper);

/// The n/2 + 1 powers of each, as gn_fft_power's: bin k of a signal at power[k * GN_FFT_MANY + signal]. To the bit, none depends on
/// the other signals.
void gn_fft_many_power(gn_fft_many *fft, float *power);

#endif
