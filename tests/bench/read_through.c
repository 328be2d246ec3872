// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// read_through FILE: reads a sound file to its end with sf_readf_float and does nothing with it. What the analysis is held against.
#include <stdio.h>

#include <sndfile.h>

enum { BLOCK_N = 4096, MOST_CHANNELS = 8 };

int main(int argc, char **argv) {
  static float block[BLOCK_N * MOST_CHANNELS];
  SF_INFO info = {0};
  SNDFILE *file = argc == 2 ? sf_open(argv[1], SFM_READ, &info) : NULL;
  if (!file || info.channels > MOST_CHANNELS) {
    fprintf(stderr, "usage: read_through FILE (a sound file of %d channels at most)\n", MOST_CHANNELS);
    return 2;
  }
  sf_count_t n = 0, got;
  while ((got = sf_readf_float(file, block, BLOCK_N)) > 0) n += got;
  sf_close(file);
  printf("%lld frames\n", (long long)n);
  return n == info.frames ? 0 : 1;
}
