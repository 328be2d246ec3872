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

#endif
