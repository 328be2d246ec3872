// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Numbers in rising order while a window slides over them.
#ifndef GN_ENVELOPE_SLIDING_H
#define GN_ENVELOPE_SLIDING_H

#include <stddef.h>

/// sorted holds the n numbers of the window, x[from] .. x[to - 1] but for those left out. Starts as zeros.
typedef struct gn_sliding {
  const float *sorted;
  size_t n, from, to;
  float *rows[2]; ///< sorted lies in one of these, the next one goes into the other
  size_t row_n;
} gn_sliding;

/// For windows of most_n numbers or fewer. 0, or -1 when memory is refused (clear it all the same).
int gn_sliding_init(gn_sliding *sliding, size_t most_n);
void gn_sliding_clear(gn_sliding *sliding);

/// The window is empty, and before the first number.
void gn_sliding_begin(gn_sliding *sliding);

/// Move both ends on. x: finite numbers, and left_out is not 0 where one does not count; the same ones as long as the window slides over them.
void gn_sliding_move(gn_sliding *sliding, const float *x, const unsigned char *left_out, size_t from, size_t to);

#endif
