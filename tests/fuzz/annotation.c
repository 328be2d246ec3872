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

enum { MOST_GIVEN = 200 };

static void analyse_given(const girthline_given_sound *sounds, size_t n) {
  girthline_settings settings = girthline_settings_default();
  settings.given = sounds;
  settings.n_given = n;
  size_t n_bytes;
  const uint8_t *wav = fuzz_bursts(&n_bytes);
  girthline_result *result = NULL;
  girthline_error error = {0};
  const girthline_status status = girthline_analyse_memory(wav, n_bytes, "bursts", &settings, &result, &error);
  fuzz_check_error(status, &error);
  if (!result) return;
  const girthline_report_input input = {.result = result, .name = "bursts", .data = wav, .n_bytes = n_bytes, .content_hash = "xxh3-128:0"};
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
  const gn_score_request request = {.reference = path};
  const girthline_status status = gn_score_reference_read(&request, "one.wav", sound, &excluded, &reason, &error);
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
  fuzz_write(reference, spans ? (const void *)PLAIN : data, spans ? sizeof PLAIN - 1 : n);
  fuzz_write(exclude, spans ? (const void *)data : "start_s,end_s\n", spans ? n : 14);
  if (!spans) as_beats(reference);
  as_reference(reference);
  return 0;
}
