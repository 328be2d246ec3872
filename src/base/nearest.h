// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The known name that a mistyped word was meant to be.
#ifndef GN_BASE_NEAREST_H
#define GN_BASE_NEAREST_H

#include <stddef.h>

/// The name nearest to a word, capital letters being as good as small ones; NULL when none is near. Near is one edit, however short the name; of a
/// longer one an edit in three letters; and a word of three letters or more that a name begins with.
const char *gn_nearest(const char *word, const char *const *names, size_t n_names);

#endif
