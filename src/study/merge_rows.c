// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/merge.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"
#include "report/names.h"
#include "study/csv.h"
#include "study/shard.h"

#define STAGE "batch"

// Columns of recordings.csv that are counted on the index page.
enum { NUMBER = 0, STATUS = 2, GRADE = 15, RATE = 22, SETTLED = 24 };

typedef struct looking {
  gn_merge *m;
  unsigned shard;
  const char *path;
  FILE *file;
  size_t *numbers; // of the rows in this shard that have a report, in order
  size_t n_numbers, capacity;
  girthline_error *error;
} looking;

static girthline_status damaged(const looking *l) {
  return gn_error_set(l->error, GIRTHLINE_INTERNAL, STAGE, "%s does not fit the other tables: run shard %u-of-%u again", l->path, l->shard, l->m->n_shards);
}

static void count(gn_merge *m, const gn_csv *csv, bool failed) {
  const char *settled = gn_csv_field(csv, SETTLED), *rate = gn_csv_field(csv, RATE);
  int grade = 0;
  while (grade < GIRTHLINE_UNUSABLE && strcmp(gn_csv_field(csv, GRADE), gn_name_grade((girthline_grade)grade))) grade++;
  const char *bpm = *settled ? settled : rate;
  gn_index_count(&m->counts, failed, (girthline_grade)grade, *bpm ? strtod(bpm, NULL) : (double)NAN);
}

// The row a line belongs to, by the number it begins with; NULL when there is none.
static gn_merge_row *row_of(const looking *l, const char *number) {
  char *end;
  const unsigned long long n = strtoull(number, &end, 10);
  return *number < '0' || *number > '9' || n < 1 || n > l->m->totals.n_inputs ? NULL : &l->m->rows[n - 1];
}

static girthline_status look_at_recordings(looking *l) {
  gn_csv csv = gn_csv_reader(l->file);
  girthline_status status = GIRTHLINE_OK;
  gn_csv_got got = gn_csv_next(&csv); // the header
  for (off_t at = ftello(l->file); got == GN_CSV_RECORD && !status && (got = gn_csv_next(&csv)) == GN_CSV_RECORD;) {
    gn_merge_row *row = row_of(l, gn_csv_field(&csv, NUMBER));
    const bool failed = !strcmp(gn_csv_field(&csv, STATUS), "failed");
    void *items = l->numbers;
    if (!row || row->shard) {
      status = damaged(l);
      break;
    }
    if (gn_grow(&items, &l->capacity, l->n_numbers + 1, sizeof *l->numbers))
      status = gn_error_memory(l->error, STAGE);
    if (status) break;
    l->numbers = items;
    if (!failed) l->numbers[l->n_numbers++] = (size_t)(row - l->m->rows);
    row->shard = l->shard;
    row->place[GN_PART_ROW] = (gn_merge_place){at, (size_t)(ftello(l->file) - at)};
    at = ftello(l->file);
    count(l->m, &csv, failed);
  }
  if (!status && got == GN_CSV_FAULT) status = csv.refused ? gn_error_memory(l->error, STAGE) : damaged(l);
  gn_csv_clear(&csv);
  return status;
}

// The row of one line of another table; *skip: the line is none of a row (a header, the rest of the page).
static gn_merge_row *row_of_line(const looking *l, int which, const char *line, size_t index, bool *skip) {
  static const char START[] = GN_INDEX_ROW_START;
  if (which == GN_TABLE_REPORTS) return index < l->n_numbers ? &l->m->rows[l->numbers[index]] : NULL;
  if (which == GN_TABLE_BEATS) {
    *skip = index == 0;
    return row_of(l, line);
  }
  *skip = strncmp(line, START, sizeof START - 1) != 0;
  return *skip ? NULL : row_of(l, line + sizeof START - 1);
}

