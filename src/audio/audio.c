// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/audio.h"

#include <errno.h>
#include <math.h>
#include <pthread.h>
#include <stdint.h>
#include <string.h>

#include "audio/caf.h"
#include "audio/facts.h"
#include "audio/internal.h"
#include "audio/mpeg.h"
#include "audio/recognise.h"
#include "audio/riff.h"
#include "audio/sds.h"
#include "base/error.h"
#include "base/memory.h"
#include "base/wide.h"

static sf_count_t io_length(void *user) { return ((gn_source *)user)->length; }
static sf_count_t io_tell(void *user) { return ((gn_source *)user)->at; }
static sf_count_t io_write(const void *bytes, sf_count_t n, void *user) { return (void)bytes, (void)n, (void)user, 0; }

static sf_count_t io_seek(sf_count_t offset, int whence, void *user) {
  gn_source *source = user;
  const int64_t from = whence == SEEK_CUR ? source->at : whence == SEEK_END ? source->length : 0;
  int64_t to;
  if (__builtin_add_overflow(from, offset, &to) || to < 0) return -1;
  return source->at = to;
}

static sf_count_t io_read(void *bytes, sf_count_t n, void *user) {
  gn_source *source = user;
  const int64_t got = gn_source_read_at(source, source->at, bytes, n);
  source->at += got;
  return got;
}

static SF_VIRTUAL_IO io = {io_length, io_seek, io_read, io_write, io_tell};

// libsndfile keeps the reason of a failed opening in one place for the whole process.
static pthread_mutex_t opening = PTHREAD_MUTEX_INITIALIZER;

static girthline_status open_decoder(gn_audio *audio, girthline_error *error) {
  audio->info = (SF_INFO){0};
  audio->source.at = 0;
  pthread_mutex_lock(&opening);
  audio->file = sf_open_virtual(&io, SFM_READ, &audio->info, &audio->source);
  pthread_mutex_unlock(&opening);
  if (audio->file) return GIRTHLINE_OK;
  return gn_recognise_explain(&audio->source, audio->shown, error);
}

// Codings whose decoder carries a memory from frame to frame: after a seek the samples would differ a little.
static bool is_lossy_stream(int format) {
  const int coding = format & SF_FORMAT_SUBMASK;
  return coding == SF_FORMAT_VORBIS || coding == SF_FORMAT_OPUS || coding == SF_FORMAT_MPEG_LAYER_I || coding == SF_FORMAT_MPEG_LAYER_II ||
         coding == SF_FORMAT_MPEG_LAYER_III;
}

static bool is_whole_numbers(int format) {
  const int coding = format & SF_FORMAT_SUBMASK;
  return coding != SF_FORMAT_FLOAT && coding != SF_FORMAT_DOUBLE && !is_lossy_stream(format);
}

// Forms whose length stands in the header or in the last page rather than in the number of bytes.
static bool is_length_a_promise(int format) {
  const int container = format & SF_FORMAT_TYPEMASK;
  return container == SF_FORMAT_FLAC || container == SF_FORMAT_CAF || container == SF_FORMAT_OGG || is_lossy_stream(format);
}

static void read_date(gn_audio *audio) {
  char *text = audio->recording.recorded_at;
  const size_t size = sizeof audio->recording.recorded_at;
  SF_BROADCAST_INFO bext = {0};
  if (sf_command(audio->file, SFC_GET_BROADCAST_INFO, &bext, sizeof bext) == SF_TRUE) {
    char date[sizeof bext.origination_date + 1] = "", time[sizeof bext.origination_time + 1] = "";
    memcpy(date, bext.origination_date, sizeof bext.origination_date);
    memcpy(time, bext.origination_time, sizeof bext.origination_time);
    gn_audio_date(date, time, text, size);
  }
  if (!*text) gn_audio_date(sf_get_string(audio->file, SF_STR_DATE), NULL, text, size);
}

static void set_facts(gn_audio *audio) {
  girthline_recording *r = &audio->recording;
  r->channels = audio->info.channels;
  r->duration_s = (double)audio->end / r->sample_rate_hz;
  gn_audio_encoding(audio->info.format, r->encoding, sizeof r->encoding);
  read_date(audio);
  audio->whole_numbers = is_whole_numbers(audio->info.format);
  audio->rereads = !audio->info.seekable || is_lossy_stream(audio->info.format);
}

// Containers whose samples of 16 bits libsndfile takes from the file as they are.
static bool is_plain_16(int format) {
  const int container = format & SF_FORMAT_TYPEMASK;
  return (format & SF_FORMAT_SUBMASK) == SF_FORMAT_PCM_16 &&
         (container == SF_FORMAT_WAV || container == SF_FORMAT_WAVEX || container == SF_FORMAT_RF64 || container == SF_FORMAT_W64 || container == SF_FORMAT_AIFF);
}

GN_WIDE static void scale(const short *restrict from, size_t n, float *restrict to) {
  for (size_t i = 0; i < n; i++) to[i] = (float)from[i] * (1.0f / 32768);
}

