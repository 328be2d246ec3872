// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The seam to the examination file: a file written by hand becomes girthline.exam.v1.
#ifndef GN_CLINIC_VISITS_FROM_FILE_H
#define GN_CLINIC_VISITS_FROM_FILE_H

#include <girthline/status.h>

/// Analyse the examination written in `path`; the caller frees *json with gn_free. A recording that cannot be read is kept
/// with its reason as long as one could; where none could, GIRTHLINE_CANNOT_READ (or what it is) names the first.
girthline_status gn_exam_json_of_file(const char *path, char **json, girthline_error *error);

#endif