static girthline_status look_at_lines(looking *l, int which) {
  char *line = NULL;
  size_t room = 0, index = 0;
  off_t at = 0;
  ssize_t n;
  girthline_status status = GIRTHLINE_OK;
  for (; !status && (n = getline(&line, &room, l->file)) > 0; at += n, index++) {
    bool skip = false;
    gn_merge_row *row = row_of_line(l, which, line, index, &skip);
    if (skip) continue;
    if (!row || row->shard != l->shard) {
      status = damaged(l);
      continue;
    }
    gn_merge_place *place = &row->place[which];
    if (place->n_bytes && place->at + (off_t)place->n_bytes != at) status = damaged(l);
    if (!place->n_bytes) place->at = at;
    place->n_bytes += (size_t)n;
  }
  free(line); // getline's own
  if (!status && which == GN_TABLE_REPORTS && index != l->n_numbers) status = damaged(l);
  return status;
}

static girthline_status look_at(looking *l, int which) {
  char *path = gn_shard_table(l->m->batch->out, which, l->shard, l->m->n_shards);
  if (!path) return gn_error_memory(l->error, STAGE);
  girthline_status status;
  l->path = path;
  l->file = fopen(path, "rbe");
  if (!l->file)
    status = gn_error_set(l->error, GIRTHLINE_INTERNAL, STAGE, "%s cannot be opened: %s; run that shard again with --shard %u/%u", path, strerror(errno), l->shard, l->m->n_shards);
  else
    status = which == GN_TABLE_RECORDINGS ? look_at_recordings(l) : look_at_lines(l, which);
  if (l->file) fclose(l->file);
  gn_free(path);
  return status;
}

girthline_status gn_merge_look_up(gn_merge *m, girthline_error *error) {
  m->rows = gn_new(m->totals.n_inputs, sizeof *m->rows);
  if (!m->rows) return gn_error_memory(error, STAGE);
  girthline_status status = GIRTHLINE_OK;
  for (unsigned s = 1; s <= m->n_shards && !status; s++) {
    looking l = {.m = m, .shard = s, .error = error};
    for (int which = 0; which < GN_N_PARTS && !status; which++) status = look_at(&l, which);
    gn_free(l.numbers);
  }
  for (size_t i = 0; i < m->totals.n_inputs && !status; i++)
    if (!m->rows[i].shard) status = gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "row %zu stands in no shard in %s: run them again", i + 1, m->batch->out);
  return status;
}

static girthline_status open_table(gn_merge *m, int which, unsigned shard, girthline_error *error) {
  if (m->fd >= 0 && m->open_shard == shard && m->open_which == which) return GIRTHLINE_OK;
  char *path = gn_shard_table(m->batch->out, which, shard, m->n_shards);
  if (m->fd >= 0) close(m->fd);
  m->fd = path ? open(path, O_RDONLY | O_CLOEXEC) : -1;
  m->open_shard = shard;
  m->open_which = which;
  girthline_status status = GIRTHLINE_OK;
  if (!path)
    status = gn_error_memory(error, STAGE);
  else if (m->fd < 0)
    status = gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "%s cannot be opened: %s", path, strerror(errno));
  gn_free(path);
  return status;
}

girthline_status gn_merge_lines(gn_merge *m, int which, size_t i, char **text, size_t *n_bytes, girthline_error *error) {
  const gn_merge_row *row = &m->rows[i];
  const gn_merge_place place = row->place[which];
  const girthline_status status = open_table(m, which, row->shard, error);
  if (status) return status;
  *text = gn_new(place.n_bytes, 1);
  *n_bytes = place.n_bytes;
  if (!*text) return gn_error_memory(error, STAGE);
  for (size_t done = 0; done < place.n_bytes;) {
    const ssize_t got = pread(m->fd, *text + done, place.n_bytes - done, place.at + (off_t)done);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0)
      return gn_error_set(error, GIRTHLINE_INTERNAL, STAGE, "the tables of shard %u-of-%u changed while they were joined: start again", row->shard,
                          m->n_shards);
    done += (size_t)got;
  }
  return GIRTHLINE_OK;
}

void gn_merge_clear(gn_merge *m) {
  gn_free(m->rows);
  if (m->fd >= 0) close(m->fd);
}
