// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/beats_file.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "cli/input.h"

// A day of a fast heart: 86400 s * 5 beats/s * 2 sounds * 20 bytes is under this.
#define MOST_BYTES ((size_t)64 << 20)

typedef struct reader {
  const char *path;
  size_t line;
  girthline_given_sound *sounds;
  size_t n, capacity;
  girthline_error *error;
} reader;

static girthline_status fault(const reader *r, const char *what) {
  return gn_error_set(r->error, GIRTHLINE_BAD_HAND_FILE, "beats", "%s, line %zu: %s", r->path, r->line, what);
}

// Cuts spaces and one pair of quotes around a field, in place.
static char *trimmed(char *field) {
  field += strspn(field, " \t");
  size_t n = strlen(field);
  while (n && strchr(" \t\r", field[n - 1])) n--;
  if (n >= 2 && field[0] == '"' && field[n - 1] == '"') {
    field++;
    n -= 2;
  }
  field[n] = 0;
  return field;
}

static bool parse_sound(const char *name, girthline_sound_name *out) {
  if (name[0] != 'S' || name[1] < '1' || name[1] > '4' || name[2]) return false;
  *out = (girthline_sound_name)(name[1] - '1');
  return true;
}

static girthline_status add(reader *r, girthline_given_sound sound) {
  void *items = r->sounds;
  if (gn_grow(&items, &r->capacity, r->n + 1, sizeof sound)) return gn_error_memory(r->error, "beats");
  r->sounds = items;
  r->sounds[r->n++] = sound;
  return GIRTHLINE_OK;
}

static girthline_status read_row(reader *r, char *line) {
  char *comma = strchr(line, ',');
  if (strchr(line, ';')) return fault(r, "the columns are parted by a semicolon; write time_s,sound with a comma");
  if (!comma) return fault(r, "two columns are needed: time_s,sound");
  if (strchr(comma + 1, ',')) return fault(r, "there are more than two columns; a time is written with a decimal point, not a comma");
  *comma = 0;
  const char *time = trimmed(line), *name = trimmed(comma + 1);
  char *end;
  girthline_given_sound sound = {0};
  if (!*time || strspn(time, "0123456789.eE+-") != strlen(time)) return fault(r, "the time is not a number of seconds");
  sound.time_s = strtod(time, &end);
  if (*end || !(sound.time_s >= 0 && sound.time_s < 1e9)) return fault(r, "the time is not a number of seconds from the recording's start");
  if (!parse_sound(name, &sound.sound)) return fault(r, "the sound must be S1, S2, S3 or S4");
  if (r->n && sound.time_s <= r->sounds[r->n - 1].time_s) return fault(r, "the times must rise from line to line");
  return add(r, sound);
}

static girthline_status read_header(reader *r, char *line) {
  char *comma = strchr(line, ',');
  if (comma) *comma = 0;
  if (!comma || strcmp(trimmed(line), "time_s") || strcmp(trimmed(comma + 1), "sound")) return fault(r, "the first line must be time_s,sound");
  return GIRTHLINE_OK;
}

static girthline_status read_lines(reader *r, char *text) {
  bool headed = false;
  girthline_status status = GIRTHLINE_OK;
  if (!strncmp(text, "\xEF\xBB\xBF", 3)) text += 3;
  for (char *next; status == GIRTHLINE_OK && text; text = next) {
    next = strchr(text, '\n');
    if (next) *next++ = 0;
    r->line++;
    if (!text[strspn(text, " \t\r")]) continue;
    status = headed ? read_row(r, text) : read_header(r, text);
    headed = true;
  }
  if (status == GIRTHLINE_OK && !headed) return fault(r, "the file is empty; the first line must be time_s,sound");
  if (status == GIRTHLINE_OK && !r->n) return fault(r, "no sound follows the header");
  return status;
}

girthline_status gn_beats_file_read(const char *path, girthline_given_sound **sounds, size_t *n_sounds, girthline_error *error) {
  char *text = NULL;
  size_t n_bytes = 0;
  girthline_status status = gn_input_text(path, MOST_BYTES, &text, &n_bytes, error);
  if (status != GIRTHLINE_OK) return status;
  reader r = {.path = path, .error = error};
  if (strlen(text) != n_bytes) status = gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, "beats", "%s is not a text file; it must hold lines of time_s,sound", path);
  else status = read_lines(&r, text);
  gn_free(text);
  if (status != GIRTHLINE_OK) {
    gn_free(r.sounds);
    return status;
  }
  *sounds = r.sounds;
  *n_sounds = r.n;
  return GIRTHLINE_OK;
}
