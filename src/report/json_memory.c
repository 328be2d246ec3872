// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/json_memory.h"

#include <pthread.h>

#include <jansson.h>

#include "base/memory.h"

static _Thread_local bool refused;
static pthread_once_t taken = PTHREAD_ONCE_INIT;

static void *request(size_t n) {
  void *p = gn_new(n, 1);
  refused |= !p;
  return p;
}

static void take(void) { json_set_alloc_funcs(request, gn_free); }

void gn_json_begin(void) {
  pthread_once(&taken, take);
  refused = false;
}

bool gn_json_refused(void) { return refused; }
