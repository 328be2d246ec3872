// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A folder of its own for a group of tests on one history: store_begin and store_end are the group's setup and teardown.
#ifndef TESTS_STORE_FOLDER_H
#define TESTS_STORE_FOLDER_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char store_path[64];

static inline int store_begin(void **state) {
  (void)state;
  char folder[] = "/tmp/girthline-store-XXXXXX";
  if (!mkdtemp(folder)) return -1;
  snprintf(store_path, sizeof store_path, "%s/v.db", folder);
  return 0;
}

static inline int store_end(void **state) {
  (void)state;
  unlink(store_path);
  *strrchr(store_path, '/') = 0;
  return rmdir(store_path);
}

#endif
