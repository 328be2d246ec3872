// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A file's result and content hash from one reading.
#ifndef GN_CLINIC_HASHED_H
#define GN_CLINIC_HASHED_H

#include <girthline/analyse.h>

/// girthline_analyse_file and girthline_content_hash_path of the same bytes.
girthline_status gn_analyse_hashed(const char *path, const girthline_settings *settings, girthline_result **out, char hash[48], girthline_error *error);

#endif
