// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/riff.h"

#include <string.h>

#include "audio/audio.h"
#include "audio/recognise.h"
#include "base/error.h"

static const double MOST_CHANNELS = 64;                    // a choice: more than any field recorder has
enum { MOST_CHUNKS = 100000 };                             // a choice: a bound on the walk through a hostile file

typedef struct walk {
  gn_source *source;
  const char *shown;
  girthline_error *error;
  bool big_endian, rf64, has_format, has_data, mended;
  int64_t ds64_at; // 0: none
  char bad[5];     // a chunk that reaches beyond the end
} walk;

girthline_status gn_audio_check_form(double fs_hz, double channels, const char *shown, girthline_error *error) {
  if (!(fs_hz >= GN_AUDIO_LOWEST_HZ && fs_hz <= GN_AUDIO_HIGHEST_HZ))
    return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio",
                        "%s: its header says %.0f sample%s a second, and only %.0f to %.0f can be read; export the recording again at 4000 or more", shown, fs_hz,
                        fs_hz == 1 ? "" : "s", GN_AUDIO_LOWEST_HZ, GN_AUDIO_HIGHEST_HZ);
  if (channels < 1)
    return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s: its header says it has no channels; export the recording again as WAV", shown);
  if (channels > MOST_CHANNELS)
    return gn_error_set(error, GIRTHLINE_LIMIT, "audio", "%s: it has %.0f channels, and at most %.0f are read; export the stethoscope's channel alone", shown, channels,
                        MOST_CHANNELS);
  return GIRTHLINE_OK;
}

static girthline_status refuse(const walk *w, const char *what) {
  return gn_error_set(w->error, GIRTHLINE_NOT_AUDIO, "audio", "%s: this WAV file %s; copy it from the recorder again, or export it again as WAV", w->shown, what);
}

static uint64_t number(const walk *w, const unsigned char *bytes, size_t n) {
  uint64_t value = 0;
  for (size_t i = 0; i < n; i++) value = value << 8 | bytes[w->big_endian ? i : n - 1 - i];
  return value;
}

static void put_number(const walk *w, uint64_t value, unsigned char *bytes, size_t n) {
  for (size_t i = 0; i < n; i++) bytes[w->big_endian ? n - 1 - i : i] = (unsigned char)(value >> (8 * i));
}

static bool printable(const unsigned char *id) {
  for (int i = 0; i < 4; i++)
    if (id[i] < 0x20 || id[i] > 0x7e) return false;
  return true;
}

// The bytes of one frame by the header's other fields; 0 where the coding packs samples in blocks.
static uint64_t frame_bytes(uint64_t tag, uint64_t channels, uint64_t bits) {
  return tag == 1 || tag == 3 || tag == 0xfffe ? channels * ((bits + 7) / 8) : 0;
}

static girthline_status check_format(walk *w, const unsigned char *bytes) {
  const uint64_t tag = number(w, bytes, 2), channels = number(w, bytes + 2, 2), fs_hz = number(w, bytes + 4, 4);
  const uint64_t bytes_a_second = number(w, bytes + 8, 4), align = number(w, bytes + 12, 2), bits = number(w, bytes + 14, 2);
  const char *coding = gn_recognise_wav_tag((unsigned)tag);
  if (coding)
    return gn_error_set(w->error, GIRTHLINE_NOT_AUDIO, "audio", "%s: this WAV file holds %s, which is not read; convert it to plain WAV, for example: ffmpeg -i IN.wav OUT.wav",
                        w->shown, coding);
  const girthline_status status = gn_audio_check_form((double)fs_hz, (double)channels, w->shown, w->error);
  if (status) return status;
  const uint64_t frame = frame_bytes(tag, channels, bits);
  // A wrong frame size alone is a writer's slip; with the bytes a second agreeing there are two witnesses that the
  // channels or the bits are wrong, and then the heart rate would be too.
  if (frame && align && align != frame && bytes_a_second == align * fs_hz)
    return refuse(w, "contradicts itself: its frames cannot be so long with its channels and bits");
  return GIRTHLINE_OK;
}

static girthline_status see_format(walk *w, int64_t at, int64_t size) {
  unsigned char bytes[16];
  if (size < 16 || gn_source_read_at(w->source, at + 8, bytes, 16) < 16) return refuse(w, "has a format chunk that is too short");
  if (w->has_format) return GIRTHLINE_OK; // the decoder takes the first as well
  w->has_format = true;
  return check_format(w, bytes);
}

// Whether all bytes from here on are whole chunks up to the end: then a length of 0 before them is meant.
static bool only_chunks(const walk *w, int64_t at) {
  unsigned char head[8];
  for (int i = 0; i < MOST_CHUNKS && at < w->source->length; i++) {
    if (gn_source_read_at(w->source, at, head, 8) < 8 || !printable(head)) return false;
    const int64_t size = (int64_t)number(w, head + 4, 4);
    at += 8 + size + (size & 1);
  }
  return at == w->source->length || at == w->source->length + 1;
}

