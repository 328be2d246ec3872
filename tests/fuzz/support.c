// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "fuzz.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include <jansson.h>

_Noreturn void fuzz_broken(const char *condition, const char *file, int line) {
  fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, condition);
  abort();
}

void fuzz_check_error(girthline_status status, const girthline_error *error) {
  if (status == GIRTHLINE_OK) return;
  FUZZ_HOLDS(status <= GIRTHLINE_REFUSED);
  FUZZ_HOLDS(status != GIRTHLINE_INTERNAL);
  FUZZ_HOLDS(error->status == status);
  FUZZ_HOLDS(error->text[0] && memchr(error->text, 0, sizeof error->text));
  FUZZ_HOLDS(!strpbrk(error->text, "\n\r\033"));
}

fuzz_file fuzz_file_of(const void *data, size_t n) {
  fuzz_file file = {.fd = memfd_create("input", MFD_CLOEXEC)};
  FUZZ_HOLDS(file.fd >= 0);
  FUZZ_HOLDS(write(file.fd, data, n) == (ssize_t)n);
  snprintf(file.path, sizeof file.path, "/proc/self/fd/%d", file.fd);
  return file;
}

void fuzz_file_close(fuzz_file *file) { close(file->fd); }

static char folder[64];
static char placed[8][128];
static size_t n_placed;

static void remove_places(void) {
  for (size_t i = 0; i < n_placed; i++) unlink(placed[i]);
  rmdir(folder);
}

const char *fuzz_place(const char *name) {
  if (!folder[0]) {
    snprintf(folder, sizeof folder, "%s/girthline-fuzz-XXXXXX", access("/dev/shm", W_OK) ? "/tmp" : "/dev/shm");
    FUZZ_HOLDS(mkdtemp(folder));
    atexit(remove_places);
  }
  char path[sizeof placed[0]];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  for (size_t i = 0; i < n_placed; i++)
    if (!strcmp(placed[i], path)) return placed[i];
  FUZZ_HOLDS(n_placed < sizeof placed / sizeof *placed);
  return memcpy(placed[n_placed++], path, sizeof path);
}

void fuzz_write(const char *path, const void *data, size_t n) {
  const int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  FUZZ_HOLDS(fd >= 0);
  FUZZ_HOLDS(write(fd, data, n) == (ssize_t)n);
  close(fd);
}

void fuzz_check_json(const char *text) {
  FUZZ_HOLDS(text);
  json_error_t fault;
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &fault);
  if (!root) fprintf(stderr, "line %d, column %d: %s\n", fault.line, fault.column, fault.text);
  FUZZ_HOLDS(root);
  json_decref(root);
}
