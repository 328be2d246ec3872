// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/nearest.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>
#include <strings.h>

#define WORD_MOST 40

static char small(char c) { return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c; }

static bool same(char a, char b) { return small(a) == small(b); }

static size_t least(size_t a, size_t b) { return a < b ? a : b; }

// Edits (insert, delete, replace, swap of neighbours) between two short words.
static size_t edits(const char *a, const char *b) {
  const size_t n = strlen(a), m = strlen(b);
  size_t d[3][WORD_MOST + 1];
  if (n > WORD_MOST || m > WORD_MOST) return SIZE_MAX;
  for (size_t k = 0; k <= m; k++) d[0][k] = k;
  for (size_t i = 1; i <= n; i++) {
    size_t *now = d[i % 3], *last = d[(i + 2) % 3], *before = d[(i + 1) % 3];
    now[0] = i;
    for (size_t k = 1; k <= m; k++) {
      now[k] = least(least(last[k], now[k - 1]) + 1, last[k - 1] + !same(a[i - 1], b[k - 1]));
      if (i > 1 && k > 1 && same(a[i - 1], b[k - 2]) && same(a[i - 2], b[k - 1])) now[k] = least(now[k], before[k - 2] + 1);
    }
  }
  return d[n % 3][m];
}

const char *gn_nearest(const char *word, const char *const *names, size_t n_names) {
  const char *best = NULL;
  size_t fewest = SIZE_MAX;
  const size_t n = strlen(word);
  for (size_t i = 0; i < n_names; i++) {
    // A beginning of a name ("spec") is near it too: long options are not abbreviated, but people try.
    const size_t k = n >= 3 && !strncasecmp(word, names[i], n) ? 1 : edits(word, names[i]);
    if (k < fewest && (k <= 1 || k <= strlen(names[i]) / 3)) {
      fewest = k;
      best = names[i];
    }
  }
  return best;
}
