// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The version of the headers and of the library.
#ifndef GIRTHLINE_VERSION_H
#define GIRTHLINE_VERSION_H

#include <girthline/api.h>

#define GIRTHLINE_VERSION "0.1.0"

GIRTHLINE_API_BEGIN

const char *girthline_version(void); ///< of the library in use, e.g. "0.1.0"

GIRTHLINE_API_END
#endif
