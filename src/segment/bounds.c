// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/bounds.h"

#include <math.h>
#include <stdbool.h>

#include "base/result.h"

static bool is_in(const girthline_span *spans, size_t n, double at_s) {
  for (size_t i = 0; i < n; i++)
    if (spans[i].start_s <= at_s && at_s < spans[i].end_s) return true;
  return false;
}

static void end_by(float *peak_s, float *offset_s, double most_s) {
  if (!((double)*offset_s > most_s)) return;
  *offset_s = (float)most_s;
  *peak_s = fminf(*peak_s, *offset_s);
}

static void forget_s2(girthline_beat *b) {
  b->s2_onset_s = (double)NAN;
  b->s2_peak_s = b->s2_offset_s = NAN;
}

// next_s: where the next beat begins, or the window ends.
static void part(girthline_beat *b, double next_s) {
  end_by(&b->s1_peak_s, &b->s1_offset_s, fmin(b->s2_onset_s, next_s) - b->s1_onset_s);
  end_by(&b->s2_peak_s, &b->s2_offset_s, next_s - b->s2_onset_s);
}

size_t gn_beats_bound(girthline_beat *beats, size_t n, const gn_signal *window, const girthline_span *hidden, size_t n_hidden) {
  const double end_s = window->start_s + ((double)window->n - 1) / window->fs_hz; // the last sample
  size_t kept = 0;
  for (size_t i = 0; i < n; i++) {
    girthline_beat b = beats[i];
    const double next_s = i + 1 < n ? fmin(gn_result_beat_s(&beats[i + 1]), end_s) : end_s;
    if (b.s2_onset_s <= b.s1_onset_s || !(b.s2_onset_s < next_s) || is_in(hidden, n_hidden, b.s2_onset_s)) forget_s2(&b);
    const double at_s = gn_result_beat_s(&b);
    if (!(at_s < next_s) || is_in(hidden, n_hidden, at_s)) { // left out, not guessed
      if (kept) beats[kept - 1].unbroken = GN_BROKEN;
      continue;
    }
    part(&b, next_s);
    beats[kept++] = b;
  }
  return kept;
}
