// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Where bytes go that are too many to hold.
#ifndef GN_REPORT_SINK_H
#define GN_REPORT_SINK_H

#include <stddef.h>

/// Takes bytes in order; 0, or -1 to stop.
typedef struct gn_sink {
  int (*put)(void *user, const void *bytes, size_t n_bytes);
  void *user;
} gn_sink;

#endif
