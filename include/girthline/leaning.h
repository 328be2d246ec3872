// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Which way a murmur leans by published criteria. Never a name of a disease.
#ifndef GIRTHLINE_LEANING_H
#define GIRTHLINE_LEANING_H

#include <stddef.h>

#include <girthline/api.h>
#include <girthline/result.h>

GIRTHLINE_API_BEGIN

typedef enum girthline_leaning { GIRTHLINE_LEANS_UNDETERMINED = 0, GIRTHLINE_FITS_FLOW_PATTERN, GIRTHLINE_ASKS_FOR_ECHO } girthline_leaning;

/// The leaning of one phase of result->murmur, seen by its own recording alone. A flow pattern is never said without a stated
/// left heart-base area, an adult horse, a resting rate within range and a measured end before S2. reasons (may be NULL)
/// has room for n_reasons bytes and gets sentences.
girthline_leaning girthline_murmur_leaning(const girthline_result *result, const girthline_murmur_phase *phase, char *reasons, size_t n_reasons);

GIRTHLINE_API_END
#endif
