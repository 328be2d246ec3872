// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Half the rate for what looks at the heart sounds' own bands alone.
#ifndef GN_FILTER_HALVE_H
#define GN_FILTER_HALVE_H

#include "base/signal.h"

/// Every second sample of the window, flat within 0.01 dB to 270 Hz, below which nothing comes that lay above. *room holds the samples, the caller's to
/// free; NULL where the rate is too low for that, and out is the window itself. 0, or -1 when memory is refused.
int gn_halve(const gn_signal *window, gn_signal *out, float **room);

#endif