// sf_readf_float, which turns whole numbers into float one by one; read ahead, so that few samples at a time may be asked for.
static size_t read_16(gn_audio *audio, float *frames, size_t n) {
  const size_t channels = (size_t)audio->info.channels;
  if (audio->whole_at == audio->n_whole) {
    const size_t room = sizeof audio->whole / sizeof *audio->whole / channels, left = audio->end - audio->at;
    const sf_count_t k = sf_readf_short(audio->file, audio->whole, (sf_count_t)(left < room ? left : room));
    audio->whole_at = 0;
    audio->n_whole = k > 0 ? (size_t)k * channels : 0;
  }
  const size_t ready = (audio->n_whole - audio->whole_at) / channels, some = ready < n ? ready : n;
  scale(audio->whole + audio->whole_at, some * channels, frames);
  audio->whole_at += some * channels;
  return some;
}

static size_t read_float(gn_audio *audio, float *frames, size_t n) {
  const sf_count_t k = sf_readf_float(audio->file, frames, (sf_count_t)n);
  return k > 0 ? (size_t)k : 0;
}

size_t gn_audio_read_frames(gn_audio *audio, float *frames, size_t n) {
  if (n > audio->end - audio->at) n = audio->end - audio->at;
  const bool plain_16 = is_plain_16(audio->info.format);
  size_t got = 0;
  for (size_t k = 1; audio->file && got < n && k; got += k, audio->at += k) {
    float *to = frames + got * (size_t)audio->info.channels;
    k = plain_16 ? read_16(audio, to, n - got) : read_float(audio, to, n - got);
  }
  if (got < n) { // the header promised more than there is
    audio->end = audio->at;
    audio->recording.duration_s = (double)audio->end / audio->recording.sample_rate_hz;
    audio->recording.repaired = true;
  }
  return got;
}

static girthline_status reopen(gn_audio *audio, girthline_error *error) {
  sf_close(audio->file);
  audio->file = NULL;
  audio->whole_at = audio->n_whole = 0;
  const girthline_status status = open_decoder(audio, error);
  audio->at = 0;
  return status;
}

// Most frames one byte can stand for: the longest FLAC block (65535) of one constant takes 14 bytes.
static const int64_t MOST_FRAMES_A_BYTE = 5000;

// Whether the last frame that the header promises is there.
static bool last_frame_is_there(gn_audio *audio) {
  const int64_t frames = audio->info.frames;
  if (frames <= 0 || frames / MOST_FRAMES_A_BYTE > audio->source.length) return false;
  if (audio->mpeg_most_n >= 0) return frames <= audio->mpeg_most_n;
  return sf_seek(audio->file, frames - 1, SEEK_SET) == frames - 1 && sf_readf_float(audio->file, audio->block, 1) == 1;
}

// The true length, by decoding it all where the header cannot be believed.
static girthline_status settle_length(gn_audio *audio, girthline_error *error) {
  audio->end = audio->info.frames > 0 ? (size_t)audio->info.frames : 0;
  if (!is_length_a_promise(audio->info.format)) return GIRTHLINE_OK;
  const bool there = last_frame_is_there(audio);
  girthline_status status = reopen(audio, error);
  if (status || there) return status;
  audio->end = SIZE_MAX;
  while (gn_audio_read_frames(audio, audio->block, GN_AUDIO_BLOCK) == GN_AUDIO_BLOCK) continue;
  audio->recording.repaired = true;
  return reopen(audio, error);
}

// Other containers than WAV are shortened by the decoder, which tells it only in its log.
static bool was_shortened(gn_audio *audio) {
  char log[4096] = "";
  sf_command(audio->file, SFC_GET_LOG_INFO, log, sizeof log);
  const int container = audio->info.format & SF_FORMAT_TYPEMASK;
  return (container == SF_FORMAT_AIFF || container == SF_FORMAT_AU || container == SF_FORMAT_SVX || container == SF_FORMAT_W64) && strstr(log, "(should be");
}

static girthline_status look(gn_audio *audio, girthline_error *error) {
  const int64_t start_at = gn_recognise_tag_length(&audio->source);
  girthline_status status = gn_recognise_refuse(&audio->source, audio->shown, error);
  if (!status && gn_mpeg_only_resembles(&audio->source, start_at)) status = gn_recognise_explain(&audio->source, audio->shown, error);
  if (!status) status = gn_riff_mend(&audio->source, audio->shown, &audio->recording.repaired, error);
  if (!status && (gn_mpeg_mend(&audio->source, start_at, &audio->mpeg_most_n) || gn_caf_mend(&audio->source) || gn_sds_mend(&audio->source))) audio->recording.repaired = true;
  return status;
}

