// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/memory.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static size_t refuse_in; // 0: never
static bool lasts, out;  // every request after the refused one too; one was refused
static bool (*asked)(void);

size_t gn_memory_refuse(size_t k) {
  const size_t left = refuse_in;
  refuse_in = k;
  lasts = out = false;
  return left;
}

void gn_memory_refuse_on(void) { lasts = true; }

void gn_memory_ask(bool (*refuses)(void)) { asked = refuses; }

bool gn_memory_counts(void) { return asked || refuse_in || out; }

static bool refused(void) {
  if (asked) return asked();
  if (out && lasts) return true;
  if (!refuse_in || --refuse_in) return false;
  return out = true;
}

void *gn_new(size_t n, size_t size) {
  if (n == 0) n = 1;
  if (refused() || (size && n > SIZE_MAX / size)) return NULL;
  return calloc(n, size);
}

void *gn_room(size_t n, size_t size) {
  if (n == 0) n = 1;
  if (refused() || (size && n > SIZE_MAX / size)) return NULL;
  return malloc(size ? n * size : 1);
}

int gn_grow(void **items, size_t *capacity, size_t need, size_t size) {
  if (need <= *capacity) return 0;
  size_t next = *capacity > SIZE_MAX / 2 ? need : *capacity * 2;
  if (next < need) next = need;
  if (next < 16) next = 16;
  if (refused() || next > SIZE_MAX / size) return -1;
  void *p = realloc(*items, next * size);
  if (!p) return -1;
  *items = p;
  *capacity = next;
  return 0;
}

char *gn_strdup(const char *text) {
  if (!text) return NULL;
  const size_t n = strlen(text) + 1;
  char *copy = gn_new(n, 1);
  if (copy) memcpy(copy, text, n);
  return copy;
}

char *gn_strprintf(const char *format, ...) {
  va_list args;
  va_start(args, format);
  const int n = vsnprintf(NULL, 0, format, args);
  va_end(args);
  if (n < 0) return NULL;
  char *text = gn_new((size_t)n + 1, 1);
  if (!text) return NULL;
  va_start(args, format);
  vsnprintf(text, (size_t)n + 1, format, args);
  va_end(args);
  return text;
}

void gn_free(void *p) { free(p); }
