// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Intervals between beats from a file: a real heart's rhythm under simulated sounds.
#ifndef GN_SYNTH_INTERVALS_H
#define GN_SYNTH_INTERVALS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/status.h>

#define GN_SYNTH_INTERVAL_LEAST_S 0.15 ///< a heart at 400 a minute
#define GN_SYNTH_INTERVAL_MOST_S 20.0  ///< longer than any pause told of

typedef struct gn_synth_intervals {
  double *len_s; ///< n of them, GN_SYNTH_INTERVAL_LEAST_S to _MOST_S
  bool *early;   ///< n: the beat that ends the interval comes early
  size_t n;
} gn_synth_intervals;

/// Read a CSV: lines of `#` and empty ones are passed over, then the header `interval_s` or `interval_s,early`, then one
/// interval a line. GIRTHLINE_CANNOT_READ, _BAD_HAND_FILE (with the line), _NO_MEMORY; then *out is empty.
girthline_status gn_synth_intervals_read(const char *path, gn_synth_intervals *out, girthline_error *error);
void gn_synth_intervals_clear(gn_synth_intervals *list); ///< accepts NULL

#endif
