// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What stands around a page without sound and script: the head with its content policy and the page style, and the end.
#ifndef GN_REPORT_FRAME_H
#define GN_REPORT_FRAME_H

#include "report/html.h"

void gn_frame_open(gn_html *html, const char *title, const char *heading); ///< both may hold any text
void gn_frame_close(gn_html *html);

#endif
