// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Gives a target every file of the folders and files named, in byte order: what libFuzzer does, for any compiler.
#include "fuzz.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static size_t n_replayed;

static void replay_file(const char *path) {
  FILE *file = fopen(path, "rbe");
  FUZZ_HOLDS(file && !fseek(file, 0, SEEK_END));
  const size_t n = (size_t)ftell(file);
  rewind(file);
  uint8_t *data = malloc(n ? n : 1); // its own room, so that a checker sees one byte too far
  FUZZ_HOLDS(data && fread(data, 1, n, file) == n);
  fclose(file);
  printf("%s\n", path);
  fflush(stdout);
  LLVMFuzzerTestOneInput(data, n);
  free(data);
  n_replayed++;
}

static int is_shown(const struct dirent *entry) { return entry->d_name[0] != '.'; }

static void replay(const char *path) {
  struct stat st;
  struct dirent **names;
  FUZZ_HOLDS(!stat(path, &st));
  if (!S_ISDIR(st.st_mode)) {
    replay_file(path);
    return;
  }
  const int n = scandir(path, &names, is_shown, alphasort);
  FUZZ_HOLDS(n >= 0);
  for (int i = 0; i < n; i++) {
    char inside[4096];
    snprintf(inside, sizeof inside, "%s/%s", path, names[i]->d_name);
    replay(inside);
    free(names[i]);
  }
  free(names);
}

int main(int argc, char **argv) {
  for (int i = 1; i < argc; i++) replay(argv[i]);
  printf("%zu inputs\n", n_replayed);
  return n_replayed ? 0 : 1;
}
