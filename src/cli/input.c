// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/input.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"

#define STAGE "input"

#define PIPE_WAIT_MS 3000 ///< for somebody to write into a named pipe; a choice
#define PIPE_STEP_MS 20

// Is there more to wait for? An opened pipe has a writer who is silent, or nobody who writes into it yet.
static bool waits(int fd, ssize_t got, size_t n, int *left_ms) {
  struct pollfd wanted = {.fd = fd, .events = POLLIN};
  if (got < 0) {
    if (errno == EAGAIN) poll(&wanted, 1, -1);
    return errno == EAGAIN || errno == EINTR;
  }
  if (n || *left_ms <= 0) return false;
  poll(NULL, 0, PIPE_STEP_MS);
  *left_ms -= PIPE_STEP_MS;
  return true;
}

static girthline_status slurp(int fd, const char *name, size_t most, gn_input *input, girthline_error *error) {
  void *data = NULL;
  size_t n = 0, capacity = 0;
  struct stat st;
  int left_ms = fd != STDIN_FILENO && !fstat(fd, &st) && S_ISFIFO(st.st_mode) ? PIPE_WAIT_MS : 0;
  girthline_status status = GIRTHLINE_OK;
  while (status == GIRTHLINE_OK) {
    if (n == capacity && gn_grow(&data, &capacity, n + 65536, 1)) {
      status = gn_error_memory(error, STAGE);
      break;
    }
    const ssize_t got = read(fd, (char *)data + n, capacity - n);
    if (got <= 0 && waits(fd, got, n, &left_ms)) continue;
    if (got == 0) break;
    if (got < 0) status = gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be read: %s", name, strerror(errno));
    else if ((n += (size_t)got) > most)
      status = gn_error_set(error, GIRTHLINE_LIMIT, STAGE, "%s is longer than %zu MiB: save it to a file and name that", name, most >> 20);
  }
  if (status != GIRTHLINE_OK) {
    gn_free(data);
    return status;
  }
  if (!n && left_ms <= 0 && fd != STDIN_FILENO && !fstat(fd, &st) && S_ISFIFO(st.st_mode)) {
    gn_free(data);
    return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is a pipe into which nobody writes", name);
  }
  input->data = data;
  input->n_bytes = n;
  return status;
}

static girthline_status cannot_open(const char *name, girthline_error *error) {
  const char *remedy = errno == ENOENT ? "; check the name and the folder" : errno == EACCES ? "; ask for the right to read it" : "";
  return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s%s", name, strerror(errno), remedy);
}

// A plain file or a pipe: nothing else ends by itself.
static girthline_status open_plain(const char *name, int *fd, struct stat *st, girthline_error *error) {
  *fd = open(name, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
  if (*fd < 0) return cannot_open(name, error);
  girthline_status status = GIRTHLINE_OK;
  if (fstat(*fd, st)) status = cannot_open(name, error);
  else if (S_ISDIR(st->st_mode)) status = gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is a folder: name a file in it", name);
  else if (!S_ISREG(st->st_mode) && !S_ISFIFO(st->st_mode)) status = gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is a device: name a file", name);
  if (status) close(*fd);
  return status;
}

girthline_status gn_input_open(const char *name, gn_input *input, girthline_error *error) {
  const size_t most = (size_t)GN_INPUT_MOST_MIB << 20;
  *input = (gn_input){.name = name};
  if (!strcmp(name, "-")) {
    input->name = "stdin";
    return slurp(STDIN_FILENO, "standard input", most, input, error);
  }
  struct stat st;
  if (stat(name, &st)) return cannot_open(name, error);
  if (S_ISDIR(st.st_mode)) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is a folder: name the recordings in it, or give the folder to girthline batch", name);
  int fd;
  girthline_status status = open_plain(name, &fd, &st, error);
  if (status) return status;
  if (S_ISREG(st.st_mode)) input->path = name;
  else status = slurp(fd, name, most, input, error);
  close(fd);
  return status;
}

void gn_input_close(gn_input *input) {
  gn_free(input->data);
  input->data = NULL;
}

girthline_status gn_input_text(const char *path, size_t most, char **text, size_t *n_bytes, girthline_error *error) {
  const bool is_stdin = !strcmp(path, "-");
  struct stat st = {0};
  int fd = STDIN_FILENO;
  girthline_status status = is_stdin ? GIRTHLINE_OK : open_plain(path, &fd, &st, error);
  if (status != GIRTHLINE_OK) return status;
  gn_input input = {0};
  const bool large = !is_stdin && S_ISREG(st.st_mode) && (size_t)st.st_size > most;
  if (large) status = gn_error_set(error, GIRTHLINE_LIMIT, STAGE, "%s is longer than %zu MiB: no file of this kind is that long", path, most >> 20);
  else status = slurp(fd, is_stdin ? "standard input" : path, most, &input, error);
  if (!is_stdin) close(fd);
  if (status != GIRTHLINE_OK) return status;
  char *copy = gn_new(input.n_bytes + 1, 1);
  if (copy && input.n_bytes) memcpy(copy, input.data, input.n_bytes);
  gn_free(input.data);
  if (!copy) return gn_error_memory(error, STAGE);
  *text = copy;
  *n_bytes = input.n_bytes;
  return GIRTHLINE_OK;
}
