// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Results with beats laid at given intervals.
#ifndef TESTS_RHYTHM_BEATS_H
#define TESTS_RHYTHM_BEATS_H

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "rhythm/rhythm.h"

static inline girthline_result *with_beats(const double *onsets_s, size_t n, double to_s) {
  girthline_result *r = gn_result_new();
  r->settings.species_assumed = false;
  r->recording.from_s = 0;
  r->recording.to_s = r->recording.duration_s = to_s;
  r->beats = gn_new(n, sizeof *r->beats);
  r->n_beats = n;
  for (size_t i = 0; i < n; i++)
    r->beats[i] = (girthline_beat){.s1_onset_s = onsets_s[i], .s2_onset_s = onsets_s[i] + 0.2, .confidence = 0.95f, .name_confidence = 0.95f};
  return r;
}

/// Beats at start_s and after each interval (ms); n <= 2000.
static inline girthline_result *with_intervals_ms(const double *ms, size_t n, double start_s) {
  double onsets_s[2001];
  onsets_s[0] = start_s;
  for (size_t i = 0; i < n; i++) onsets_s[i + 1] = onsets_s[i] + ms[i] / 1000;
  return with_beats(onsets_s, n + 1, onsets_s[n] + 0.5);
}

static inline girthline_pattern pattern_of(const double *ms, size_t n, double jitter_ms) {
  girthline_result *r = with_intervals_ms(ms, n, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, jitter_ms), GIRTHLINE_OK);
  const girthline_pattern pattern = r->rhythm.pattern;
  girthline_result_free(r);
  return pattern;
}

static inline const char *reason_of(const girthline_result *r, const char *pointer) {
  for (size_t i = 0; i < r->n_undetermined; i++)
    if (!strcmp(r->undetermined[i].pointer, pointer)) return r->undetermined[i].reason;
  return NULL;
}

/// One spoilt span and no other.
static inline void spoil(girthline_result *r, double from_s, double to_s, girthline_problem_kind kind) {
  r->quality.problems = gn_new(1, sizeof *r->quality.problems);
  r->quality.problems[0] = (girthline_problem){{from_s, to_s}, kind};
  r->quality.n_problems = 1;
}

#endif
