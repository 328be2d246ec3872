// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// One thread a recording. Analyses share nothing, so there is nothing to lock; each has a result and an error of its own.
//   cc many_threads.c $(pkg-config --cflags --libs girthline) -pthread -o many_threads
//   ./many_threads RECORDING...
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>

#include <girthline/girthline.h>

typedef struct work {
  pthread_t thread;
  int started;
  const char *path;
  girthline_status status;
  girthline_result *result;
  girthline_error error;
} work;

static void *analyse(void *argument) {
  work *w = argument;
  w->status = girthline_analyse_file(w->path, NULL, &w->result, &w->error);
  return NULL;
}

// Wait for one and print its line; 1 where it went wrong.
static int finish(work *w) {
  if (w->started) pthread_join(w->thread, NULL);
  else analyse(w); // no thread could be had for it
  if (w->status != GIRTHLINE_OK) fprintf(stderr, "%s\n", w->error.text);
  else if (isnan(w->result->rate.bpm)) printf("%s: rate not determined\n", w->path);
  else printf("%s: %zu beats, %.1f a minute\n", w->path, w->result->n_beats, w->result->rate.bpm);
  girthline_result_free(w->result);
  return w->status != GIRTHLINE_OK;
}

int main(int argc, char **argv) {
  const int n = argc - 1;
  work *all = calloc((size_t)n + 1, sizeof *all);
  int bad = 0;
  if (!all) return 1;
  for (int i = 0; i < n; i++) {
    all[i].path = argv[i + 1];
    all[i].started = !pthread_create(&all[i].thread, NULL, analyse, &all[i]);
  }
  for (int i = 0; i < n; i++) bad += finish(&all[i]);
  free(all);
  return bad > 0;
}
