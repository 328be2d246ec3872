// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/caf.h"

#include <string.h>

enum { MOST_CHUNKS = 10000, HEAD = 12 }; // HEAD: four letters and eight bytes of size, highest first

static int64_t size_of(const unsigned char *head) {
  uint64_t size = 0;
  for (int i = 4; i < HEAD; i++) size = size << 8 | head[i];
  return (int64_t)size;
}

static bool patch(gn_source *source, int64_t at, int64_t size) {
  unsigned char bytes[8];
  for (int i = 0; i < 8; i++) bytes[i] = (unsigned char)((uint64_t)size >> (56 - 8 * i));
  return gn_source_patch(source, at + 4, bytes, 8) == 0;
}

bool gn_caf_mend(gn_source *source) {
  unsigned char head[HEAD];
  int64_t at = 8;
  if (gn_source_read_at(source, 0, head, 4) < 4 || memcmp(head, "caff", 4)) return false;
  for (int i = 0; i < MOST_CHUNKS && gn_source_read_at(source, at, head, HEAD) == HEAD; i++) {
    const int64_t size = size_of(head), available = source->length - at - HEAD;
    if (!memcmp(head, "data", 4)) return (size > available || (size == 0 && available > 0)) && patch(source, at, available);
    if (size < 0 || size > available) return false; // only the data chunk may be of unknown size
    at += HEAD + size;
  }
  return false;
}
