// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <girthline/limits.h>

#include <string.h>

#define ROW(part, name, unit, usual, lowest, highest, what, source) \
  {#part, #name, unit, usual, lowest, highest, what, source, offsetof(girthline_limits, part.name)},
#define QUALITY(...) ROW(quality, __VA_ARGS__)
#define SEGMENT(...) ROW(segment, __VA_ARGS__)
#define EXTRA(...) ROW(extra, __VA_ARGS__)
#define RHYTHM(...) ROW(rhythm, __VA_ARGS__)
#define MURMUR(...) ROW(murmur, __VA_ARGS__)
#define FINDINGS(...) ROW(findings, __VA_ARGS__)

static const girthline_limit ROWS[] = {GIRTHLINE_LIMITS_QUALITY(QUALITY) GIRTHLINE_LIMITS_SEGMENT(SEGMENT) GIRTHLINE_LIMITS_EXTRA(EXTRA)
                                           GIRTHLINE_LIMITS_RHYTHM(RHYTHM) GIRTHLINE_LIMITS_MURMUR(MURMUR) GIRTHLINE_LIMITS_FINDINGS(FINDINGS)};
enum { N_ROWS = sizeof ROWS / sizeof *ROWS };
_Static_assert(sizeof(girthline_limits) == N_ROWS * sizeof(double), "every field has its row");

const girthline_limit *girthline_limit_at(size_t i) { return i < N_ROWS ? &ROWS[i] : NULL; }

double girthline_limit_get(const girthline_limit *limit, const girthline_limits *limits) {
  double value;
  memcpy(&value, (const char *)limits + limit->offset, sizeof value);
  return value;
}

void girthline_limit_set(const girthline_limit *limit, girthline_limits *limits, double value) {
  memcpy((char *)limits + limit->offset, &value, sizeof value);
}

size_t girthline_limits_changed(const girthline_limits *limits) {
  size_t n = 0;
  for (size_t i = 0; limits && i < N_ROWS; i++) n += girthline_limit_get(&ROWS[i], limits) != ROWS[i].usual;
  return n;
}

girthline_limits girthline_limits_default(void) {
  girthline_limits limits;
  for (size_t i = 0; i < N_ROWS; i++) girthline_limit_set(&ROWS[i], &limits, ROWS[i].usual);
  return limits;
}
