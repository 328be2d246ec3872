// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What stands on the pages of a recording. Each draws from sheet->y down.
#ifndef GN_REPORT_PDF_PAGES_H
#define GN_REPORT_PDF_PAGES_H

#include "report/pdf_front.h"
#include "report/pdf_sheet.h"

typedef struct gn_pdf_recording {
  const girthline_report_input *input;
  const girthline_result *result;
  const char *title;       ///< of an only page; NULL: it has two
  gn_figure_source source; ///< with the axes it shares
} gn_pdf_recording;

void gn_pdf_first_page(gn_sheet *sheet, const gn_pdf_recording *recording);  ///< answer, findings, trust, the sound
void gn_pdf_second_page(gn_sheet *sheet, const gn_pdf_recording *recording); ///< pictures of the beats, numbers, caution

/// Behind pages that tell what all recordings ask for: answer, trust, what of its beats cannot be told in words, numbers.
void gn_pdf_only_page(gn_sheet *sheet, const gn_pdf_recording *recording);

/// The pages before the recordings'; as many as the lines need.
void gn_front_draw(gn_sheet *sheet, const gn_front *front, size_t n_recordings);

#endif
