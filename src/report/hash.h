// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The content hash of bytes that somebody else reads.
#ifndef GN_REPORT_HASH_H
#define GN_REPORT_HASH_H

#include <girthline/status.h>

#include "base/file.h"

/// What reads the bytes, and hands them on.
typedef girthline_status gn_hash_reader(void *user, const gn_file_taker *taker, girthline_error *error);

/// As girthline_content_hash_memory, of the bytes that `read` hands on; returns what it does, and out is set on GIRTHLINE_OK.
girthline_status gn_content_hash_of(gn_hash_reader *read, void *user, char out[48], girthline_error *error);

#endif