static girthline_status start(gn_audio *audio, girthline_error *error) {
  girthline_status status = look(audio, error);
  if (!status) status = open_decoder(audio, error);
  if (!status) status = gn_audio_check_form(audio->info.samplerate, audio->info.channels, audio->shown, error);
  if (status) return status;
  if (was_shortened(audio)) audio->recording.repaired = true;
  audio->recording.sample_rate_hz = audio->info.samplerate;
  audio->block = gn_new((size_t)audio->info.channels * GN_AUDIO_BLOCK, sizeof *audio->block);
  if (!audio->block) return gn_error_memory(error, "audio");
  status = settle_length(audio, error);
  if (!status && audio->end == 0)
    status = gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s: this recording has a header but no sound in it; copy it from the recorder again, or record again", audio->shown);
  if (!status) set_facts(audio);
  return status;
}

static girthline_status finish_open(gn_audio *audio, girthline_status status, gn_audio **out, girthline_error *error) {
  if (!status) status = start(audio, error);
  if (status)
    gn_audio_close(audio);
  else
    *out = audio;
  return status;
}

static gn_audio *fresh(const char *name, girthline_error *error) {
  gn_audio *audio = gn_new(1, sizeof *audio);
  if (!audio) {
    gn_error_memory(error, "audio");
    return NULL;
  }
  audio->source.fd = -1;
  gn_audio_shown_name(name, audio->shown, sizeof audio->shown);
  return audio;
}

girthline_status gn_audio_open_path(const char *path, gn_audio **out, girthline_error *error) {
  *out = NULL;
  gn_audio *audio = fresh(path, error);
  if (!audio) return GIRTHLINE_NO_MEMORY;
  return finish_open(audio, gn_source_open_path(&audio->source, path, audio->shown, error), out, error);
}

girthline_status gn_audio_open_memory(const void *data, size_t n_bytes, const char *name, gn_audio **out, girthline_error *error) {
  *out = NULL;
  gn_audio *audio = fresh(name, error);
  if (!audio) return GIRTHLINE_NO_MEMORY;
  gn_source_open_memory(&audio->source, data, n_bytes);
  return finish_open(audio, GIRTHLINE_OK, out, error);
}

void gn_audio_close(gn_audio *audio) {
  if (!audio) return;
  if (audio->file) sf_close(audio->file);
  gn_source_close(&audio->source);
  gn_free(audio->block);
  gn_free(audio);
}

void gn_audio_show(gn_audio *audio, const gn_file_taker *taker) { audio->source.taker = taker; }

girthline_status gn_audio_show_rest(gn_audio *audio, girthline_error *error) {
  const int failed = gn_source_show_rest(&audio->source);
  if (!failed) return GIRTHLINE_OK;
  return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s cannot be read to its end (%s): copy it to another disk and try that", audio->shown, strerrordesc_np(failed));
}

const girthline_recording *gn_audio_recording(const gn_audio *audio) { return &audio->recording; }
const char *gn_audio_name(const gn_audio *audio) { return audio->shown; }

static void clean(const gn_audio *audio, float *samples, size_t n) {
  for (size_t i = 0; i < n && !audio->whole_numbers; i++)
    if (!(fabsf(samples[i]) <= GN_AUDIO_SAMPLE_MOST)) samples[i] = 0;
}

static size_t read_one_of_many(gn_audio *audio, float *samples, size_t n) {
  const size_t channels = (size_t)audio->info.channels;
  size_t got = 0;
  while (got < n) {
    const size_t want = n - got < GN_AUDIO_BLOCK ? n - got : GN_AUDIO_BLOCK;
    const size_t k = gn_audio_read_frames(audio, audio->block, want);
    for (size_t i = 0; i < k; i++) samples[got + i] = audio->block[i * channels + audio->channel];
    got += k;
    if (k < want) break;
  }
  return got;
}

girthline_status gn_audio_read(gn_audio *audio, float *samples, size_t n, size_t *got, girthline_error *error) {
  *got = audio->info.channels > 1 ? read_one_of_many(audio, samples, n) : gn_audio_read_frames(audio, samples, n);
  clean(audio, samples, *got);
  if (audio->source.io_errno)
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s: reading broke off at %.1f s (%s); copy the file to another disk and try the copy", audio->shown,
                        (double)audio->at / audio->recording.sample_rate_hz, strerrordesc_np(audio->source.io_errno));
  return GIRTHLINE_OK;
}

girthline_status gn_audio_seek(gn_audio *audio, size_t frame, girthline_error *error) {
  if (frame > audio->end) frame = audio->end;
  if (!audio->rereads && sf_seek(audio->file, (sf_count_t)frame, SEEK_SET) == (sf_count_t)frame) {
    audio->at = frame;
    audio->whole_at = audio->n_whole = 0;
    return GIRTHLINE_OK;
  }
  float skipped[GN_AUDIO_BLOCK];
  girthline_status status = frame < audio->at || !audio->rereads ? reopen(audio, error) : GIRTHLINE_OK;
  for (size_t got = 1; !status && got && audio->at < frame;)
    status = gn_audio_read(audio, skipped, frame - audio->at < GN_AUDIO_BLOCK ? frame - audio->at : GN_AUDIO_BLOCK, &got, error);
  return status;
}
