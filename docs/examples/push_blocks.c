// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// Sound as it comes: 32-bit float samples of one channel on standard input, in the byte order of this machine.
//   cc push_blocks.c $(pkg-config --cflags --libs girthline) -o push_blocks
//   ./push_blocks RATE_HZ < SAMPLES
#include <stdio.h>
#include <stdlib.h>

#include <girthline/girthline.h>

#define BLOCK_N 1000 // as many as are at hand; the result does not hang on it

// Every block that standard input has, then the result.
static girthline_status listen_to(girthline_analysis *analysis, girthline_result **result, girthline_error *error) {
  float samples[BLOCK_N];
  girthline_status status = GIRTHLINE_OK;
  for (size_t n = 1; status == GIRTHLINE_OK && n > 0;) {
    n = fread(samples, sizeof samples[0], BLOCK_N, stdin);
    status = girthline_analysis_push(analysis, samples, n, error);
  }
  return status == GIRTHLINE_OK ? girthline_analysis_finish(analysis, result, error) : status;
}

int main(int argc, char **argv) {
  if (argc != 2) {
    fprintf(stderr, "usage: push_blocks RATE_HZ < SAMPLES\n");
    return 2;
  }
  const girthline_recording recording = {.sample_rate_hz = strtod(argv[1], NULL)};
  girthline_error error = {0};
  girthline_analysis *analysis = NULL;
  girthline_result *result = NULL;
  girthline_status status = girthline_analysis_new(&recording, NULL, &analysis, &error);
  if (status == GIRTHLINE_OK) status = listen_to(analysis, &result, &error);
  girthline_analysis_free(analysis);
  if (status != GIRTHLINE_OK) {
    fprintf(stderr, "%s\n", error.text);
    return 1;
  }
  printf("%.1f s, %zu beats\n", result->recording.duration_s, result->n_beats);
  for (size_t i = 0; i < result->n_beats; i++) printf("%.3f\n", result->beats[i].s1_onset_s);
  girthline_result_free(result);
  return 0;
}
