// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Sound files made in memory by libsndfile, for tests.
#ifndef TESTS_AUDIO_MEMORY_FILE_H
#define TESTS_AUDIO_MEMORY_FILE_H

#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

typedef struct memory_file {
  unsigned char *bytes;
  sf_count_t n, at, room;
} memory_file;

static inline sf_count_t memory_length(void *user) { return ((memory_file *)user)->n; }
static inline sf_count_t memory_tell(void *user) { return ((memory_file *)user)->at; }

static inline sf_count_t memory_seek(sf_count_t offset, int whence, void *user) {
  memory_file *m = user;
  m->at = offset + (whence == SEEK_CUR ? m->at : whence == SEEK_END ? m->n : 0);
  return m->at;
}

static inline sf_count_t memory_read(void *bytes, sf_count_t n, void *user) {
  memory_file *m = user;
  if (n > m->n - m->at) n = m->n > m->at ? m->n - m->at : 0;
  memcpy(bytes, m->bytes + m->at, (size_t)n);
  m->at += n;
  return n;
}

static inline sf_count_t memory_write(const void *bytes, sf_count_t n, void *user) {
  memory_file *m = user;
  if (m->at + n > m->room) {
    m->room = (m->at + n) * 2;
    m->bytes = realloc(m->bytes, (size_t)m->room);
  }
  if (m->at > m->n) memset(m->bytes + m->n, 0, (size_t)(m->at - m->n));
  memcpy(m->bytes + m->at, bytes, (size_t)n);
  m->at += n;
  if (m->at > m->n) m->n = m->at;
  return n;
}

static SF_VIRTUAL_IO memory_io = {memory_length, memory_seek, memory_read, memory_write, memory_tell};

/// n frames of interleaved samples in a form; .n == 0 where libsndfile does not write it.
static inline memory_file memory_file_of(int format, int fs_hz, int channels, const float *samples, size_t n) {
  memory_file m = {0};
  SF_INFO info = {.samplerate = fs_hz, .channels = channels, .format = format};
  if (!sf_format_check(&info)) return m;
  SNDFILE *file = sf_open_virtual(&memory_io, SFM_WRITE, &info, &m);
  if (!file) {
    m.n = 0;
    return m;
  }
  sf_command(file, SFC_SET_CLIPPING, NULL, SF_TRUE);
  sf_writef_float(file, samples, (sf_count_t)n);
  sf_close(file);
  return m;
}

#endif
