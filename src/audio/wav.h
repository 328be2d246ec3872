// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A recording written: mono, 16-bit PCM WAV. The same samples give the same bytes.
#ifndef GN_AUDIO_WAV_H
#define GN_AUDIO_WAV_H

#include <stddef.h>

#include <girthline/status.h>

/// Write n samples (full scale 1; beyond it they are clipped, a NaN becomes 0) at fs_hz (rounded to a whole number,
/// 1 to 1000000). Written beside `path` and renamed, so that a failure leaves nothing and touches nothing.
/// Errors: BAD_ARGUMENT (rate), LIMIT (over 2 GiB), CANNOT_WRITE.
girthline_status gn_wav_write_path(const char *path, const float *samples, size_t n, double fs_hz, girthline_error *error);

#endif
