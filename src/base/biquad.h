// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Second-order recursive filter sections, run forwards or, without any delay, forwards and backwards.
#ifndef GN_BASE_BIQUAD_H
#define GN_BASE_BIQUAD_H

#include <stddef.h>

/// y[n] = b0 x[n] + b1 x[n-1] + b2 x[n-2] - a1 y[n-1] - a2 y[n-2].
typedef struct gn_biquad { double b0, b1, b2, a1, a2; } gn_biquad;

/// Most sections in one cascade.
#define GN_BIQUAD_MOST 4

/// Second-order Butterworth by the bilinear transform, exact (-3.0103 dB) at cut_hz. 0 < cut_hz < fs_hz / 2; outside, it
/// is moved to the nearest of 1e-6 fs_hz and 0.4999 fs_hz.
gn_biquad gn_biquad_lowpass(double cut_hz, double fs_hz);
gn_biquad gn_biquad_highpass(double cut_hz, double fs_hz);

/// A band-pass as a cascade: sections[0] the high-pass at low_hz, sections[1] the low-pass at high_hz.
void gn_biquad_bandpass(gn_biquad sections[2], double low_hz, double high_hz, double fs_hz);

/// Two or three sections, one behind the other, causal, over four signals side by side; the first section starts as if its input had been each
/// signal's first sample for ever, the others at rest. in == out is allowed. Never refuses.
void gn_biquad_run_four(const gn_biquad *sections, size_t n_sections, const float *const in[4], float *const out[4], size_t n);

/// The cascade forwards, then backwards: no delay, the attenuation in dB doubled (so -6.02 dB at a cut-off). Both ends are
/// continued by odd reflection for as long as the slowest section rings to 1e-3 (at most n - 1 samples), as scipy's
/// sosfiltfilt does with that padlen. n_sections 1 to GN_BIQUAD_MOST; in == out is allowed; n == 0 does nothing.
/// 0 on success, -1 when memory is refused (out unchanged).
int gn_biquad_zero_phase(const gn_biquad *sections, size_t n_sections, const float *in, float *out, size_t n);

/// gn_biquad_zero_phase of many band-passes (as gn_biquad_bandpass gives them) over one signal, several at a time, and parts of a long one side by side:
/// out[i] takes n samples from bands[i]. It runs in float, but for a single band: of a cut at 20 to 30 Hz and rates of 1 and 2 kHz the outcome
/// differs by 104 dB less than itself. No out may be in. 0 on success, -1 when memory is refused (out may be changed) or one is no such band-pass.
int gn_biquad_zero_phase_bands(const gn_biquad (*bands)[2], size_t n_bands, const float *in, float *const *out, size_t n);

/// The padding gn_biquad_zero_phase uses before the limit of n - 1, samples.
size_t gn_biquad_padding(const gn_biquad *sections, size_t n_sections);

/// |H(f)|^2 of one run (not of forwards and backwards) of the cascade.
double gn_biquad_power_at(const gn_biquad *sections, size_t n_sections, double frequency_hz, double fs_hz);

#endif
