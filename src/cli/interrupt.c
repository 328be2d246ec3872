// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/interrupt.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "cli/say.h"

// What the handler may touch: one path, and whether it is to be removed.
static char temporary[PATH_MAX + 64];
static volatile sig_atomic_t to_remove;
static volatile sig_atomic_t deferred, noted; // noted: the signal's number
static const char *volatile last_words;

static void say_last_words(void) {
  const char *words = last_words;
  if (words && write(STDERR_FILENO, words, strlen(words)) < 0) return;
}

static void on_signal(int number) {
  if (deferred && !noted) {
    noted = number;
    return;
  }
  if (to_remove) unlink(temporary);
  say_last_words();
  gn_interrupt_end(number);
}

void gn_interrupt_end(int number) {
  if (number == SIGINT) _exit(GN_EXIT_INTERRUPTED);
  signal(number, SIG_DFL);
  sigset_t blocked; // inside its own handler
  sigemptyset(&blocked);
  sigaddset(&blocked, number);
  raise(number);
  pthread_sigmask(SIG_UNBLOCK, &blocked, NULL);
  _exit(GN_EXIT_OTHER);
}

void gn_interrupt_defer(bool defer) { deferred = defer; }
int gn_interrupt_noted(void) { return noted; }
void gn_interrupt_say(const char *words) { last_words = words; }

void gn_interrupt_install(void) {
  struct sigaction act = {.sa_handler = on_signal};
  sigemptyset(&act.sa_mask);
  const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
  for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
    struct sigaction before;
    sigaction(numbers[i], NULL, &before);
    if (before.sa_handler != SIG_IGN) sigaction(numbers[i], &act, NULL); // nohup and the like keep their meaning
  }
  signal(SIGPIPE, SIG_IGN); // a closed pipe is an output that could not be written
  signal(SIGXFSZ, SIG_IGN); // so is a file that may not grow
}

static void all_signals(int how, sigset_t *kept) {
  sigset_t all;
  sigfillset(&all);
  sigprocmask(how, how == SIG_BLOCK ? &all : kept, how == SIG_BLOCK ? kept : NULL);
}

int gn_interrupt_create(const char *path) {
  if (strlen(path) >= sizeof temporary) {
    errno = ENAMETOOLONG;
    return -1;
  }
  sigset_t kept;
  all_signals(SIG_BLOCK, &kept); // no signal between the file and the note of it
  const int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  const int reason = errno;
  if (fd >= 0) {
    strcpy(temporary, path);
    to_remove = 1;
  }
  all_signals(SIG_SETMASK, &kept);
  errno = reason;
  return fd;
}

void gn_interrupt_forget(void) { to_remove = 0; }
