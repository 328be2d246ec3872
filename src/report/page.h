// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The parts of the page, in reading order. Each writes its section of one recording into page->html.
#ifndef GN_REPORT_PAGE_H
#define GN_REPORT_PAGE_H

#include <girthline/report.h>

#include "report/figures.h"
#include "report/html.h"
#include "report/page_table.h"
#include "report/page_words.h"
#include "report/sound.h"

typedef struct gn_page {
  gn_html html;
  const girthline_report_input *input;
  const girthline_result *result;
  const char *title; ///< heading over the recording; NULL: gn_page_heading
  bool no_sound;
  const gn_figure_scale *scale; ///< axes shared with other recordings; NULL: own
  size_t index;     ///< of the recording on the page, from 1; ids are made from it
  const char *group; ///< of the numbers, named before its first row; NULL once it is
  size_t n_groups;  ///< of this recording so far
  gn_sound whole;   ///< the analysed part as recorded; empty when it is too long for a page or was not asked for
  gn_sound stretch; ///< the best stretch as recorded; empty when there is none
  girthline_status status;
  girthline_error *error;
} gn_page;

/// A whole page: the head up to the first heading, one recording's article after the other, the end. What else a page holds
/// is written into page->html between them. gn_page_recording does nothing once something has failed.
void gn_page_head(gn_html *html, const char *title, const char *heading);
void gn_page_recording(gn_page *page, const girthline_report_input *input);
char *gn_page_finish(gn_page *page); ///< the page, owned by the caller; NULL where something failed, said in page->error

void gn_page_answer(gn_page *page);   ///< three lines
void gn_page_trust(gn_page *page);    ///< how far to trust it
void gn_page_findings(gn_page *page); ///< what was found asks for
#define GN_PAGE_WIDE 912.0 ///< of a picture, units; on a telephone the other
#define GN_PAGE_NARROW 328.0

void gn_page_events(gn_page *page);   ///< each pause and early beat: a picture of the sound around it
void gn_page_row_start(gn_page *page, const char *name, const char *meaning); ///< a row of the numbers up to its second cell
void gn_page_event_rows(gn_page *page); ///< when they and the spoilt spans were, as rows of the numbers
void gn_page_listen(gn_page *page);   ///< pictures and sound
void gn_page_numbers(gn_page *page);  ///< every number, with what it means
void gn_page_method(gn_page *page);   ///< settings, what was not determined, the list of beats

/// An <svg> of the page: which width shows it, the heading's id it is named by, its size. `area` places a cursor.
typedef struct gn_page_picture {
  const char *size, *id;
  double width, height;
} gn_page_picture;
void gn_page_svg(gn_page *page, const gn_page_picture *picture, const gn_html *inside, const gn_figure_area *area);

/// A number with its unit, as <data> holding the JSON's value and the key it has there; "not determined" for NaN.
typedef struct gn_page_value {
  const char *key; ///< JSON pointer
  double value;
  int decimals;
  const char *unit; ///< "" for none
} gn_page_value;
void gn_page_number(gn_page *page, gn_page_value value);

/// A number as the JSON report rounds it, by the unit its key ends in, and to how many decimals.
double gn_page_json(const char *key, double value, int *decimals);
void gn_page_duration(gn_page *page, const char *key, double value_s); ///< seconds; in whole minutes where it is long
void gn_page_part(gn_page *page); ///< from where to where the recording was analysed
void gn_page_percent(gn_page *page, const char *key, double fraction); ///< whole percent of a 0..1 number

/// Why a field is not determined: the JSON report's reason, as a sentence.
void gn_page_reason(gn_page *page, const char *pointer);

const char *gn_page_heading(const girthline_report_input *input); ///< the file's own name, without the folders it was given with

#endif
