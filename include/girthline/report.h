// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A result written out: JSON, text, one self-contained page, a document to print. A library of its own (cairo, pango, soxr, xxHash).
#ifndef GIRTHLINE_REPORT_H
#define GIRTHLINE_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/api.h>
#include <girthline/result.h>
#include <girthline/status.h>

GIRTHLINE_API_BEGIN

/// One analysed recording, ready to be written out.
typedef struct girthline_report_input {
  const girthline_result *result;
  const char *name;         ///< the file's name as given (any bytes; shown as valid UTF-8); NULL: "recording"
  const char *path;         ///< where its sound is read from for the page (BAD_ARGUMENT: not with the result's channel); NULL: from data
  const void *data;         ///< the file's bytes; NULL: from path
  size_t n_bytes;
  const char *content_hash; ///< "xxh3-128:..." (girthline_content_hash_*)
} girthline_report_input;

typedef struct girthline_report_options {
  bool no_sound; ///< leave the recording out of the page (voices travel with it)
  int width;     ///< columns for text; 0: 80
  bool colour;   ///< text: weight and colour by terminal sequences (default: plain)
  const girthline_report_input *scale_to; ///< pictures: axes wide enough for all of these (default: each its own)
  size_t n_scale_to;
} girthline_report_options;

/// girthline.report.v1 for one input, girthline.reports.v1 for several; ends in a newline. The caller frees the text with
/// girthline_text_free. NULL on failure (error says why).
char *girthline_report_json(const girthline_report_input *inputs, size_t n, girthline_error *error);

/// girthline.reports.v1 whatever n is (0 and 1 too): for a caller that was given several recordings and could read one.
char *girthline_reports_json(const girthline_report_input *inputs, size_t n, girthline_error *error);

/// The summary for a terminal. options may be NULL.
char *girthline_report_text(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, girthline_error *error);

/// One self-contained HTML page. options may be NULL.
char *girthline_report_html(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, girthline_error *error);

/// A PDF document to print: two A4 pages a recording. On GIRTHLINE_OK *data (n_bytes) is the caller's, freed with
/// girthline_data_free. The same inputs give the same bytes with the same fonts and libraries.
/// options may be NULL.
girthline_status girthline_report_pdf(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, void **data,
                                      size_t *n_bytes, girthline_error *error);

/// The pictures, each by a short plain word ("sound", ...); NULL from the number of pictures on.
const char *girthline_figure_name(size_t i);

typedef enum girthline_figure_form { GIRTHLINE_FIGURE_SVG = 0, GIRTHLINE_FIGURE_PNG } girthline_figure_form;

/// One picture of one recording as a file's bytes, freed with girthline_data_free; *data is NULL where the recording holds nothing it could
/// show. options may be NULL.
girthline_status girthline_report_figure(const girthline_report_input *input, size_t i, girthline_figure_form form, const girthline_report_options *options,
                                         void **data, size_t *n_bytes, girthline_error *error);

void girthline_text_free(char *text); ///< accepts NULL
void girthline_data_free(void *data); ///< accepts NULL

/// "xxh3-128:" and 32 hexadecimal digits; out has room for 48 bytes.
void girthline_content_hash_memory(const void *data, size_t n_bytes, char out[48]);
girthline_status girthline_content_hash_path(const char *path, char out[48], girthline_error *error);

/// Hash of every setting that can change a result; out as above.
void girthline_settings_hash(const girthline_settings *settings, char out[48]);

GIRTHLINE_API_END
#endif
