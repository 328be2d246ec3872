// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A synthetic recording into files.
#ifndef GN_SYNTH_WRITE_H
#define GN_SYNTH_WRITE_H

#include <stdbool.h>

#include "synth/synth.h"

typedef struct gn_synth_files {
  const char *wav;   ///< 16-bit PCM
  const char *truth; ///< NULL: not wanted. `time_s,sound`, S1 to S4
  const char *facts; ///< NULL: not wanted. JSON
  bool force;        ///< replace files this program did not write
  bool (*stop)(void); ///< NULL or asked between blocks; true stops with GIRTHLINE_INTERRUPTED
} gn_synth_files;

/// Make the recording and write it. Files are written beside their place and renamed when whole; nothing is left behind
/// on an error. A file that is there is replaced only if this program wrote it (the WAV says so in its software tag,
/// the facts in their first key; a truth file only if it would stay the same) or with force.
/// GIRTHLINE_BAD_ARGUMENT, _CANNOT_WRITE, _NO_MEMORY, _INTERRUPTED.
girthline_status gn_synth_write(const gn_synth_spec *spec, const gn_synth_files *files, girthline_error *error);

#endif
