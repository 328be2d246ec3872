// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/batch.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"

#define STAGE "batch"

// The endings libsndfile's own forms go by; headerless sound is left out, since nothing in it says what it is.
bool gn_batch_is_recording_name(const char *name) {
  static const char *const ENDINGS[] = {"wav", "wave", "bwf",  "rf64", "w64", "aif", "aiff", "aifc", "flac", "ogg", "oga", "opus",  "mp3",
                                        "mp2", "caf",  "au",   "snd",  "voc", "iff", "svx",  "8svx", "paf",  "fap", "sf",  "ircam", "nist",
                                        "sph", "mat",  "mat4", "mat5", "pvf", "xi",  "htk",  "sds",  "avr",  "wve", "mpc"};
  return gn_file_ends_in(name, ENDINGS, sizeof ENDINGS / sizeof *ENDINGS);
}

bool gn_batch_is_unread_name(const char *name) {
  static const char *const ENDINGS[] = {"m4a", "mp4", "aac", "3gp", "amr", "wma"};
  return gn_file_ends_in(name, ENDINGS, sizeof ENDINGS / sizeof *ENDINGS);
}

static void clear_item(gn_batch_item *it) {
  gn_free(it->file);
  gn_free(it->path);
  gn_free(it->animal);
  gn_free(it->failure);
}

void gn_batch_inputs_clear(gn_batch_inputs *in) {
  for (size_t i = 0; i < in->n; i++) clear_item(&in->items[i]);
  gn_free(in->items);
  *in = (gn_batch_inputs){0};
}

girthline_status gn_batch_inputs_add(gn_batch_inputs *in, gn_batch_item item, girthline_error *error) {
  void *items = in->items;
  if (in->n == GN_BATCH_INPUTS_MOST) {
    clear_item(&item);
    return gn_error_set(error, GIRTHLINE_LIMIT, STAGE, "these are more than %d recordings: part the set into several runs", GN_BATCH_INPUTS_MOST);
  }
  if (!item.file || !item.path || gn_grow(&items, &in->capacity, in->n + 1, sizeof item)) {
    clear_item(&item);
    return gn_error_memory(error, STAGE);
  }
  in->items = items;
  item.number = in->n + 1;
  in->items[in->n++] = item;
  return GIRTHLINE_OK;
}

static int by_file(const void *a, const void *b) {
  const gn_batch_item *x = *(gn_batch_item *const *)a, *y = *(gn_batch_item *const *)b;
  const int order = strcmp(x->file, y->file);
  return order ? order : (x->number > y->number) - (x->number < y->number);
}

// A row is known by its file: one that is there twice would be two rows of one name.
static girthline_status check_once(const gn_batch_inputs *in, girthline_error *error) {
  const gn_batch_item **order = gn_new(in->n, sizeof *order);
  girthline_status status = GIRTHLINE_OK;
  if (!order) return gn_error_memory(error, STAGE);
  for (size_t i = 0; i < in->n; i++) order[i] = &in->items[i];
  qsort(order, in->n, sizeof *order, by_file);
  for (size_t i = 1; i < in->n && !status; i++) {
    const gn_batch_item *a = order[i - 1], *b = order[i];
    if (strcmp(a->file, b->file)) continue;
    if (a->line && b->line)
      status = gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, STAGE, "the list names %s twice: in line %zu and in line %zu", b->file, a->line, b->line);
    else
      status = gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, STAGE, "%s comes twice among the inputs: name each recording once", b->file);
  }
  gn_free(order);
  return status;
}

static bool is_list_name(const char *name) {
  const char *dot = strrchr(name, '.');
  return dot && !strcasecmp(dot, ".csv");
}

// "./set" is "set": whoever names one folder both ways means its recordings once.
static const char *without_here(const char *name) {
  while (name[0] == '.' && name[1] == '/') {
    const char *rest = name + 1 + strspn(name + 1, "/");
    if (!*rest) break;
    name = rest;
  }
  return name;
}

static girthline_status collect_one(gn_batch_inputs *in, const char *name, bool alone, const girthline_settings *settings, girthline_error *error) {
  struct stat st;
  const bool there = !stat(name, &st);
  const int reason = errno;
  if (there && S_ISDIR(st.st_mode)) {
    size_t n = strlen(name);
    while (n > 1 && name[n - 1] == '/') n--;
    char *folder = gn_strprintf("%.*s", (int)n, name);
    const girthline_status status = folder ? gn_batch_walk(in, folder, alone ? "" : without_here(folder), settings, error) : gn_error_memory(error, STAGE);
    gn_free(folder);
    return status;
  }
  if (is_list_name(name)) return gn_batch_list_read(in, name, settings, error);
  if (!there && !gn_batch_is_recording_name(name))
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s; name a folder, a recording or a CSV list", name, strerror(reason));
  return gn_batch_inputs_add(in, (gn_batch_item){.file = gn_strdup(without_here(name)), .path = gn_strdup(name), .settings = *settings}, error);
}

girthline_status gn_batch_inputs_collect(gn_batch_inputs *in, const char *const *names, size_t n, const girthline_settings *settings, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < n && !status; i++) status = collect_one(in, names[i], n == 1, settings, error);
  return status ? status : check_once(in, error);
}
