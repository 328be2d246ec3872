// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/heap.h"

#include <malloc.h>

void gn_cli_one_heap(void) {
#ifdef M_ARENA_MAX
  mallopt(M_ARENA_MAX, 1);
#endif
}
