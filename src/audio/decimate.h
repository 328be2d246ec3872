// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// From the recording's rate to an analysis rate near 2 kHz: a linear-phase anti-alias filter with its delay taken out.
#ifndef GN_AUDIO_DECIMATE_H
#define GN_AUDIO_DECIMATE_H

#include <stddef.h>

typedef struct gn_decimator gn_decimator;

/// fs_hz 1000 to 200000. Rates up to 3000 Hz pass unchanged (factor 1); others are divided by the whole number that
/// comes nearest to 2000 Hz. Pass band flat within 0.1 dB to 700 Hz; what would alias below 700 Hz is at least 80 dB
/// down. Output sample k is the signal at k * factor / fs_hz, whatever the block sizes (outside the recording: zero).
gn_decimator *gn_decimator_new(double fs_hz);
void gn_decimator_free(gn_decimator *d); ///< accepts NULL

size_t gn_decimator_factor(const gn_decimator *d);
double gn_decimator_fs_hz(const gn_decimator *d); ///< the analysis rate

/// Push n samples; writes and returns the number of outputs that are complete. out: room for n / factor + 1.
size_t gn_decimator_push(gn_decimator *d, const float *in, size_t n, float *out);

/// The outputs still inside, at the end of the recording. out: room for what gn_decimator_tail says.
size_t gn_decimator_finish(gn_decimator *d, float *out);
size_t gn_decimator_tail(const gn_decimator *d);

#endif
