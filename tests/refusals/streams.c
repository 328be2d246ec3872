// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Running a command in this process with what it prints caught.
#include "refusals.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define PIPE_BYTES (1 << 20) // all a command here prints: nothing waits for a reader
#define N_STREAMS 3          // standard output and error; the place of standard input is left empty

static int catches[N_STREAMS], kept[N_STREAMS]; // where what is printed is read from, and the stream that was there before

static void make_pipe(int ends[2]) {
  if (pipe2(ends, O_CLOEXEC) || fcntl(ends[1], F_SETPIPE_SZ, PIPE_BYTES) < 0 || fcntl(ends[0], F_SETFL, O_NONBLOCK)) abort();
}

static void catch_stream(int fd) {
  int ends[2];
  make_pipe(ends);
  kept[fd] = fcntl(fd, F_DUPFD_CLOEXEC, N_STREAMS);
  if (kept[fd] < 0 || dup2(ends[1], fd) != fd) abort();
  close(ends[1]);
  catches[fd] = ends[0];
}

static char *read_all(int from) {
  int n = 0;
  if (ioctl(from, FIONREAD, &n)) abort();
  char *text = calloc(1, (size_t)n + 1);
  if (!text || (n && read(from, text, (size_t)n) != n)) abort();
  return text;
}

static char *give_back_stream(int fd) {
  if (dup2(kept[fd], fd) != fd) abort();
  close(kept[fd]);
  char *text = read_all(catches[fd]);
  close(catches[fd]);
  return text;
}

refusals_run refusals_do(const char *const *argv) {
  static char name[] = "girthline";
  char *copy[REFUSALS_ARGS + 2] = {name};
  int n = 1;
  for (; argv[n - 1]; n++) copy[n] = strdup(argv[n - 1]);
  fflush(stdout);
  for (int fd = 1; fd < N_STREAMS; fd++) catch_stream(fd);
  refusals_run run = {.code = girthline_main(n, copy)};
  fflush(stdout);
  clearerr(stdout);
  run.out = give_back_stream(1);
  run.err = give_back_stream(2);
  for (int i = 1; i < n; i++) free(copy[i]);
  return run;
}

void refusals_run_clear(refusals_run *run) {
  free(run->out);
  free(run->err);
  *run = (refusals_run){0};
}

// Pipes for a copy of this process, with what has been printed so far.
void refusals_streams_begin(refusals_streams *s) {
  for (int fd = 1; fd < N_STREAMS; fd++) {
    make_pipe(s->ends[fd]);
    tee(catches[fd], s->ends[fd][1], PIPE_BYTES, SPLICE_F_NONBLOCK);
  }
}

void refusals_streams_take(const refusals_streams *s) {
  for (int fd = 1; fd < N_STREAMS; fd++) {
    if (dup2(s->ends[fd][1], fd) != fd) abort();
    close(s->ends[fd][1]);
    close(catches[fd]);
    catches[fd] = s->ends[fd][0];
  }
}

void refusals_streams_end(refusals_streams *s, bool show) {
  for (int fd = 1; fd < N_STREAMS; fd++) {
    char *text = show ? read_all(s->ends[fd][0]) : NULL;
    if (text) dprintf(kept[2], "%s\n", text);
    free(text);
    close(s->ends[fd][0]);
    close(s->ends[fd][1]);
  }
}
