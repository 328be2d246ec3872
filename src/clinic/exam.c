// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The file as a whole: opening it, what must fit together, giving it back.
#include "clinic/exam.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"

#define STAGE "exam"

static girthline_status cannot_read(const char *path, girthline_error *error) {
  const char *remedy = errno == ENOENT ? "; check the name and the folder" : errno == EACCES ? "; ask for the right to read it" : "";
  return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be read: %s%s", path, strerror(errno), remedy);
}

static girthline_status read_all(int fd, const char *path, char *text, size_t *n, girthline_error *error) {
  ssize_t got;
  while (*n <= GN_EXAM_MOST_BYTES && (got = read(fd, text + *n, GN_EXAM_MOST_BYTES + 1 - *n)) != 0) {
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return cannot_read(path, error);
    *n += (size_t)got;
  }
  if (*n <= GN_EXAM_MOST_BYTES) return GIRTHLINE_OK;
  return gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, STAGE, "%s is longer than %zu KiB: that is no examination file; if it is a recording, give it to girthline report, or name it in an examination file", path,
                      GN_EXAM_MOST_BYTES >> 10);
}

static girthline_status read_open(int fd, const char *path, gn_exam **out, girthline_error *error) {
  struct stat st;
  if (fstat(fd, &st)) return cannot_read(path, error);
  if (!S_ISREG(st.st_mode)) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is not a regular file: name an examination file", path);
  char *text = gn_new(GN_EXAM_MOST_BYTES + 1, 1);
  size_t n = 0;
  if (!text) return gn_error_memory(error, STAGE);
  girthline_status status = read_all(fd, path, text, &n, error);
  if (status == GIRTHLINE_OK) status = gn_exam_parse(text, n, path, out, error);
  gn_free(text);
  return status;
}

girthline_status gn_exam_read(const char *path, gn_exam **out, girthline_error *error) {
  const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK); // a pipe without a writer would be waited for
  if (fd < 0) return cannot_read(path, error);
  const girthline_status status = read_open(fd, path, out, error);
  close(fd);
  return status;
}

static void clear_values(gn_exam_value *values) {
  for (size_t i = 0; i < GN_MOST_KEYS; i++) gn_free(values[i].text);
}

void gn_exam_free(gn_exam *exam) {
  if (!exam) return;
  for (int s = 0; s < GN_SECTION_RECORDING; s++) clear_values(exam->parts[s]);
  for (size_t i = 0; i < exam->n_recordings; i++) {
    clear_values(exam->recordings[i].values);
    gn_free(exam->recordings[i].name);
    gn_free(exam->recordings[i].path);
  }
  gn_free(exam->recordings);
  gn_free(exam->path);
  gn_free(exam);
}

const char *gn_exam_text(const gn_exam *exam, int section, int key) { return exam->parts[section][key].text; }

double gn_exam_number(const gn_exam *exam, int section, int key) {
  const gn_exam_value *v = &exam->parts[section][key];
  return v->text ? v->number : (double)NAN;
}
