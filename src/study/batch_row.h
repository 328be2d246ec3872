// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// One finished input as the pieces the tables are put together from. No piece holds the input's number, which changes when
/// inputs come or go; the number is put before each line when the tables are written.
#ifndef GN_STUDY_BATCH_ROW_H
#define GN_STUDY_BATCH_ROW_H

#include <girthline/result.h>

#include "report/buffer.h"
#include "study/batch.h"

enum { GN_PART_ROW = 0, GN_PART_BEATS, GN_PART_REPORT, GN_PART_INDEX, GN_N_PARTS };

typedef struct gn_batch_row {
  girthline_status status;      ///< GIRTHLINE_OK: analysed
  girthline_grade grade;        ///< where it was
  double bpm;                   ///< settled rate; NaN
  char reason[1000];            ///< why not, or why unusable; ""
  char content_hash[48];        ///< ""
  char page[96];                ///< relative to the output folder; "": none
  gn_buffer part[GN_N_PARTS];   ///< whole lines
} gn_batch_row;

/// The header lines of recordings.csv and beats.csv.
extern const char GN_BATCH_ROW_HEADER[], GN_BATCH_BEATS_HEADER[];

/// Fill the parts from what is set above them; result is NULL where the input failed. Check part[].refused afterwards.
void gn_batch_row_fill(gn_batch_row *row, const gn_batch_item *item, const girthline_result *result, girthline_error *error);
void gn_batch_row_clear(gn_batch_row *row);

/// The row's line of the index page, and the picture in it.
void gn_batch_index_row(gn_buffer *out, const gn_batch_row *row, const gn_batch_item *item, const girthline_result *result);

const char *gn_batch_row_status(girthline_status status, girthline_grade grade); ///< "analysed", "unusable", "failed"

#endif
