// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The first corpus of the recording target: make_recordings FOLDER writes a short simulated dog's heart in each form libsndfile writes.
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "../unit/audio/memory_file.h"
#include "synth/synth.h"

enum { MOST_N = 8000 * 4 };

typedef struct seed {
  const char *name;
  int format, rate_hz, channels;
  double seconds;
} seed;

// Long enough for beats where a byte a sample does, else just longer than the headers.
static const seed SEEDS[] = {
    {"u8.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 1600, 1, 4},
    {"u8-stereo.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 1600, 2, 2.5},
    {"s16.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2000, 1, 2.5},
    {"s24.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 4000, 1, 0.3},
    {"float.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1600, 1, 1},
    {"double.wav", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 1600, 1, 0.3},
    {"ima.wav", SF_FORMAT_WAV | SF_FORMAT_IMA_ADPCM, 2000, 1, 4},
    {"ms.wav", SF_FORMAT_WAV | SF_FORMAT_MS_ADPCM, 2000, 1, 4},
    {"gsm.wav", SF_FORMAT_WAV | SF_FORMAT_GSM610, 8000, 1, 2},
    {"alaw.wavex", SF_FORMAT_WAVEX | SF_FORMAT_ALAW, 1600, 1, 2},
    {"s16.rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16, 2000, 1, 1},
    {"ulaw.w64", SF_FORMAT_W64 | SF_FORMAT_ULAW, 1600, 1, 1},
    {"s8.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_S8, 1600, 1, 2},
    {"ulaw.au", SF_FORMAT_AU | SF_FORMAT_ULAW, 1600, 1, 2},
    {"alaw.caf", SF_FORMAT_CAF | SF_FORMAT_ALAW, 1600, 1, 2},
    {"alac.caf", SF_FORMAT_CAF | SF_FORMAT_ALAC_16, 8000, 1, 0.5},
    {"s8.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_S8, 1600, 1, 4},
    {"s16.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 4000, 2, 1},
    {"vorbis.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 8000, 1, 2},
    {"opus.ogg", SF_FORMAT_OGG | SF_FORMAT_OPUS, 8000, 1, 3},
    {"layer-iii.mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 8000, 1, 3},
    {"s8.svx", SF_FORMAT_SVX | SF_FORMAT_PCM_S8, 1600, 1, 1},
    {"s16.nist", SF_FORMAT_NIST | SF_FORMAT_PCM_16, 1600, 1, 0.5},
    {"u8.voc", SF_FORMAT_VOC | SF_FORMAT_PCM_U8, 4000, 1, 0.5},
    {"dpcm.xi", SF_FORMAT_XI | SF_FORMAT_DPCM_8, 44100, 1, 0.05},
    {"s16.paf", SF_FORMAT_PAF | SF_FORMAT_PCM_16, 1600, 1, 0.3},
    {"s8.sds", SF_FORMAT_SDS | SF_FORMAT_PCM_S8, 1600, 1, 0.5},
    {"s16.ircam", SF_FORMAT_IRCAM | SF_FORMAT_PCM_16, 1600, 1, 0.3},
    {"s16.mat4", SF_FORMAT_MAT4 | SF_FORMAT_PCM_16, 1600, 1, 0.3},
    {"s16.mat5", SF_FORMAT_MAT5 | SF_FORMAT_PCM_16, 1600, 1, 0.3},
    {"s8.pvf", SF_FORMAT_PVF | SF_FORMAT_PCM_S8, 1600, 1, 0.5},
    {"s8.avr", SF_FORMAT_AVR | SF_FORMAT_PCM_S8, 1600, 1, 0.5},
    {"s16.htk", SF_FORMAT_HTK | SF_FORMAT_PCM_16, 1600, 1, 0.3},
    {"alaw.wve", SF_FORMAT_WVE | SF_FORMAT_ALAW, 8000, 1, 0.2},
    {"s16.mpc2k", SF_FORMAT_MPC2K | SF_FORMAT_PCM_16, 1600, 1, 0.3},
};

static size_t make(const seed *s, float *frames) {
  gn_synth_spec spec;
  gn_synth_spec_init(&spec);
  spec.species = GIRTHLINE_DOG;
  spec.bpm = 150;
  spec.seconds = s->seconds;
  spec.rate_hz = s->rate_hz;
  spec.channels = s->channels;
  spec.snr_db = 20;
  spec.gain_db = 6;
  spec.seed = 5;
  gn_synth *synth = gn_synth_new(&spec, NULL);
  const size_t n = synth && gn_synth_frames(synth) <= MOST_N ? gn_synth_read(synth, frames, gn_synth_frames(synth), NULL) : 0;
  gn_synth_free(synth);
  return n;
}

static int write_seed(const char *folder, const seed *s, const memory_file *m) {
  char path[1024];
  snprintf(path, sizeof path, "%s/%s", folder, s->name);
  FILE *file = fopen(path, "wb");
  if (!file) return 1;
  const int short_of = fwrite(m->bytes, 1, (size_t)m->n, file) != (size_t)m->n;
  return fclose(file) || short_of;
}

int main(int argc, char **argv) {
  static float frames[MOST_N * 2];
  int failed = argc != 2;
  for (size_t i = 0; i < sizeof SEEDS / sizeof *SEEDS && !failed; i++) {
    const size_t n = make(&SEEDS[i], frames);
    memory_file m = memory_file_of(SEEDS[i].format, SEEDS[i].rate_hz, SEEDS[i].channels, frames, n);
    printf("%s: %zu frames, %lld bytes\n", SEEDS[i].name, n, (long long)m.n);
    failed = m.n && write_seed(argv[1], &SEEDS[i], &m);
    free(m.bytes);
  }
  return failed;
}
