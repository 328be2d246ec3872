// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

FILE *gn_file_open(const char *path, const char **why) {
  struct stat st;
  const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
  FILE *file = NULL;
  *why = NULL;
  if (fd >= 0 && !fstat(fd, &st) && !S_ISREG(st.st_mode)) *why = S_ISDIR(st.st_mode) ? "it is a folder" : "it is a pipe or a device, not a file";
  else if (fd >= 0) file = fdopen(fd, "rb");
  if (!file && !*why) *why = strerrordesc_np(errno);
  if (!file && fd >= 0) close(fd);
  return file;
}

#define PIECE_BYTES ((size_t)1 << 30) // a call takes at most two of these

int gn_file_put(int fd, const void *bytes, size_t n) {
  const char *data = bytes;
  while (n) {
    const ssize_t done = write(fd, data, n < PIECE_BYTES ? n : PIECE_BYTES);
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) return -1;
    data += done;
    n -= (size_t)done;
  }
  return 0;
}

bool gn_file_is_same(const char *a, const char *b) {
  struct stat at, bt;
  return !stat(a, &at) && !stat(b, &bt) && S_ISREG(at.st_mode) && at.st_dev == bt.st_dev && at.st_ino == bt.st_ino;
}

bool gn_file_ends_in(const char *name, const char *const *endings, size_t n_endings) {
  const char *dot = strrchr(name, '.');
  for (size_t i = 0; dot && i < n_endings; i++)
    if (!strcasecmp(dot + 1, endings[i])) return true;
  return false;
}
