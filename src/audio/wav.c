// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/wav.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <sndfile.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "audio/facts.h"
#include "audio/lock.h"
#include "base/error.h"
#include "base/memory.h"

enum { TRIES = 100, NAMES = 10000, BLOCK = 4096 };
static const size_t MOST_SAMPLES = (size_t)1 << 30; // 2 GiB: the length that every reader of WAV understands

// A fresh file beside the wanted one; its mode follows the user's umask, which mkstemp's would not.
static int open_part(const char *path, char *part, size_t size) {
  const unsigned start = (unsigned)getpid();
  for (unsigned i = 0; i < TRIES; i++) {
    snprintf(part, size, "%s.part%04u", path, (start + i) % NAMES);
    const int fd = open(part, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (fd >= 0 || errno != EEXIST) return fd;
  }
  return -1;
}

// Reading gives k / 32768, so writing rounds x * 32768 to the nearest whole number, halves upward.
static int16_t to_pcm16(float x) {
  if (isnan(x)) return 0;
  const double y = floor((double)x * 32768 + 0.5);
  return (int16_t)(y < -32768 ? -32768 : y > 32767 ? 32767 : y);
}

static int write_samples(int fd, const float *samples, size_t n, int fs_hz) {
  int16_t block[BLOCK];
  SF_INFO info = {.samplerate = fs_hz, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  gn_audio_lock();
  SNDFILE *file = sf_open_fd(fd, SFM_WRITE, &info, SF_FALSE);
  gn_audio_unlock();
  if (!file) return -1;
  int ok = 1;
  for (size_t at = 0; ok && at < n; at += BLOCK) {
    const size_t k = n - at < BLOCK ? n - at : BLOCK;
    for (size_t i = 0; i < k; i++) block[i] = to_pcm16(samples[at + i]);
    ok = sf_write_short(file, block, (sf_count_t)k) == (sf_count_t)k;
  }
  if (sf_close(file)) ok = 0;
  return ok ? 0 : -1;
}

static girthline_status write_part(const char *path, char *part, size_t size, const float *samples, size_t n, int fs_hz) {
  const int fd = open_part(path, part, size);
  if (fd < 0) return GIRTHLINE_CANNOT_WRITE;
  const int failed = write_samples(fd, samples, n, fs_hz);
  const int code = errno;
  if (close(fd) == 0 && !failed && rename(part, path) == 0) return GIRTHLINE_OK;
  const int late = failed ? code : errno;
  unlink(part);
  errno = late;
  return GIRTHLINE_CANNOT_WRITE;
}

girthline_status gn_wav_write_path(const char *path, const float *samples, size_t n, double fs_hz, girthline_error *error) {
  char shown[400];
  gn_audio_shown_name(path, shown, sizeof shown);
  if (!(fs_hz >= 1 && fs_hz <= 1e6))
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "audio", "%s: a WAV file cannot hold %g samples a second; give 1 to 1000000", shown, fs_hz);
  if (n > MOST_SAMPLES)
    return gn_error_set(error, GIRTHLINE_LIMIT, "audio", "%s: a WAV file holds no more than 2 GiB; write a shorter part", shown);
  const size_t size = strlen(path) + 16;
  char *part = gn_new(size, 1);
  if (!part) return gn_error_memory(error, "audio");
  errno = 0;
  const girthline_status status = write_part(path, part, size, samples, n, (int)floor(fs_hz + 0.5));
  if (status)
    gn_error_set(error, status, "audio", "%s: it could not be written (%s); name a folder that exists, may be written to and has room", shown,
                 errno ? strerrordesc_np(errno) : "the disk refused it");
  gn_free(part);
  return status;
}