static void patch_number(walk *w, int64_t at, uint64_t value, size_t n) {
  unsigned char bytes[8];
  put_number(w, value, bytes, n);
  gn_source_patch(w->source, at, bytes, n);
}

static void mend_length(walk *w, int64_t at, int64_t available) {
  w->mended = true;
  if (w->ds64_at) {
    patch_number(w, w->ds64_at + 8, (uint64_t)(w->source->length - 8), 8);
    patch_number(w, w->ds64_at + 16, (uint64_t)available, 8);
    return;
  }
  // Over 4 GiB the field cannot hold it: all ones, which the decoder takes for "to the end".
  const uint64_t most = UINT32_MAX;
  patch_number(w, at + 4, (uint64_t)available < most ? (uint64_t)available : most, 4);
}

// The size of the data chunk as it should be.
static girthline_status see_data(walk *w, int64_t at, int64_t *size) {
  if (w->has_data) return refuse(w, "has two pieces of sound, and only one can be read in order");
  if (!w->has_format) return refuse(w, "has its sound before its format");
  w->has_data = true;
  unsigned char bytes[8];
  if (w->ds64_at && gn_source_read_at(w->source, w->ds64_at + 16, bytes, 8) == 8) {
    const uint64_t wide = number(w, bytes, 8);
    *size = wide > INT64_MAX / 2 ? INT64_MAX / 2 : (int64_t)wide;
  }
  const int64_t available = w->source->length - at - 8;
  if (*size > available || (*size == 0 && available > 0 && !only_chunks(w, at + 8))) {
    mend_length(w, at, available);
    *size = available;
  }
  return GIRTHLINE_OK;
}

// The pad byte behind a chunk of odd size that its writer forgot: put it in, so that the next chunk is found.
static void see_padding(walk *w, int64_t end) {
  unsigned char next[5];
  if (gn_source_read_at(w->source, end, next, 5) < 5) return;
  if (next[0] != 0 && printable(next) && !printable(next + 1)) gn_source_insert(w->source, end, "", 1);
}

// The decoder refuses such a file without a word of why, or reads the first and says nothing of the other. Which of the two is meant cannot be
// told, and reading both as one would lay an interval across the seam.
static girthline_status refuse_second(const walk *w) {
  return gn_error_set(w->error, GIRTHLINE_NOT_AUDIO, "audio",
                      "%s: behind its sound this WAV file holds a second WAV file: two were joined byte by byte; name the two files one by one", w->shown);
}

static girthline_status see_chunk(walk *w, int64_t *at) {
  unsigned char head[12] = {0};
  gn_source_read_at(w->source, *at, head, 12);
  int64_t size = (int64_t)number(w, head + 4, 4);
  girthline_status status = GIRTHLINE_OK;
  if (w->has_data && (!memcmp(head, w->big_endian ? "RIFX" : "RIFF", 4) || !memcmp(head, "RF64", 4)) && !memcmp(head + 8, "WAVE", 4)) status = refuse_second(w);
  if (!memcmp(head, "fmt ", 4)) status = see_format(w, *at, size);
  if (!memcmp(head, "ds64", 4) && w->rf64 && size >= 28) w->ds64_at = *at;
  if (!memcmp(head, "data", 4)) status = see_data(w, *at, &size);
  if (status) return status;
  const int64_t end = *at + 8 + size;
  if (end > w->source->length && !w->has_data) memcpy(w->bad, head, 4);
  if (size & 1) see_padding(w, end);
  *at = end + (size & 1);
  return GIRTHLINE_OK;
}

static girthline_status end_of_walk(walk *w) {
  if (!w->has_format && !w->has_data && !w->bad[0]) return refuse(w, "ends before its format and its sound");
  if (w->bad[0]) return refuse(w, "is damaged: a chunk before its sound reaches beyond the end of the file");
  if (!w->has_format) return refuse(w, "has no format chunk");
  if (!w->has_data) return refuse(w, "has no data chunk: nothing was recorded, or it was cut off");
  return GIRTHLINE_OK;
}

girthline_status gn_riff_mend(gn_source *source, const char *shown, bool *mended, girthline_error *error) {
  walk w = {.source = source, .shown = shown, .error = error};
  unsigned char head[12] = {0};
  const int64_t tag = gn_recognise_tag_length(source);
  gn_source_read_at(source, tag, head, 12);
  w.big_endian = !memcmp(head, "RIFX", 4);
  w.rf64 = !memcmp(head, "RF64", 4);
  *mended = false;
  if ((memcmp(head, "RIFF", 4) && !w.big_endian && !w.rf64) || memcmp(head + 8, "WAVE", 4)) return GIRTHLINE_OK;
  gn_source_skip(source, tag); // the decoder finds its way past a tag, but then drops as many bytes at the end
  int64_t at = 12;
  girthline_status status = GIRTHLINE_OK;
  for (int i = 0; !status && i < MOST_CHUNKS && at + 8 <= source->length; i++) status = see_chunk(&w, &at);
  if (!status) status = end_of_walk(&w);
  *mended = w.mended;
  return status;
}
