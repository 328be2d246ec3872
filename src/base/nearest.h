// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The known name that a mistyped word was meant to be.
#ifndef GN_BASE_NEAREST_H
#define GN_BASE_NEAREST_H

#include <stddef.h>

/// The name nearest to a word (one edit in three letters at most); NULL when none is near.
const char *gn_nearest(const char *word, const char *const *names, size_t n_names);

#endif
