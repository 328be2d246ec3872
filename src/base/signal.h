// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A stretch of the decimated recording, as every stage sees it.
#ifndef GN_BASE_SIGNAL_H
#define GN_BASE_SIGNAL_H

#include <stddef.h>

typedef struct gn_signal {
  const float *samples; ///< n samples of the chosen channel, full scale 1
  size_t n;
  double fs_hz;         ///< analysis rate, about 1000 to 3000 Hz
  double start_s;       ///< time of samples[0] from the recording's first sample
} gn_signal;

/// Beyond its ends a signal goes on as if turned about them: the k-th sample, 1 .. n - 1, before x[0] and behind x[n - 1].
static inline float gn_signal_before(const float *x, size_t k) { return 2 * x[0] - x[k]; }
static inline float gn_signal_behind(const float *x, size_t n, size_t k) { return 2 * x[n - 1] - x[n - 1 - k]; }

#endif
