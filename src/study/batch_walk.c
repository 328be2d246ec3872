// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/batch.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"

#define STAGE "batch"

typedef struct place {
  dev_t device;
  ino_t inode;
} place;

typedef struct walk {
  gn_batch_inputs *inputs;
  const girthline_settings *settings;
  girthline_error *error;
  place *seen; // folders entered: links in circles, or many ways to one folder, end here
  size_t n_seen, seen_capacity;
} walk;

typedef struct names {
  char **name;
  size_t n, capacity;
} names;

static void clear_names(names *list) {
  for (size_t i = 0; i < list->n; i++) gn_free(list->name[i]);
  gn_free(list->name);
}

static int by_bytes(const void *a, const void *b) { return strcmp(*(char *const *)a, *(char *const *)b); }

// The entries of a folder in byte order; the folder is closed again before any is looked at. -1: errno; 0: done; 1: memory.
static int list_names(const char *path, names *list) {
  DIR *folder = opendir(path);
  if (!folder) return -1;
  int result = 0;
  const struct dirent *entry;
  while (!result && (errno = 0, entry = readdir(folder))) {
    if (entry->d_name[0] == '.') continue; // hidden, "._" and the folder itself
    void *items = list->name;
    if (gn_grow(&items, &list->capacity, list->n + 1, sizeof *list->name)) {
      result = 1;
      break;
    }
    list->name = items;
    if ((list->name[list->n] = gn_strdup(entry->d_name)))
      list->n++;
    else
      result = 1;
  }
  if (!result && errno) result = -1;
  const int reason = errno;
  closedir(folder);
  errno = reason;
  if (!result && list->n) qsort(list->name, list->n, sizeof *list->name, by_bytes);
  return result;
}

// 1: entered for the first time; 0: seen before; -1: memory.
static int enter(walk *w, const struct stat *st) {
  for (size_t i = 0; i < w->n_seen; i++)
    if (w->seen[i].inode == st->st_ino && w->seen[i].device == st->st_dev) return 0;
  void *items = w->seen;
  if (gn_grow(&items, &w->seen_capacity, w->n_seen + 1, sizeof *w->seen)) return -1;
  w->seen = items;
  w->seen[w->n_seen++] = (place){st->st_dev, st->st_ino};
  return 1;
}

static girthline_status add_row(walk *w, const char *path, const char *shown, char *failure) {
  return gn_batch_inputs_add(w->inputs, (gn_batch_item){.file = gn_strdup(shown), .path = gn_strdup(path), .failure = failure, .settings = *w->settings},
                             w->error);
}

static girthline_status walk_folder(walk *w, const char *path, const char *shown);

static girthline_status look_at(walk *w, const char *path, const char *shown) {
  struct stat st;
  const bool there = !stat(path, &st);
  const int reason = errno;
  if (there && S_ISDIR(st.st_mode)) {
    const int first = enter(w, &st);
    if (first < 0) return gn_error_memory(w->error, STAGE);
    return first ? walk_folder(w, path, shown) : GIRTHLINE_OK;
  }
  if (gn_batch_is_recording_name(path)) return add_row(w, path, shown, NULL);
  w->inputs->n_unread += there && gn_batch_is_unread_name(path);
  // Only a file that could not be looked at may be a folder that holds recordings: a row says so.
  const bool lost = !there && (reason == ENAMETOOLONG || reason == EACCES) && !strchr(strrchr(path, '/') + 1, '.');
  return lost ? add_row(w, path, shown, gn_strprintf("it cannot be looked at, and may be a folder: %s", strerror(reason))) : GIRTHLINE_OK;
}

static girthline_status walk_folder(walk *w, const char *path, const char *shown) {
  names list = {0};
  girthline_status status = GIRTHLINE_OK;
  const int listed = list_names(path, &list), reason = errno;
  if (listed > 0) status = gn_error_memory(w->error, STAGE);
  if (listed < 0) status = add_row(w, path, *shown ? shown : ".", gn_strprintf("this folder cannot be read: %s", strerror(reason)));
  for (size_t i = 0; i < list.n && !status && !listed; i++) {
    const char *const slash = path[strlen(path) - 1] == '/' ? "" : "/";
    char *inner = gn_strprintf("%s%s%s", path, slash, list.name[i]);
    char *inner_shown = *shown ? gn_strprintf("%s%s%s", shown, shown[strlen(shown) - 1] == '/' ? "" : "/", list.name[i]) : gn_strdup(list.name[i]);
    status = inner && inner_shown ? look_at(w, inner, inner_shown) : gn_error_memory(w->error, STAGE);
    gn_free(inner);
    gn_free(inner_shown);
  }
  clear_names(&list);
  return status;
}

girthline_status gn_batch_walk(gn_batch_inputs *in, const char *folder, const char *prefix, const girthline_settings *settings, girthline_error *error) {
  walk w = {.inputs = in, .settings = settings, .error = error};
  struct stat st;
  girthline_status status = GIRTHLINE_OK;
  if (access(folder, R_OK)) // one further in is a row; this one was asked for
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "the folder %s cannot be read: %s; ask for the right to read it", folder, strerror(errno));
  if (!stat(folder, &st) && enter(&w, &st) < 0) status = gn_error_memory(error, STAGE);
  if (!status) status = walk_folder(&w, folder, prefix);
  gn_free(w.seen);
  return status;
}
