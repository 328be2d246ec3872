// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The opened recording as it is seen from outside: its channel already taken.
#include <girthline/reader.h>

#include <stdint.h>

#include "audio/audio.h"
#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"

struct girthline_reader {
  gn_audio *audio;
};

// What is asked for is taken; choosing reads a minute.
static girthline_status take_channel(gn_audio *audio, int channel, girthline_error *error) {
  const int channels = gn_audio_recording(audio)->channels;
  if (channel == 0) return gn_audio_choose_channel(audio, 0, SIZE_MAX, error);
  if (channel < 0 || channel > channels)
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "audio", "%s: there is no channel %d: give 1 to %d", gn_audio_name(audio), channel, channels);
  gn_audio_take_channel(audio, channel);
  return GIRTHLINE_OK;
}

static girthline_status finish_open(gn_audio *audio, int channel, girthline_status status, girthline_reader **out, girthline_error *error) {
  if (status == GIRTHLINE_OK) status = take_channel(audio, channel, error);
  girthline_reader *reader = status == GIRTHLINE_OK ? gn_new(1, sizeof *reader) : NULL;
  if (status == GIRTHLINE_OK && !reader) status = gn_error_memory(error, "audio");
  if (status == GIRTHLINE_OK) {
    reader->audio = audio;
    *out = reader;
  } else {
    gn_audio_close(audio);
  }
  return status;
}

girthline_status girthline_reader_open_file(const char *path, int channel, girthline_reader **out, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_audio *audio = NULL;
  *out = NULL;
  const girthline_status status = gn_audio_open_path(path, &audio, error);
  return finish_open(audio, channel, status, out, error);
}

girthline_status girthline_reader_open_memory(const void *data, size_t n_bytes, const char *name, int channel, girthline_reader **out, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_audio *audio = NULL;
  *out = NULL;
  const girthline_status status = gn_audio_open_memory(data, n_bytes, name ? name : "recording", &audio, error);
  return finish_open(audio, channel, status, out, error);
}

const girthline_recording *girthline_reader_recording(const girthline_reader *reader) { return gn_audio_recording(reader->audio); }

girthline_status girthline_reader_read(girthline_reader *reader, float *samples, size_t n, size_t *got, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  return gn_audio_read(reader->audio, samples, n, got, error);
}

girthline_status girthline_reader_seek(girthline_reader *reader, size_t sample, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  return gn_audio_seek(reader->audio, sample, error);
}

void girthline_reader_free(girthline_reader *reader) {
  if (reader) gn_audio_close(reader->audio);
  gn_free(reader);
}
