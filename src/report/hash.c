// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <girthline/report.h>

#include <stdint.h>
#include <stdio.h>
#include <string.h>

#define XXH_INLINE_ALL // nothing is allocated: the hash state stands on the stack
#include <xxhash.h>

#include "base/error.h"
#include "base/file.h"
#include "base/numbers.h"
#include "report/hash.h"

#define PREFIX "xxh3-128:"

static void print(XXH128_hash_t hash, char out[48]) {
  XXH128_canonical_t bytes; // big-endian, as the library's own tools print it
  XXH128_canonicalFromHash(&bytes, hash);
  char *at = out + sprintf(out, PREFIX);
  for (size_t i = 0; i < sizeof bytes.digest; i++) at += sprintf(at, "%02x", bytes.digest[i]);
}

void girthline_content_hash_memory(const void *data, size_t n_bytes, char out[48]) { print(XXH3_128bits(data, n_bytes), out); }

girthline_status girthline_content_hash_path(const char *path, char out[48], girthline_error *error) {
  GN_PLAIN_NUMBERS;
  const char *why;
  FILE *file = gn_file_open(path, &why);
  if (!file) return gn_error_set(error, GIRTHLINE_CANNOT_READ, "report", "%s cannot be opened: %s", path, why);
  XXH3_state_t state;
  XXH3_INITSTATE(&state);
  XXH3_128bits_reset(&state);
  unsigned char block[1 << 16];
  size_t n;
  while ((n = fread(block, 1, sizeof block, file)) > 0) XXH3_128bits_update(&state, block, n);
  const int failed = ferror(file);
  fclose(file);
  if (failed) return gn_error_set(error, GIRTHLINE_CANNOT_READ, "report", "%s cannot be read to its end: copy it to another disk and try that", path);
  print(XXH3_128bits_digest(&state), out);
  return GIRTHLINE_OK;
}

static void take(void *user, const void *bytes, size_t n) { XXH3_128bits_update(user, bytes, n); }

girthline_status gn_content_hash_of(gn_hash_reader *read, void *user, char out[48], girthline_error *error) {
  XXH3_state_t state;
  XXH3_INITSTATE(&state);
  XXH3_128bits_reset(&state);
  const gn_file_taker taker = {take, &state};
  const girthline_status status = read(user, &taker, error);
  if (status == GIRTHLINE_OK) print(XXH3_128bits_digest(&state), out);
  return status;
}

static void add_number(XXH3_state_t *state, double value) {
  if (value != value) value = -1; // every NaN is the same
  if (value == 0) value = 0;      // and -0 is 0
  uint64_t bits;
  memcpy(&bits, &value, sizeof bits);
  unsigned char bytes[8];
  for (int i = 0; i < 8; i++) bytes[i] = (unsigned char)(bits >> (8 * i));
  XXH3_128bits_update(state, bytes, sizeof bytes);
}

void girthline_settings_hash(const girthline_settings *s, char out[48]) {
  GN_PLAIN_NUMBERS;
  XXH3_state_t state;
  XXH3_INITSTATE(&state);
  XXH3_128bits_reset(&state);
  const double fields[] = {s->species, s->species_assumed,        s->age_days < 0 ? -1 : s->age_days,
                           s->side,    s->area,                   s->minutes_after_exercise < 0 ? -1 : s->minutes_after_exercise,
                           s->from_s,  s->to_s <= 0 ? 0 : s->to_s, (double)s->n_given};
  for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) add_number(&state, fields[i]);
  for (size_t i = 0; s->given && i < s->n_given; i++) {
    add_number(&state, s->given[i].time_s);
    add_number(&state, s->given[i].sound);
  }
  const girthline_limits usual = girthline_limits_default(), *limits = s->limits ? s->limits : &usual;
  const girthline_limit *row;
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL; i++) {
    XXH3_128bits_update(&state, row->section, strlen(row->section));
    XXH3_128bits_update(&state, row->name, strlen(row->name));
    add_number(&state, girthline_limit_get(row, limits));
  }
  print(XXH3_128bits_digest(&state), out);
}
