// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What one window of the decimated recording goes through: three stages, which may each be in a thread of its own, with the windows in order.
#ifndef GN_WINDOW_H
#define GN_WINDOW_H

#include <girthline/result.h>
#include <girthline/status.h>

#include "base/features.h"
#include "base/signal.h"
#include "murmur/murmur.h"
#include "quality/quality.h"
#include "segment/extra.h"
#include "segment/peaks.h"
#include "segment/segment.h"

/// What stays from window to window. quality's marks and its hum are the first stage's, its measures the third's; segment, the result's beats and
/// refusal are the second's; extra and murmur the third's. All else only changes where no window is under way.
typedef struct gn_stages {
  girthline_result *result;
  const girthline_profile *profile;
  gn_quality *quality;
  gn_segment *segment;
  gn_extra *extra;
  gn_murmur *murmur;
  size_t beats_capacity; ///< of the result's
  char refusal[120];     ///< why the first window without beats had none; a sentence without its capital and full stop
} gn_stages;

/// One window: what is known of it travels with it. Starts as zeros; samples and quality are its own to free.
typedef struct gn_window {
  float *samples;
  gn_signal sound;           ///< those
  double from_s, to_s;       ///< its beats between these are final
  gn_quality_window *quality;
  girthline_span *spoilt;    ///< where nothing can be measured
  girthline_span *hidden;    ///< of those, where no sound can be heard either: a clipped sound is one still; lies in spoilt's room
  size_t n_spoilt, n_hidden, spoilt_capacity;
  gn_features features;
  gn_peaks peaks;
  girthline_beat *beats;     ///< all of them
  size_t n_beats, beats_capacity;
} gn_window;

void gn_window_clear(gn_window *w);

/// sound, from_s, to_s are set and quality is begun. Each fails only when memory is refused.
girthline_status gn_window_prepare(gn_stages *s, gn_window *w);
girthline_status gn_window_decode(gn_stages *s, gn_window *w);
girthline_status gn_window_measure(gn_stages *s, gn_window *w);

#endif
