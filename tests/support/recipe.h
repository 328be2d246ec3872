// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Tables of files made from recipes (the language stands at the top of tests/cases/damaged.txt).
#ifndef TESTS_RECIPE_H
#define TESTS_RECIPE_H

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct recipe_row {
  char name[60], expected[40], words[200];
  unsigned char *bytes;
  size_t n_bytes;
} recipe_row;

typedef struct recipe_table {
  recipe_row rows[300];
  size_t n;
} recipe_table;

static inline void recipe_put(recipe_row *row, const void *bytes, size_t n) {
  row->bytes = realloc(row->bytes, row->n_bytes + n + 1);
  memcpy(row->bytes + row->n_bytes, bytes, n);
  row->n_bytes += n;
}

static inline void recipe_number(recipe_row *row, uint64_t value, size_t n, int big_endian) {
  unsigned char bytes[8];
  for (size_t i = 0; i < n; i++) bytes[big_endian ? n - 1 - i : i] = (unsigned char)(value >> (8 * i));
  recipe_put(row, bytes, n);
}

static inline void recipe_format(recipe_row *row, const char *text) {
  unsigned long v[4] = {0};
  char *end = (char *)(uintptr_t)text;
  for (int i = 0; i < 4; i++, end += *end == ',') v[i] = strtoul(end, &end, 10);
  const unsigned long frame = v[1] * ((v[3] + 7) / 8);
  recipe_put(row, "fmt ", 4);
  recipe_number(row, 16, 4, 0);
  recipe_number(row, v[0], 2, 0);
  recipe_number(row, v[1], 2, 0);
  recipe_number(row, v[2], 4, 0);
  recipe_number(row, v[2] * frame, 4, 0);
  recipe_number(row, frame, 2, 0);
  recipe_number(row, v[3], 2, 0);
}

static inline void recipe_fill(recipe_row *row, const char *kind, unsigned long n) {
  uint32_t seed = 1;
  for (unsigned long i = 0; i < n; i++) {
    seed = seed * 1664525U + 1013904223U;
    if (*kind == 's')
      recipe_number(row, (uint64_t)(int64_t)lrint(8000 * sin((double)i * 0.1)), 2, 0);
    else
      recipe_number(row, *kind == 'z' ? 0 : seed >> 24, 1, 0);
  }
}

static inline void recipe_floats(recipe_row *row, const char *text) {
  for (char *end; *text; text = end + (*end == ',')) {
    const float x = strtof(text, &end);
    recipe_put(row, &x, 4); // the tests run on little-endian machines; a big-endian one would need it turned
  }
}

static inline void recipe_token(recipe_row *row, const char *token) {
  const char *colon = strchr(token, ':');
  if (*token == '\'') {
    for (const char *c = token + 1; *c && *c != '\''; c++) recipe_put(row, *c == '_' ? " " : c, 1);
  } else if (!strncmp(token, "x:", 2)) {
    for (const char *c = token + 2; c[0] && c[1]; c += 2) recipe_number(row, strtoul((char[]){c[0], c[1], 0}, NULL, 16), 1, 0);
  } else if (!strncmp(token, "le", 2) || !strncmp(token, "be", 2)) {
    recipe_number(row, strtoull(colon + 1, NULL, 10), strtoul(token + 2, NULL, 10) / 8, *token == 'b');
  } else if (!strncmp(token, "fmt:", 4)) {
    recipe_format(row, colon + 1);
  } else if (!strncmp(token, "f32:", 4)) {
    recipe_floats(row, colon + 1);
  } else if (colon && (*token == 's' || *token == 'z' || *token == 'r')) {
    recipe_fill(row, token, strtoul(colon + 1, NULL, 10));
  } else {
    fprintf(stderr, "unknown piece in a recipe: %s\n", token);
    abort();
  }
}

// The next field up to '|', without the spaces round it.
static inline char *recipe_field(char **line) {
  char *field = *line, *bar = strchr(field, '|');
  *line = bar ? bar + 1 : field + strlen(field);
  char *end = bar ? bar : *line;
  while (*field == ' ') field++;
  while (end > field && (end[-1] == ' ' || end[-1] == '\n')) end--;
  *end = 0;
  return field;
}

static inline recipe_table *recipe_table_read(const char *path) {
  recipe_table *table = calloc(1, sizeof *table);
  FILE *f = fopen(path, "r");
  char line[2000];
  if (!f) {
    fprintf(stderr, "cannot read %s\n", path);
    abort();
  }
  while (fgets(line, sizeof line, f)) {
    if (*line == '#' || *line == '\n') continue;
    recipe_row *row = &table->rows[table->n++];
    char *rest = line, *save;
    snprintf(row->name, sizeof row->name, "%s", recipe_field(&rest));
    snprintf(row->expected, sizeof row->expected, "%s", recipe_field(&rest));
    snprintf(row->words, sizeof row->words, "%s", recipe_field(&rest));
    row->bytes = calloc(1, 1);
    for (char *token = strtok_r(rest, " \n", &save); token; token = strtok_r(NULL, " \n", &save)) recipe_token(row, token);
  }
  fclose(f);
  return table;
}

static inline void recipe_table_free(recipe_table *table) {
  for (size_t i = 0; i < table->n; i++) free(table->rows[i].bytes);
  free(table);
}

#endif
