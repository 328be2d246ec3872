// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Sounds written by hand: as --beats, on into the analysis of a short recording; as a reference to score against; as spans that
// are excluded from scoring.
#include "fuzz.h"

#include <math.h>
#include <string.h>

#include <girthline/analyse.h>
#include <girthline/report.h>

#include "base/memory.h"
#include "cli/beats_file.h"
#include "study/score.h"

enum { FS_HZ = 2000, SECONDS = 3, HEADER_N = 44, DATA_N = FS_HZ * SECONDS, MOST_GIVEN = 200 };

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

static void analyse_given(const girthline_given_sound *sounds, size_t n) {
  girthline_settings settings = girthline_settings_default();
  settings.given = sounds;
  settings.n_given = n;
  girthline_result *result = NULL;
  girthline_error error = {0};
  const girthline_status status = girthline_analyse_memory(wav, sizeof wav, "bursts", &settings, &result, &error);
  fuzz_check_error(status, &error);
  if (!result) return;
  const girthline_report_input input = {.result = result, .name = "bursts", .data = wav, .n_bytes = sizeof wav, .content_hash = "xxh3-128:0"};
  char *json = girthline_report_json(&input, 1, &error);
  fuzz_check_json(json);
  girthline_text_free(json);
  girthline_result_free(result);
}

static void as_beats(const char *path) {
  girthline_given_sound *sounds = NULL;
  size_t n_sounds = 0;
  girthline_error error = {0};
  const girthline_status status = gn_beats_file_read(path, &sounds, &n_sounds, &error);
  fuzz_check_error(status, &error);
  if (status) return;
  for (size_t i = 1; i < n_sounds; i++) FUZZ_HOLDS(sounds[i].time_s > sounds[i - 1].time_s);
  if (n_sounds <= MOST_GIVEN) analyse_given(sounds, n_sounds);
  gn_free(sounds);
}

static void as_reference(const char *path) {
  gn_score_times sound[4] = {{0}};
  gn_score_spans excluded = {0};
  char *reason = NULL;
  girthline_error error = {0};
  const girthline_status status = gn_score_reference_read(path, "one.wav", sound, &excluded, &reason, &error);
  fuzz_check_error(status, &error);
  for (int k = 0; k < 4; k++) {
    for (size_t i = 1; i < sound[k].n; i++) FUZZ_HOLDS(sound[k].at_s[i] >= sound[k].at_s[i - 1]);
    gn_free(sound[k].at_s);
  }
  for (size_t i = 0; i < excluded.n; i++) FUZZ_HOLDS(excluded.span[i].end_s > excluded.span[i].start_s);
  gn_free(excluded.span);
  gn_free(reason);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  static const char PLAIN[] = "time_s,sound\n0.5,S1\n0.7,S2\n";
  const char *reference = fuzz_place("one.csv"), *exclude = fuzz_place("one.exclude.csv");
  const int spans = n > 5 && !memcmp(data, "start", 5);
  if (!wav[0]) make_wav();
  fuzz_write(reference, spans ? (const void *)PLAIN : data, spans ? sizeof PLAIN - 1 : n);
  fuzz_write(exclude, spans ? (const void *)data : "start_s,end_s\n", spans ? n : 14);
  if (!spans) as_beats(reference);
  as_reference(reference);
  return 0;
}
