// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A girthline.report.v1 as a part of a larger JSON document.
#ifndef GN_REPORT_JSON_H
#define GN_REPORT_JSON_H

#include <girthline/report.h>

#include "report/writer.h"

/// One report as a member (key) or an item (NULL). Its pointers are its own: the writer's listener does not hear of it.
void gn_json_report(gn_writer *w, const char *key, const girthline_report_input *input);

/// Write a report, or the list form of n of them, piece by piece: its text is never held. GIRTHLINE_NO_MEMORY; GIRTHLINE_CANNOT_WRITE (the sink stopped).
girthline_status gn_json_write(const girthline_report_input *inputs, size_t n, bool list, gn_sink sink, girthline_error *error);

void gn_json_tool(gn_writer *w, const girthline_settings *settings); ///< the member "tool"

#endif
