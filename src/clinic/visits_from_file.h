// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The seam to the examination file: a file written by hand becomes girthline.exam.v1.
#ifndef GN_CLINIC_VISITS_FROM_FILE_H
#define GN_CLINIC_VISITS_FROM_FILE_H

#include <girthline/status.h>

/// Analyse the examination written in `path`; the caller frees *json with gn_free.
girthline_status gn_exam_json_of_file(const char *path, char **json, girthline_error *error);

#endif
