// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/engine.h"

#include <math.h>

// A recorder: a high-pass, a resonance and a roll-off, each its own. All choices.
recorder gn_synth_recorder_of(const gn_synth_spec *spec) {
  gn_random r = gn_synth_stream(spec->seed, STREAM_RECORDER);
  const double fs = spec->rate_hz, high_hz = gn_synth_between(&r, 5, 14), mild_hz = gn_synth_between(&r, 60, 260);
  const double mild_db = gn_synth_between(&r, -2, 3.5), low_hz = gn_synth_between(&r, 650, 1400);
  const bool marked = spec->resonance_hz > 0;
  return (recorder){gn_synth_high_pass(fs, high_hz, 0.6),
                    gn_synth_peak(fs, marked ? spec->resonance_hz : mild_hz, marked ? 3.5 : 1.2, marked ? 11 : mild_db),
                    gn_synth_low_pass(fs, low_hz, 0.65)};
}

void gn_synth_recorder_run(recorder *r, float *x, size_t n) {
  gn_synth_filter(&r->high, x, n);
  gn_synth_filter(&r->bump, x, n);
  gn_synth_filter(&r->low, x, n);
}

muffle gn_synth_muffle_of(const gn_synth_spec *spec) {
  return (muffle){gn_synth_low_pass(spec->rate_hz, 90, 0.6), gn_synth_low_pass(spec->rate_hz, 180, 0.6)};
}

void gn_synth_muffle_run(muffle *m, float *x, size_t n) {
  gn_synth_filter(&m->first, x, n);
  gn_synth_filter(&m->second, x, n);
}

bool gn_synth_part_is_body(int part) { return part <= PART_GUT; }
