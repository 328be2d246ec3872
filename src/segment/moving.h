// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The part of a sound that moves against the rest of it from beat to beat: the second component of a split sound.
#ifndef GN_SEGMENT_MOVING_H
#define GN_SEGMENT_MOVING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/signal.h"

typedef struct gn_moving gn_moving;

/// What moves. Times are seconds after the onset of the recording's own mean sound.
typedef struct gn_moving_part {
  double beats_fraction;     ///< of the beats kept, those it was read from
  double tenth_s, quarter_s; ///< a tenth and a quarter of what moves (its energy) lie before this
  double onset_s;   ///< where it sets in
  double share;     ///< of all that differs between the beats, that this one movement explains
  double level;     ///< power of the mean sound where it is loudest after onset_s
  double peak;      ///< power of the mean sound where it is loudest
} gn_moving_part;

/// length_s: the sound's usual length, which sets the band it is looked at in. NULL when memory is refused.
gn_moving *gn_moving_new(double length_s);
void gn_moving_free(gn_moving *m); ///< accepts NULL

/// The sound of another beat, with its onset at onset_s; one too near to an end of the window is left out. A bounded number is
/// kept, spread evenly over all that came. -1 when memory is refused.
int gn_moving_add(gn_moving *m, const gn_signal *window, double onset_s);

/// False in *found: too few beats. -1 when memory is refused.
int gn_moving_find(gn_moving *m, gn_moving_part *out, bool *found);

#endif
