// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The one seam through which the library asks for memory.
#ifndef GN_BASE_MEMORY_H
#define GN_BASE_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

/// Zeroed room for n items of `size` bytes; NULL when refused or when n * size overflows. n == 0 gives one item.
void *gn_new(size_t n, size_t size);

/// The same with whatever stands in it: for large room that is filled before it is read.
void *gn_room(size_t n, size_t size);

/// Make room for at least `need` items in *items (capacity *capacity), at least doubling. Returns 0 on success; on
/// refusal returns -1 and leaves both unchanged.
int gn_grow(void **items, size_t *capacity, size_t need, size_t size);

/// A copy of a string; NULL when refused or text is NULL.
char *gn_strdup(const char *text);

/// printf into fresh memory; NULL when refused.
char *gn_strprintf(const char *format, ...) __attribute__((format(printf, 1, 2)));

void gn_free(void *p); ///< accepts NULL

/// Tests only: refuse the k-th request from now (1 = the next one); 0 stops refusing. Returns what was left of the number
/// before (0: it was refused, or none was to be). Not thread-safe.
size_t gn_memory_refuse(size_t k);

/// Tests only: behind the request that gn_memory_refuse named, refuse all others too, until it is called again.
void gn_memory_refuse_on(void);

/// Whether requests are counted, so that they have to come in one order: a test runs in one thread.
bool gn_memory_counts(void);

/// Tests only: let `refuses` say of each request whether it is refused, in place of the number; NULL ends it.
void gn_memory_ask(bool (*refuses)(void));

#endif
