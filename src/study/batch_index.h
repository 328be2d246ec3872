// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The index page: how rate and quality are distributed, and a line for each recording, to be sorted and filtered.
#ifndef GN_STUDY_BATCH_INDEX_H
#define GN_STUDY_BATCH_INDEX_H

#include <girthline/result.h>

#include "report/buffer.h"

#define GN_INDEX_RATE_STEP_BPM 5 ///< width of a bar, a choice
#define GN_INDEX_RATE_BARS 64    ///< to 320 beats a minute, the fastest heart the decoder looks for and beyond
#define GN_INDEX_GRADES 5        ///< the four grades, and what failed

typedef struct gn_index_counts {
  size_t rate[GN_INDEX_RATE_BARS], grade[GN_INDEX_GRADES], n_rows, n_rates;
} gn_index_counts;

/// Count one row. bpm may be NaN.
void gn_index_count(gn_index_counts *counts, bool failed, girthline_grade grade, double bpm);

/// Everything before the first row, and everything after the last.
void gn_index_head(gn_buffer *out, const gn_index_counts *counts);
void gn_index_foot(gn_buffer *out);

#define GN_INDEX_ROW_START "<tr><td class=\"n\">" ///< what each row begins with; its number follows

#endif
