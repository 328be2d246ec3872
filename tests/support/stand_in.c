// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Stands in for the pipeline and the page where the command line is tested: the first word of the file decides the outcome.
// "HEART" (or a RIFF file): a good recording; "NOISE": unusable; "SLEEP": makes a file "started" and takes long; anything else is not audio.
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <girthline/analyse.h>
#include <girthline/report.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/result.h"
#include "made_result.h"
#include "pipeline.h"

static girthline_status answer(const char *word, const char *name, const girthline_settings *settings, girthline_result **out, girthline_error *error) {
  if (settings && settings->from_s > 60) return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "audio", "%s ends before --from", name);
  if (!strncmp(word, "SLEEP", 5)) {
    FILE *started = fopen("started", "w");
    if (started) fclose(started);
    sleep(60);
  }
  const int noise = !strncmp(word, "NOISE", 5);
  if (!noise && strncmp(word, "HEART", 5) && strncmp(word, "RIFF", 4))
    return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s is not audio that can be read: convert it to WAV", name);
  girthline_result *r = noise ? gn_result_new() : made_result(40);
  if (!r) return gn_error_memory(error, "audio");
  if (settings) r->settings = *settings;
  r->beats_given = r->settings.given != NULL;
  r->settings.given = NULL;
  *out = r;
  return GIRTHLINE_OK;
}

girthline_status gn_analyse_file_seen(const char *path, const girthline_settings *settings, const gn_file_taker *taker, girthline_result **out,
                                      girthline_error *error) {
  const girthline_status status = girthline_analyse_file(path, settings, out, error);
  FILE *file = status == GIRTHLINE_OK ? fopen(path, "rb") : NULL;
  char bytes[4096];
  for (size_t n = 1; file && taker && n > 0;) taker->take(taker->user, bytes, n = fread(bytes, 1, sizeof bytes, file));
  if (file) fclose(file);
  return status;
}

girthline_status girthline_analyse_file(const char *path, const girthline_settings *settings, girthline_result **out, girthline_error *error) {
  char word[6] = {0};
  FILE *file = fopen(path, "rb");
  if (!file) return gn_error_set(error, GIRTHLINE_CANNOT_READ, "audio", "%s cannot be opened", path);
  const size_t n = fread(word, 1, 5, file);
  fclose(file);
  word[n] = 0;
  return answer(word, path, settings, out, error);
}

girthline_status girthline_analyse_memory(const void *data, size_t n_bytes, const char *name, const girthline_settings *settings,
                                          girthline_result **out, girthline_error *error) {
  char word[6] = {0};
  memcpy(word, data, n_bytes < 5 ? n_bytes : 5);
  return answer(word, name, settings, out, error);
}

char *girthline_report_html(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, girthline_error *error) {
  (void)inputs;
  (void)options;
  char *page = gn_strprintf("<!doctype html>\n<meta name=\"generator\" content=\"girthline\">\n<p>%zu\n", n);
  if (!page) gn_error_memory(error, "report");
  return page;
}
