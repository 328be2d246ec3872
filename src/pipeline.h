// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// For the program alone: an analysis that lets somebody see the file's bytes, which are then read once for both.
#ifndef GN_PIPELINE_H
#define GN_PIPELINE_H

#include <girthline/analyse.h>

#include "base/file.h"

/// girthline_analyse_file; on GIRTHLINE_OK every byte of the file has gone to the taker, once and in order.
girthline_status gn_analyse_file_seen(const char *path, const girthline_settings *settings, const gn_file_taker *taker, girthline_result **out,
                                      girthline_error *error);

#endif
