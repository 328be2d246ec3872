// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/intervals.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"

enum { LINE_BYTES = 256 };

void gn_synth_intervals_clear(gn_synth_intervals *list) {
  if (!list) return;
  gn_free(list->len_s);
  gn_free(list->early);
  *list = (gn_synth_intervals){0};
}

// "1.234" or "1.234,0": false for anything else.
static bool parse_line(const char *line, double *len_s, bool *early) {
  char *end;
  *early = false;
  if (!*line || line[strspn(line, "0123456789.,")]) return false;
  *len_s = strtod(line, &end);
  if (end == line || (*end && *end != ',')) return false;
  if (!*end) return true;
  *early = end[1] == '1';
  return (end[1] == '0' || end[1] == '1') && !end[2];
}

static int add(gn_synth_intervals *list, size_t *room, double len_s, bool early) {
  size_t flags = *room;
  if (gn_grow((void **)&list->early, &flags, list->n + 1, sizeof *list->early)) return -1;
  if (gn_grow((void **)&list->len_s, room, list->n + 1, sizeof *list->len_s)) return -1;
  list->len_s[list->n] = len_s;
  list->early[list->n++] = early;
  return 0;
}

static girthline_status read_lines(FILE *f, const char *path, gn_synth_intervals *list, girthline_error *error) {
  char line[LINE_BYTES];
  size_t room = 0;
  bool headed = false;
  for (int at = 1; fgets(line, sizeof line, f); at++) {
    line[strcspn(line, "\r\n")] = '\0';
    if (!*line || *line == '#') continue;
    if (!headed) {
      headed = true;
      if (!strcmp(line, "interval_s") || !strcmp(line, "interval_s,early")) continue;
      return gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, "synth", "%s, line %d: the header has to be interval_s or interval_s,early.", path, at);
    }
    double len_s;
    bool early;
    if (!parse_line(line, &len_s, &early) || !(len_s >= GN_SYNTH_INTERVAL_LEAST_S && len_s <= GN_SYNTH_INTERVAL_MOST_S))
      return gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, "synth", "%s, line %d: an interval from %g to %g s, then 0 or 1 where early is told.", path, at,
                          GN_SYNTH_INTERVAL_LEAST_S, GN_SYNTH_INTERVAL_MOST_S);
    if (add(list, &room, len_s, early)) return gn_error_memory(error, "synth");
  }
  if (ferror(f)) return gn_error_set(error, GIRTHLINE_CANNOT_READ, "synth", "%s cannot be read: %s.", path, strerror(errno));
  return list->n ? GIRTHLINE_OK : gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, "synth", "%s holds no interval.", path);
}

girthline_status gn_synth_intervals_read(const char *path, gn_synth_intervals *out, girthline_error *error) {
  *out = (gn_synth_intervals){0};
  FILE *f = fopen(path, "r");
  if (!f) return gn_error_set(error, GIRTHLINE_CANNOT_READ, "synth", "%s cannot be read: %s.", path, strerror(errno));
  const girthline_status status = read_lines(f, path, out, error);
  fclose(f);
  if (status) gn_synth_intervals_clear(out);
  return status;
}
