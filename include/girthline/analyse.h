// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// From a recording to a result.
#ifndef GIRTHLINE_ANALYSE_H
#define GIRTHLINE_ANALYSE_H

#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Analyse a file: at most a week of sound at once (GIRTHLINE_LIMIT). settings may be NULL (defaults). On GIRTHLINE_OK *out is owned by the caller.
girthline_status girthline_analyse_file(const char *path, const girthline_settings *settings, girthline_result **out, girthline_error *error);

/// The same for a whole audio file held in memory; name is used in messages. data must outlive the call.
girthline_status girthline_analyse_memory(const void *data, size_t n_bytes, const char *name, const girthline_settings *settings,
                                          girthline_result **out, girthline_error *error);

#ifdef __cplusplus
}
#endif
#endif
