// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The whole recording as a picture of fixed size: lowest and highest sample by column.
#ifndef GN_AUDIO_OVERVIEW_H
#define GN_AUDIO_OVERVIEW_H

#include <stddef.h>

#include <girthline/result.h>

#include "base/extremes.h"

/// Columns of equal length; when all are full, neighbours merge and the length doubles.
typedef struct gn_overview {
  girthline_pictures *pictures; ///< where the columns go; overview_step_s is kept right all along
  double fs_hz;
  size_t per_column_n, in_column_n;
} gn_overview;

/// expected_s: about how long the recording will be (NaN: unknown); only decides the first column length.
gn_overview gn_overview_of(girthline_pictures *pictures, double fs_hz, double expected_s);
/// swing: of all n, which nearly always lie in one column.
void gn_overview_push(gn_overview *o, const float *samples, size_t n, gn_swing swing);

#endif
