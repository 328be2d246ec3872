// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The JSON reader asks the program's own seam for memory. It tells a refusal as a fault of the text, or goes on with a text
/// that lacks a letter (jansson 2.14 does not look whether its buffer could grow): what was refused is remembered here.
#ifndef GN_REPORT_JSON_MEMORY_H
#define GN_REPORT_JSON_MEMORY_H

#include <stdbool.h>

/// Before something is read: from here on (in the whole program) memory comes from gn_new; forgets what was refused to this
/// thread.
void gn_json_begin(void);

/// Was memory refused to the reader, or to the writer behind it, in this thread since it last began? Then what it gave is not to
/// be believed.
bool gn_json_refused(void);

#endif
