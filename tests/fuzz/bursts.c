// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "fuzz.h"

#include <string.h>

enum { FS_HZ = 2000, SECONDS = 3, HEADER_N = 44, DATA_N = FS_HZ * SECONDS };

static uint8_t wav[HEADER_N + DATA_N];

static void little_endian(uint8_t *at, uint32_t value) {
  for (int i = 0; i < 4; i++) at[i] = (uint8_t)(value >> 8 * i);
}

// Unsigned 8-bit WAV: short bursts, four a second, so that what is given falls on sound and beside it.
static void make_wav(void) {
  static const uint8_t HEADER[HEADER_N] = "RIFF....WAVEfmt \x10\0\0\0\1\0\1\0........\1\0\x08\0data";
  memcpy(wav, HEADER, HEADER_N);
  little_endian(wav + 4, HEADER_N - 8 + DATA_N);
  little_endian(wav + 24, FS_HZ);
  little_endian(wav + 28, FS_HZ);
  little_endian(wav + 40, DATA_N);
  for (int i = 0; i < DATA_N; i++) wav[HEADER_N + i] = (uint8_t)(128 + (i % (FS_HZ / 4) < FS_HZ / 20 ? (i / 16 % 2 ? 60 : -60) : i * 7919 % 5 - 2));
}

const uint8_t *fuzz_bursts(size_t *n) {
  if (!wav[0]) make_wav();
  *n = sizeof wav;
  return wav;
}
