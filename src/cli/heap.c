// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/heap.h"

#include <malloc.h>

void gn_cli_one_heap(void) {
#ifdef M_ARENA_MAX
  mallopt(M_ARENA_MAX, 1);
#endif
}

void gn_cli_keep_heap(void) {
#if defined M_MMAP_THRESHOLD && defined M_TRIM_THRESHOLD
  enum { KEPT_BYTES = 32 << 20 }; // more than an analysis holds; the most that may be asked for here
  mallopt(M_MMAP_THRESHOLD, KEPT_BYTES);
  mallopt(M_TRIM_THRESHOLD, KEPT_BYTES);
#endif
}
