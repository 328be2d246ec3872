// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The limits of the method: what is decided where, each with its unit, usual value, range, meaning and source.
///
/// One table a stage stands in limits_<stage>.h. A row is
///   LIMIT(name, unit, usual, lowest, highest, "What it is.", "Where it comes from")
/// and becomes a field of the stage's struct, an entry of girthline_limit_at, and a name in the file that --settings reads. A
/// name that ends in _n is a count and takes whole numbers only. What is no limit but a definition of the report's own measures
/// (the 15 s of a count, the 50 ms of pNN50, 25 to 700 Hz of a level) or a length of an analysis frame is not here.
#ifndef GIRTHLINE_LIMITS_H
#define GIRTHLINE_LIMITS_H

#include <stddef.h>

#include <girthline/api.h>
#include <girthline/limits_extra.h>
#include <girthline/limits_findings.h>
#include <girthline/limits_murmur.h>
#include <girthline/limits_quality.h>
#include <girthline/limits_rhythm.h>
#include <girthline/limits_segment.h>

GIRTHLINE_API_BEGIN

/// Open struct; start from girthline_limits_default(). Values are within the range of their row.
typedef struct girthline_limits {
  girthline_quality_limits quality;
  girthline_segment_limits segment;
  girthline_extra_limits extra;
  girthline_rhythm_limits rhythm;
  girthline_murmur_limits murmur;
  girthline_findings_limits findings;
} girthline_limits;

girthline_limits girthline_limits_default(void);

/// One row. Constant data.
typedef struct girthline_limit {
  const char *section, *name, *unit; ///< unit: "" where it has none
  double usual, lowest, highest;     ///< both ends belong to the range
  const char *what, *source;         ///< a sentence; where it comes from
  size_t offset;                     ///< of its double in girthline_limits
} girthline_limit;

/// The rows in the order of the struct, section by section; NULL from the number of rows on.
const girthline_limit *girthline_limit_at(size_t i);

/// How many of them are not the usual ones. NULL: none.
size_t girthline_limits_changed(const girthline_limits *limits);

double girthline_limit_get(const girthline_limit *limit, const girthline_limits *limits);
void girthline_limit_set(const girthline_limit *limit, girthline_limits *limits, double value); ///< value is not checked

GIRTHLINE_API_END
#endif
